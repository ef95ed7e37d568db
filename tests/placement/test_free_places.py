"""The nearest free place of one piece among others, against brute force and shapely."""

from __future__ import annotations

from dataclasses import replace
from math import hypot, inf

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, Polygon, box

from marker.geometry.minkowski import no_fit_edges
from marker.placement.free_places import FreePlaces
from marker.placement.problem.prepare import with_obstacles
from marker.placement.problem.statement import Arrangement, PlacementProblem, Position
from tests.placement.arrangements import cast_problem, scattered, solids
from tests.placement.problems import problem
from tests.shapes import CAST, rectangle

NAMES = ("cup", "star", "ell", "notched", "triangle", "half disc", "parallelogram", "square") * 2
DEEP_MM = 0.05
"""A lap of less may be play and rounding."""


def laps(given: PlacementProblem, arrangement: Arrangement, item: int, at: Position) -> bool:
    """Whether the item, put there, lies over another or an obstacle; asked of shapely."""
    moved = solids(given, (*arrangement[:item], at, *arrangement[item + 1 :]))
    fixed = [
        affinity.translate(Polygon(given.shapes[each.shape]), each.x, each.y)
        for each in given.obstacles
    ]
    mine = moved.pop(item).buffer(-DEEP_MM)
    return any(mine.intersects(other.buffer(-DEEP_MM)) for other in (*moved, *fixed))


def free_region(
    given: PlacementProblem, arrangement: Arrangement, item: int, orientation: int, length: float
) -> Polygon | MultiPolygon:
    """All free positions but for single points and lines: what the strip allows less the inside of
    every no-fit polygon, united by shapely."""
    moving = given.shapes[given.items[item].orientations[orientation].shape]
    blocked = []
    for other, at in enumerate(arrangement):
        if other != item:
            shape = given.shapes[given.items[other].orientations[at.orientation].shape]
            rings = shapely.polygonize(
                [shapely.LineString(e.reshape(2, 2)) for e in no_fit_edges(shape, moving)]
            )
            hull = max(rings.geoms, key=lambda ring: ring.area)
            blocked.append(affinity.translate(hull, at.x, at.y))
    along, across = moving.max(axis=0)
    frame = box(0.0, 0.0, length - along, given.width - across)
    free = frame.difference(shapely.union_all(blocked))
    assert isinstance(free, Polygon | MultiPolygon)
    return free


@pytest.mark.parametrize("seed", range(40))
def test_as_near_as_the_region_that_shapely_finds_free(seed: int) -> None:
    rng = np.random.default_rng(seed)
    given = cast_problem(NAMES[: 3 + seed % 13], 450.0)
    length = float(rng.uniform(250.0, 900.0))
    arrangement = scattered(given, length, rng)
    item = int(rng.integers(len(arrangement)))
    wish = Position(rng.uniform(-100, length), rng.uniform(-100, length), int(rng.integers(2)))
    found = FreePlaces(given).nearest(arrangement, item, wish, length)
    region = free_region(given, arrangement, item, wish.orientation, length)
    if found is None:
        assert region.area < 1e-6
        return
    off = hypot(found.x - wish.x, found.y - wish.y)
    assert off <= region.distance(Point(wish.x, wish.y)) + 1e-6
    assert not laps(given, arrangement, item, found)
    along, across = given.extent(given.items[item].orientations[wish.orientation].shape)
    assert -1e-6 <= found.x <= length - along + 1e-6
    assert -1e-6 <= found.y <= given.width - across + 1e-6
    for _ in range(200):  # whatever lies nearer lies over something, or over an edge
        angle, share = rng.uniform(0, 2 * np.pi), np.sqrt(rng.uniform())
        reach = max(off - 0.2, 0.0) * share
        nearer = replace(
            wish, x=wish.x + reach * float(np.cos(angle)), y=wish.y + reach * float(np.sin(angle))
        )
        inside = 0 <= nearer.x <= length - along and 0 <= nearer.y <= given.width - across
        assert (
            off < 0.2
            or not inside
            or laps(given, arrangement, item, nearer)
            or (region.distance(Point(nearer.x, nearer.y)) > 0)
        )


def test_a_free_wish_is_granted_as_it_is() -> None:
    given = cast_problem(("square", "ell", "cup"), 600.0)
    arrangement = (Position(0, 0, 0), Position(300, 0, 0), Position(0, 300, 0))
    wish = Position(555.25, 333.125, 1)
    assert FreePlaces(given).nearest(arrangement, 0, wish) == wish


