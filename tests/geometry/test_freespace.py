"""Convex pieces of free space: they hold the point, and nothing of the polygon's inside."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from marker.geometry.arrays import FloatArray
from marker.geometry.freespace import free_space
from tests.shapes import CAST, CUP, SQUARE, rectangle

FAR = 1e3


def edges_of(*rings: FloatArray) -> FloatArray:
    return np.concatenate([np.hstack([ring, np.roll(ring, -1, axis=0)]) for ring in rings])


def region(planes: FloatArray) -> BaseGeometry:
    """The common part of half-planes nx·X + ny·Y >= c, cut off far away."""
    found: BaseGeometry = shapely.box(-FAR, -FAR, FAR, FAR)
    for nx, ny, c in planes:
        on, along = np.array([nx, ny]) * c, np.array([-ny, nx]) * 4 * FAR
        line = LineString([on - along, on + along])
        found = found.intersection(line.buffer(-4 * FAR, single_sided=True, cap_style="flat"))
    return found


def holds(planes: FloatArray, at: FloatArray, slack: float = 1e-6) -> bool:
    return bool((planes[:, :2] @ at >= planes[:, 2] - slack).all())


@pytest.mark.parametrize("name", sorted(CAST))
def test_the_region_is_free_and_holds_the_point(name: str) -> None:
    outline = CAST[name]
    whole = Polygon(outline)
    rng = np.random.default_rng(3)
    points = [at for at in rng.uniform(-4, 14, (60, 2)) if not whole.covers(Point(at))]
    for at in points:
        planes = free_space(edges_of(outline), *at)
        assert np.hypot(planes[:, 0], planes[:, 1]) == pytest.approx(1)
        assert holds(planes, at)
        assert region(planes).intersection(whole).area < 1e-3
    assert len(points) > 30


def test_half_planes_of_the_twin_lie_on_the_right_side() -> None:
    """The twin's own check: x >= 2 leaves the right of the box."""
    assert region(np.array([[1.0, 0.0, 2.0]])).bounds == pytest.approx((2, -FAR, FAR, FAR))


def test_beside_a_straight_edge_one_half_plane_is_all() -> None:
    assert free_space(edges_of(SQUARE), 5.0, -1.0) == pytest.approx(np.array([[0, -1, 0.0]]))


def test_a_notch_keeps_its_three_sides() -> None:
    planes = free_space(edges_of(CUP), 5.0, 5.0)
    assert region(planes).bounds[:3] == pytest.approx((3, 3, 7))


def test_a_hole_keeps_all_its_sides() -> None:
    hole = rectangle(4, 2)[::-1] + np.array([3, 4])
    planes = free_space(edges_of(SQUARE, hole), 5.0, 4.5)
    assert region(planes).bounds == pytest.approx((3, 4, 7, 6))


@pytest.mark.parametrize(
    ("at", "side"), [((5.0, 0.0), (0, -1)), ((10.0, 3.0), (1, 0)), ((3.0, 10.0), (0, 1))]
)
def test_a_point_that_touches_stays_outside_that_edge(
    at: tuple[float, float], side: tuple[float, float]
) -> None:
    planes = free_space(edges_of(SQUARE), *at)
    assert holds(planes, np.array(at))
    assert planes[0, :2] == pytest.approx(side)
    assert region(planes).intersection(Polygon(SQUARE)).area < 1e-9


def test_a_corner_touched_is_left_free() -> None:
    planes = free_space(edges_of(SQUARE), 10.0, 10.0)
    assert holds(planes, np.array([10.0, 10.0]))
    assert region(planes).intersection(Polygon(SQUARE)).area < 1e-9


def test_a_point_inside_is_led_out_by_the_nearest_edge() -> None:
    planes = free_space(edges_of(SQUARE), 9.0, 4.0)
    assert planes[0] == pytest.approx([1, 0, 10])
    assert not holds(planes, np.array([9.0, 4.0]))
    assert region(planes).intersection(Polygon(SQUARE)).area < 1e-9
