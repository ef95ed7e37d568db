"""No-fit polygons against shapely: unions of swept pieces, and direct tests of overlap."""

from __future__ import annotations

from itertools import combinations_with_replacement

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import MultiLineString, MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from marker.geometry.arrays import FloatArray
from marker.geometry.minkowski import convolution, no_fit_edges
from marker.tolerances import PLAY_MM
from tests.helpers import laid_outline
from tests.shapes import CAST, CUP, polygon, rectangle

PAIRS = list(combinations_with_replacement(sorted(CAST), 2))


def minkowski_sum(a: FloatArray, b: FloatArray) -> BaseGeometry:
    """Slow twin: the sums of all pairs of triangles, each the hull of its points' sums."""
    return shapely.union_all(
        [
            MultiPoint((p[:, None] + q[None, :]).reshape(-1, 2)).convex_hull
            for p in triangles(a)
            for q in triangles(b)
        ]
    )


def triangles(outline: FloatArray) -> list[FloatArray]:
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(Polygon(outline)))
    return [np.array(part.exterior.coords[:-1]) for part in parts]


def winding(walks: list[NDArray[np.float64]], at: FloatArray) -> int:
    """Turns that closed walks make about a point, counted by the angles they sweep."""
    total = 0.0
    for walk in walks:
        seen = (walk - at) @ np.array([1, 1j])
        total += float(np.angle(np.roll(seen, -1) / seen).sum())
    return round(total / (2 * np.pi))


def solid(edges: FloatArray) -> BaseGeometry:
    """The filled no-fit polygon: its edges, inside to the left, holes taken out."""
    faces = [
        face
        for face in shapely.get_parts(shapely.polygonize(lines(edges)))
        if inside(edges, np.array(face.representative_point().coords[0]))
    ]
    return shapely.union_all(faces)


def lines(edges: FloatArray) -> NDArray[np.object_]:
    return np.asarray(shapely.linestrings(edges.reshape(-1, 2, 2)))


def inside(edges: FloatArray, at: FloatArray) -> bool:
    return winding_of_edges(edges, at) > 0


def winding_of_edges(edges: FloatArray, at: FloatArray) -> int:
    start, end = (edges[:, :2] - at) @ [1, 1j], (edges[:, 2:] - at) @ [1, 1j]
    return round(float(np.angle(end / start).sum()) / (2 * np.pi))


@pytest.mark.parametrize(("first", "second"), PAIRS)
def test_winding_numbers_are_positive_just_inside_the_sum(first: str, second: str) -> None:
    a = np.rint(CAST[first] * 1000).astype(np.int64)
    b = np.rint(laid_outline(CAST[second], 37, False) * 1000).astype(np.int64)
    whole = minkowski_sum(a.astype(np.float64), b.astype(np.float64))
    walks = [np.array(walk, dtype=np.float64) for walk in convolution(a, b)]
    rng = np.random.default_rng(1)
    low, high = np.array(whole.bounds[:2]), np.array(whole.bounds[2:])
    for at in rng.uniform(low - 500, high + 500, (60, 2)):
        if whole.boundary.distance(shapely.Point(at)) > 3:
            assert (winding(walks, at) > 0) == whole.covers(shapely.Point(at)), at


@pytest.mark.parametrize(("first", "second"), PAIRS)
def test_inside_means_overlap_beyond_the_play(first: str, second: str) -> None:
    a, b = CAST[first] * 20, laid_outline(CAST[second] * 13, 25, False)
    edges = no_fit_edges(a, b)
    rng = np.random.default_rng(2)
    fixed, moving = Polygon(a), Polygon(b)
    low = a.min(axis=0) - b.max(axis=0)
    high = a.max(axis=0) - b.min(axis=0)
    boundary = MultiLineString(list(lines(edges)))
    met = set()
    for at in rng.uniform(low, high, (80, 2)):
        if boundary.distance(shapely.Point(at)) < 3 * PLAY_MM:
            continue
        overlaps = fixed.intersection(affinity.translate(moving, *at)).area > 1e-9
        met.add(overlaps)
        assert inside(edges, at) == overlaps, at
    assert met == {True, False}


@pytest.mark.parametrize("name", sorted(CAST))
def test_the_boundary_lies_within_the_play_of_touching(name: str) -> None:
    """On the boundary the two lap by no more than twice the play, and touch at least nearly."""
    a, b = CAST[name] * 20, laid_outline(CAST["notched"] * 13, 25, False)
    fixed, moving = Polygon(a), Polygon(b)
    for x1, y1, x2, y2 in no_fit_edges(a, b):
        at = affinity.translate(moving, (x1 + x2) / 2, (y1 + y2) / 2)
        deep = fixed.buffer(-2.5 * PLAY_MM).intersection(at).area
        assert deep == 0
        assert fixed.distance(at) <= 2.5 * PLAY_MM


def test_a_sharp_tip_keeps_its_reach() -> None:
    """Shrinking draws a tip back by no more than twice the play, however sharp it is."""
    needle = polygon((0, 0), (100, -0.5), (100, 0.5))
    edges = no_fit_edges(rectangle(100, 100), needle)
    assert edges[:, [0, 2]].max() == pytest.approx(100, abs=2 * PLAY_MM + 0.002)


def test_a_piece_fits_a_slot_of_its_own_width() -> None:
    slot = polygon((0, 0), (90, 0), (90, 80), (60, 80), (60, 30), (30, 30), (30, 80), (0, 80))
    edges = no_fit_edges(slot, rectangle(30, 40))
    assert not inside(edges, np.array([30.0, 35.0]))
    assert inside(edges, np.array([30.0 + 2 * PLAY_MM, 35.0]))
    assert inside(edges, np.array([30.0, 30.0 - 2 * PLAY_MM]))


def test_holes_too_small_to_matter_are_closed() -> None:
    """Squares in the pocket, 10 mm wide, of a ring whose seam is too narrow to leave by."""
    ring = polygon(
        (0, 0), (30, 0), (30, 30), (0, 30), (0, 12), (10, 12), (10, 20), (20, 20),
        (20, 10), (10, 10), (10, 11), (0, 11),
    )  # fmt: skip
    small, large = (solid(no_fit_edges(ring, rectangle(side, side))) for side in (9.5, 8))
    assert isinstance(small, Polygon)
    assert isinstance(large, Polygon)
    assert list(small.interiors) == []  # 0.5 × 0.5 mm of room are less than SLIVER_MM2
    assert Polygon(large.interiors[0]).area == pytest.approx(4, abs=0.1)


def test_the_order_of_the_two_turns_the_polygon_round() -> None:
    """Moving about a fixed CUP or fixed while it moves: the same places, seen the other way."""
    triangle = CAST["triangle"]
    one = solid(no_fit_edges(CUP, triangle))
    other = affinity.scale(solid(no_fit_edges(triangle, CUP)), -1, -1, origin=(0, 0))
    assert one.symmetric_difference(other).area < 60 * PLAY_MM
