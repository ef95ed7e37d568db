"""The nest drawing: pieces in all their sizes, from the first corner, each size at scale."""

from __future__ import annotations

import re

import numpy as np
import pytest

from marker.drawing.nest import nests, render_nest
from tests.pieces.garments import job_of


def test_sizes_lie_over_one_another_from_the_first_corner() -> None:
    """The dress's first corner is the waist at the fold: there all sizes meet, and the fold runs
    straight up from it in each."""
    front = next(nest for nest in nests(job_of("choir-dress")) if nest.name == "bodice front")
    assert list(front.outlines) == ["34", "36", "38", "40", "42", "44"]
    for outline in front.outlines.values():
        assert np.hypot(*outline.T).min() == pytest.approx(0)
        assert outline[:, 0].min() == pytest.approx(0, abs=0.01)


def test_a_trail_follows_its_rule() -> None:
    """The shirt's underarm moves by 10 across and by 4 down from size to size, the hem's corner by
    4, 3, 5 and 4 down (rules.toml): seen from that, the underarm moves by the difference."""
    back = next(nest for nest in nests(job_of("shirt")) if nest.name == "back")
    steps = [np.diff(trail, axis=0) for trail in back.trails]
    underarm = [[10, 0], [10, -1], [10, 1], [10, 0]]
    assert any(np.allclose(step, underarm, atol=0.02) for step in steps)


def test_the_pages_are_drawn() -> None:
    drawn = render_nest(job_of("choir-dress"))
    assert set(drawn) == {"nest.pdf", "nest.svg", "nest.png"}
    assert len(re.findall(rb"<path", drawn["nest.svg"])) > 4 * 6
