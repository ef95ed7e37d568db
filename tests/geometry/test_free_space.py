"""Convex pieces of free space hold what is free and nothing of the inside: about one point, and in
slices that lose nothing.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from marker.geometry.arrays import FloatArray
from marker.geometry.free_space import free_slices, free_space, inner_no_fit, simplify_inward
from tests import shapes
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


NAMES = ("triangle", "ell", "cup", "notched", "star", "half disc")
WINDOW = (-700.0, -700.0, 700.0, 700.0)


@pytest.mark.parametrize(("first", "second"), list(product(NAMES, NAMES[1:4])))
def test_free_places_lie_in_a_slice_and_inner_ones_overlap(first: str, second: str) -> None:
    """Slow twin: the overlap of two outlines measured by shapely at random places."""
    fixed, moving = shapes.CAST[first] * 30, shapes.CAST[second] * 30
    erosion, tolerance = 0.7, 4.0
    inner = simplify_inward(inner_no_fit(fixed, moving, erosion), tolerance)
    slices = [Polygon(convex).buffer(1e-6) for convex in free_slices(inner, WINDOW, tolerance)]
    rng = np.random.default_rng(len(first) + len(second))
    shares = []
    for at in rng.uniform(-330, 330, (80, 2)):
        moved = affinity.translate(Polygon(moving), *at)
        overlapping = Polygon(fixed).intersection(moved).area > 1e-9
        shares.append(overlapping)
        if overlapping:
            continue
        assert not inner.contains(Point(at))
        # rounding may move the difference of positions by up to the erosion
        shifted = Point(at + erosion * np.array([np.cos(at[0]), np.sin(at[0])]))
        assert any(convex.covers(shifted) for convex in slices)
    assert 0 < sum(shares) < len(shares)


@pytest.mark.parametrize(("first", "second"), list(product(NAMES, NAMES[1:4])))
def test_grown_no_fit_polygons_hold_only_places_nearer_than_that(first: str, second: str) -> None:
    """Slow twin: the distance of two outlines measured by shapely at random places."""
    fixed, moving, gap = shapes.CAST[first] * 30, shapes.CAST[second] * 30, 25.0
    grown = inner_no_fit(fixed, moving, -gap)
    rng = np.random.default_rng(len(first) + len(second))
    near = 0
    for at in rng.uniform(-330, 330, (80, 2)):
        distance = Polygon(fixed).distance(affinity.translate(Polygon(moving), *at))
        if grown.contains(Point(at)):
            assert distance < gap
            near += distance > 0
        else:
            assert distance > gap - 0.03
    assert near > 0


def test_simplifying_keeps_inside_and_near() -> None:
    disc = MultiPolygon([Point(0, 0).buffer(500, quad_segs=64)])
    simple = simplify_inward(disc, 2.0)
    assert disc.buffer(1e-6).contains(simple)
    assert len(simple.geoms[0].exterior.coords) < 60
    assert simple.area > 0.99 * disc.area


def test_slices_around_a_hole_fill_it() -> None:
    hole = box(-20, -10, 20, 10).exterior.coords
    frame = MultiPolygon([Polygon(box(-50, -50, 50, 50).exterior.coords, [hole])])
    covered = [Polygon(convex) for convex in free_slices(frame, (-60, -60, 60, 60), 0.01)]
    assert sum(part.area for part in covered) == pytest.approx(120**2 - frame.area)
    assert any(part.covers(Point(0, 0)) for part in covered)


def test_nothing_inside_leaves_the_whole_window_free() -> None:
    needle = shapes.rectangle(0.5, 0.5)
    inner = inner_no_fit(needle, needle, 1.0)
    assert inner.is_empty
    (whole,) = free_slices(simplify_inward(inner, 1.0), (0.0, 0.0, 5.0, 5.0), 1.0)
    assert Polygon(whole).area == pytest.approx(25.0)
