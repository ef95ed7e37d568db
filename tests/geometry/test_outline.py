"""Outline measures against shapely and school geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from marker.geometry.arrays import FloatArray
from marker.geometry.outline import (
    flattening_error,
    is_ccw,
    nearest_along,
    point_along,
    polyline_length,
    signed_area,
    stretch_points,
)
from tests.shapes import CUP, ELL, HALF_DISC, SQUARE, STAR


@pytest.mark.parametrize("outline", [CUP, ELL, HALF_DISC, SQUARE, STAR])
def test_area_agrees_with_shapely_wherever_the_outline_lies(outline: FloatArray) -> None:
    area = shapely.Polygon(outline).area
    assert signed_area(outline + 1e6) == pytest.approx(area, rel=1e-9)
    assert signed_area(outline[::-1]) == pytest.approx(-area)
    assert is_ccw(outline)
    assert not is_ccw(outline[::-1])


def test_stretch_wraps_and_may_go_all_round() -> None:
    assert stretch_points(SQUARE, 1, 2).tolist() == [[10, 0], [10, 10]]
    assert stretch_points(SQUARE, 3, 1).tolist() == [[0, 10], [0, 0], [10, 0]]
    assert polyline_length(stretch_points(SQUARE, 2, 2)) == 40


def test_point_along_stays_on_the_line() -> None:
    bent = np.array([[0.0, 0], [3, 4], [3, 10]])
    assert polyline_length(bent) == 11
    assert point_along(bent, 2.5).tolist() == [1.5, 2]
    assert point_along(bent, 7).tolist() == [3, 6]
    assert point_along(bent, -1).tolist() == [0, 0]
    assert point_along(bent, 99).tolist() == [3, 10]
    assert polyline_length(bent[:1]) == 0


@pytest.mark.parametrize("chords", [24, 60, 360])
def test_flattening_error_of_a_circle(chords: int) -> None:
    """Chords fall short of 2πr by 2πr - 2nr sin(π/n) (geometry)."""
    angles = np.arange(chords + 1) * 2 * math.pi / chords
    points = 100 * np.column_stack([np.cos(angles), np.sin(angles)])
    exact = 200 * math.pi - 200 * chords * math.sin(math.pi / chords)
    first_vertex = exact / chords  # the polyline does not turn where it begins and ends
    assert flattening_error(points) == pytest.approx(exact - first_vertex, rel=0.01)


def test_straight_edges_and_corners_have_no_flattening_error() -> None:
    assert flattening_error(np.array([[0.0, 0], [50, 0], [90, 0], [90, 40], [60, 80]])) == 0


def test_nearest_place_along_a_line() -> None:
    line = np.array([[0.0, 0], [100, 0], [100, 0], [100, 50]])
    assert nearest_along(line, np.array([30.0, 4])) == pytest.approx((30, 4))
    assert nearest_along(line, np.array([103.0, 20])) == pytest.approx((120, 3))
    assert nearest_along(line, np.array([100.0, 54])) == pytest.approx((150, 4))
