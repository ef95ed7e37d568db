"""Opening a half across its fold."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from marker.geometry.outline import signed_area
from marker.pattern.edge import Stretch
from marker.pattern.transforms import reflect, unfold
from tests.shapes import polygon, rectangle


def test_reflection_in_an_upright_line_is_exact() -> None:
    points = polygon((3, 4), (0.1, 0.2))
    upright = polygon((0, 0), (0, 9))
    np.testing.assert_array_equal(reflect(points, upright), points * (-1, 1))


def test_an_edge_straight_across_the_fold_has_no_vertex_there() -> None:
    whole = unfold(rectangle(30, 50), Stretch(3, 0))
    np.testing.assert_array_equal(whole, polygon((30, 0), (30, 50), (-30, 50), (-30, 0)))


def test_a_point_on_the_fold_stays_once() -> None:
    whole = unfold(polygon((0, 10), (30, 0), (30, 50), (0, 40), (0, 25)), Stretch(3, 0))
    expected = polygon((0, 10), (30, 0), (30, 50), (0, 40), (-30, 50), (-30, 0))
    np.testing.assert_array_equal(whole, expected)


@given(
    xs=st.lists(st.floats(5, 100), min_size=2, max_size=8),
    turn=st.floats(0, 6.3),
)
def test_the_whole_is_symmetric_and_twice_the_half(xs: list[float], turn: float) -> None:
    """Mirrored in its fold by complex numbers, the whole lies on itself."""
    heights = np.linspace(0, 200, len(xs))
    half = np.concatenate([[[0, -10]], np.column_stack([xs, heights]), [[0, 230]]])
    spin = np.exp(1j * turn)
    z = (half[:, 0] + 1j * half[:, 1]) * spin
    outline = np.column_stack([z.real, z.imag])
    whole = unfold(outline, Stretch(len(outline) - 1, 0))
    w = (whole[:, 0] + 1j * whole[:, 1]) / spin
    mirror = shapely.Polygon(np.column_stack([-w.real, w.imag]))
    standing = shapely.Polygon(np.column_stack([w.real, w.imag]))
    assert standing.symmetric_difference(mirror).area < 1e-6
    assert signed_area(whole) == pytest.approx(2 * signed_area(outline))
