"""Inset against shapely's buffer and against formulas anyone can redo."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from marker.geometry.arrays import FloatArray
from marker.geometry.inset import CollapsedError, inset
from marker.geometry.outline import signed_area
from tests.shapes import CAST, CUP, ELL, polygon, rectangle


def evenly(outline: FloatArray, distance: float) -> FloatArray:
    return inset(outline, np.full(len(outline), distance))


def circle(radius: float, corners: int = 360) -> FloatArray:
    angles = np.arange(corners) * 2 * math.pi / corners
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])


@pytest.mark.parametrize("name", sorted(CAST))
def test_agrees_with_shapely_buffer(name: str) -> None:
    outline = CAST[name] * 10
    moved = shapely.Polygon(evenly(outline, 1.5))
    eroded = shapely.Polygon(outline).buffer(-1.5, join_style="mitre", mitre_limit=1000)
    assert moved.symmetric_difference(eroded).area < 1e-6


def test_edges_that_vanish_leave_what_shapely_leaves() -> None:
    rounded = np.array(shapely.Polygon(ELL * 100).buffer(4, quad_segs=16).exterior.coords[:-1])
    rounded = rounded if signed_area(rounded) > 0 else rounded[::-1]
    result = evenly(rounded, 10)
    eroded = shapely.Polygon(rounded).buffer(-10, join_style="mitre", mitre_limit=1000)
    assert len(result) == len(rounded)
    assert len(np.unique(result.round(6), axis=0)) < len(rounded) - 50
    # shapely drops hollows shallower than 1 % of the distance, so the two may differ by a hair
    assert shapely.Polygon(result).symmetric_difference(eroded).area < 0.001 * eroded.area


def test_the_edge_that_vanishes_first_goes_first() -> None:
    """Three edges would turn round; once the first has gone, one of them grows again."""
    outline = polygon((45, 47), (9, 50), (-58, 60), (-65, 22), (-88, 13))
    moved = shapely.Polygon(evenly(outline, 8))
    eroded = shapely.Polygon(outline).buffer(-8, join_style="mitre", mitre_limit=1000)
    assert moved.symmetric_difference(eroded).area < 1e-6


def test_right_angle_corners_move_along_the_diagonal() -> None:
    np.testing.assert_allclose(
        evenly(rectangle(100, 60), 10), polygon((10, 10), (90, 10), (90, 50), (10, 50))
    )


def test_each_edge_moves_by_its_own_distance() -> None:
    moved = inset(rectangle(100, 60), np.array([1.0, 2.0, 3.0, 0.0]))
    np.testing.assert_allclose(moved, polygon((0, 1), (98, 1), (98, 57), (0, 57)))


def test_vertex_in_the_middle_of_a_straight_edge_stays_in_the_middle() -> None:
    outline = polygon((0, 0), (40, 0), (100, 0), (100, 60), (0, 60))
    np.testing.assert_allclose(evenly(outline, 10)[1], (40, 10), atol=1e-9)


def test_regular_polygon_shrinks_by_its_apothem() -> None:
    apothem = 200 * math.cos(math.pi / 360)
    np.testing.assert_allclose(
        evenly(circle(200), 10), circle(200) * (apothem - 10) / apothem, atol=1e-9
    )


@pytest.mark.parametrize(
    ("outline", "distance"),
    [
        (rectangle(100, 60), 30.1),
        (polygon((0, 0), (10, 0), (4, 8)), 3),
        (circle(20), 20.1),
        (CUP * 10, 16),  # walls of the cup are 30 thick
        (polygon((0, 0), (40, 0), (50, 18), (60, 0), (100, 0), (100, 40), (50, 22), (0, 40)), 3),
    ],
)
def test_nothing_left_or_fallen_apart_is_an_error(outline: FloatArray, distance: float) -> None:
    with pytest.raises(CollapsedError):
        evenly(outline, distance)


def test_edges_on_one_line_cannot_move_apart() -> None:
    outline = polygon((0, 0), (40, 0), (100, 0), (100, 60), (0, 60))
    with pytest.raises(CollapsedError):
        inset(outline, np.array([0.0, 10, 10, 10, 10]))


@given(
    radii=st.lists(st.floats(60, 100), min_size=5, max_size=12),
    distance=st.floats(0.5, 8),
)
def test_new_outline_keeps_its_distance(radii: list[float], distance: float) -> None:
    angles = np.arange(len(radii)) * 2 * math.pi / len(radii)
    outline = np.array(radii)[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])
    moved = shapely.LinearRing(evenly(outline, distance))
    assert shapely.Polygon(outline).contains(moved)
    assert moved.distance(shapely.LinearRing(outline)) == pytest.approx(distance)
