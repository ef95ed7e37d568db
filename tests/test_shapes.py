"""The cast keeps what its docstring promises, so the tests that use it may rely on it."""

from __future__ import annotations

import pytest
import shapely

from tests.shapes import CAST


@pytest.mark.parametrize("name", CAST)
def test_cast_member_is_a_simple_counter_clockwise_outline(name: str) -> None:
    outline = CAST[name]
    ring = shapely.LinearRing(outline)
    assert ring.is_simple
    assert ring.is_ccw
    assert not (outline[0] == outline[-1]).all()
    assert outline.min() >= 0
    assert outline.max() <= 10