def test_it_slides_along_its_neighbour_and_into_a_place_of_its_own_size() -> None:
    given = problem([rectangle(100, 100)] * 4, 300.0)
    row = (Position(0, 0, 0), Position(0, 200, 0), Position(0, 100, 0), Position(500, 0, 0))
    places = FreePlaces(given)
    beside = places.nearest(row, 3, Position(60, 30, 0))
    assert beside is not None
    assert (beside.x, beside.y) == pytest.approx((100, 30), abs=0.01)
    between = places.nearest(row, 3, Position(20, 95, 0), lifted=[2])
    assert between is not None
    assert (between.x, between.y) == pytest.approx((20, 100), abs=0.02)


def test_no_place_within_the_length_is_said() -> None:
    given = problem([rectangle(100, 100)] * 2, 150.0)
    arrangement = (Position(0, 25, 0), Position(200, 0, 0))
    places = FreePlaces(given)
    assert places.nearest(arrangement, 1, Position(0, 0, 0), 199.0) is None
    assert places.nearest(arrangement, 1, Position(0, 0, 0), 90.0) is None
    found = places.nearest(arrangement, 1, Position(0, 0, 0), 201.0)
    assert found is not None
    assert found.x == pytest.approx(100.0, abs=0.02)


def test_without_a_limit_there_is_always_a_place() -> None:
    given = problem([rectangle(100, 100)] * 2, 100.0)
    found = FreePlaces(given).nearest((Position(0, 0, 0), Position(50, 0, 0)), 1, Position(9, 3, 0))
    assert found is not None
    assert (found.x, found.y) == pytest.approx((100.0, 0.0), abs=0.02)


def test_obstacles_count() -> None:
    given = with_obstacles(problem([rectangle(100, 100)], 300.0), [rectangle(50, 300)])
    found = FreePlaces(given).nearest((Position(200, 0, 0),), 0, Position(10, 40, 0))
    assert found is not None
    assert (found.x, found.y) == pytest.approx((50, 40), abs=0.01)


@pytest.mark.parametrize("repeat", [(70.0, 0.0), (0.0, 90.0), (70.0, 90.0)])
@pytest.mark.parametrize("seed", range(6))
def test_a_tied_piece_takes_the_nearest_free_place_of_its_repeat(
    repeat: tuple[float, float], seed: int
) -> None:
    rng = np.random.default_rng(seed)
    bare = cast_problem(NAMES[:9], 500.0)
    phase = (13.0, 27.0)
    tied = replace(
        bare.items[4],
        repeat=repeat,
        orientations=tuple(replace(each, phase=phase) for each in bare.items[4].orientations),
    )
    given = replace(bare, items=(*bare.items[:4], tied, *bare.items[5:]))
    arrangement = scattered(given, 800.0, rng)
    wish = Position(rng.uniform(0.0, 500.0), rng.uniform(0.0, 500.0), 0)
    places = FreePlaces(given)
    found = places.nearest(arrangement, 4, wish)
    assert found is not None
    along, across = given.extent(tied.orientations[0].shape)
    for at, every, start in zip((found.x, found.y), repeat, phase, strict=True):
        assert not every or abs((at - start) / every - round((at - start) / every)) < 1e-9
    assert not laps(given, arrangement, 4, found)
    off = hypot(found.x - wish.x, found.y - wish.y)
    xs = np.arange(phase[0], 1500, 70.0) if repeat[0] else np.arange(0.0, 1500.0, 2.0)
    ys = np.arange(phase[1], 500, 90.0) if repeat[1] else np.arange(0.0, 500.0, 2.0)
    nearest = inf
    for x in xs:
        for y in ys[ys <= given.width - across]:
            gap = hypot(x - wish.x, y - wish.y)
            if gap < min(nearest, off - 0.1):
                lies_free = not laps(given, arrangement, 4, Position(x, y, 0))
                nearest = gap if lies_free else nearest
    assert nearest == inf, "a nearer place of the repeat is free"
    assert along > 0


def test_every_member_of_the_cast_stays_where_it_lies_free() -> None:
    given = cast_problem(tuple(CAST), 700.0)
    x, arrangement = 0.0, []
    for item in given.items:
        arrangement.append(Position(x, 0.0, 0))
        x += given.extent(item.orientations[0].shape)[0]
    places = FreePlaces(given)
    for number, at in enumerate(arrangement):
        assert places.nearest(tuple(arrangement), number, at) == at
