"""Growing, simplifying, clipping and turning outlines, against shapely and complex numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import Polygon

from marker.geometry import polygons
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import signed_area
from tests.helpers import laid_outline
from tests.shapes import CAST, CUP, SQUARE, polygon

TOLERANCE = 0.25


def circle(radius: float, corners: int = 240) -> FloatArray:
    angles = np.arange(corners) * 2 * math.pi / corners
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])


def wavy(corners: int = 400) -> FloatArray:
    angles = np.arange(corners) * 2 * math.pi / corners
    radii = 100 + 15 * np.sin(5 * angles)
    return np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])


@pytest.mark.parametrize("name", sorted(CAST))
@pytest.mark.parametrize("degrees", [0.0, 90.0, 180.0, 270.0, 33.0, 357.5])
@pytest.mark.parametrize("mirrored", [False, True])
def test_turned(name: str, degrees: float, mirrored: bool) -> None:
    found = polygons.turned(CAST[name], degrees, mirrored)
    assert found == pytest.approx(laid_outline(CAST[name], degrees, mirrored), abs=1e-9)


@pytest.mark.parametrize("name", sorted(CAST))
@pytest.mark.parametrize("limit", [0.0, 1.0, 8.0])
def test_what_tilts_share_lies_in_every_tilt(name: str, limit: float) -> None:
    outline = CAST[name] * 10
    shared = Polygon(polygons.shared_by_tilts(outline, limit))
    centre = Polygon(outline).centroid
    assert shared.exterior.is_ccw
    for tilt in np.linspace(-limit, limit, 50):
        turned = affinity.rotate(Polygon(outline), tilt, origin=centre)
        assert turned.buffer(1e-6).contains(shared)
    reach = max(math.dist(point, centre.coords[0]) for point in outline)
    moved = 2 * reach * math.sin(math.radians(limit) / 2)
    deep = Polygon(outline).buffer(-1.1 * moved - 1e-3)
    assert deep.difference(shared.buffer(1e-6)).is_empty


def test_tilts_that_share_no_single_outline_share_nothing() -> None:
    needle = polygon((0, 0), (100, 0), (50, 0.5))
    assert polygons.shared_by_tilts(needle, 30.0).shape == (0, 2)


def test_quarter_turns_are_exact() -> None:
    outline = CAST["triangle"] + 0.1
    for degrees in (90.0, 180.0, 270.0, 360.0, -90.0):
        back = polygons.turned(polygons.turned(outline, degrees, False), -degrees, False)
        assert (back == outline).all()


@pytest.mark.parametrize("name", sorted(CAST))
def test_grown_holds_all_points_within_the_distance(name: str) -> None:
    grown = Polygon(polygons.grow(CAST[name] * 10, 2.0))
    assert grown.exterior.is_ccw
    round_ = Polygon(CAST[name] * 10).buffer(2.0)
    assert round_.difference(grown).area < 1e-6
    assert grown.exterior.distance(Polygon(CAST[name] * 10)) == pytest.approx(2.0, abs=1e-6)


def test_growing_by_nothing_changes_nothing() -> None:
    assert polygons.grow(CUP, 0.0) is CUP


def test_growing_fills_a_hole_that_closes() -> None:
    flask = polygon((0, 0), (30, 0), (30, 30), (16, 30), (16, 20), (25, 20), (25, 5), (5, 5),
                    (5, 20), (14, 20), (14, 30), (0, 30))  # fmt: skip
    assert signed_area(polygons.grow(flask, 1.5)) == pytest.approx(33 * 33)


@pytest.mark.parametrize("outline", [circle(50.0), wavy(), wavy() * 0.2], ids=["disc", "wave", "w"])
def test_simplified_outward(outline: FloatArray) -> None:
    simple = polygons.simplify_outward(outline, TOLERANCE)
    assert 2 * len(simple) <= len(outline)
    assert Polygon(outline).difference(Polygon(simple)).area < 1e-9
    assert Polygon(simple).bounds == pytest.approx(Polygon(outline).bounds)
    assert shapely.hausdorff_distance(Polygon(simple), Polygon(outline)) <= 2 * TOLERANCE + 1e-9


def test_what_cannot_be_simplified_stays_itself() -> None:
    assert polygons.simplify_outward(SQUARE, TOLERANCE) is SQUARE


def test_clipped_is_the_part_in_the_box() -> None:
    low, high = np.array([1.0, 2.0]), np.array([9.0, 5.0])
    found = Polygon(polygons.clipped(CAST["triangle"], low, high))
    assert found.exterior.is_ccw
    expected = Polygon(CAST["triangle"]).intersection(shapely.box(1, 2, 9, 5))
    assert found.symmetric_difference(expected).area < 1e-9


def test_clipped_apart_keeps_the_largest_part() -> None:
    cup = polygon((0, 0), (10, 0), (10, 8), (6, 8), (6, 3), (3, 3), (3, 8), (0, 8))
    found = polygons.clipped(cup, np.array([-1.0, 4.0]), np.array([11.0, 9.0]))
    assert Polygon(found).bounds == (6, 4, 10, 8)


def test_reflection_in_an_upright_line_is_exact() -> None:
    points = polygon((3, 4), (0.1, 0.2))
    upright = polygon((0, 0), (0, 9))
    np.testing.assert_array_equal(polygons.reflect(points, upright), points * (-1, 1))
