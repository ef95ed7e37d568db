"""Inner no-fit polygons and convex slices: nothing that is truly free may be lost."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, Polygon, box

from marker.geometry.convex import free_slices, inner_no_fit, simplify_inward
from tests import shapes

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
