"""Pairs share polygons under turns and reflections, and each still sees its own."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from shapely.geometry import Point

from marker.geometry.minkowski import no_fit_edges
from marker.placement.problem.statement import PlacementProblem
from marker.placement.tables.likeness import EVERY, NONE, looks, seen_as
from marker.placement.tables.no_fit_polygons import CODES, no_fit_polygons, seen
from tests.placement.arrangements import cast_problem
from tests.placement.problems import problem
from tests.placement.tables.polygons import solid_of
from tests.shapes import CAST

NAMES = ("cup", "notched", "ell", "parallelogram")
TURNS = (0.0, 90.0, 180.0, 270.0)


def both_hands(turns: tuple[float, ...]) -> PlacementProblem:
    """Each outline and its mirror image."""
    outlines = [CAST[name] * 20 for name in NAMES]
    mirrored = [(outline * [1.0, -1.0])[::-1] for outline in outlines]
    return problem(outlines + mirrored, 900.0, turns)


def test_moves_are_a_group() -> None:
    outline = CAST["ell"] * 20
    for one, other in product(EVERY, EVERY):
        both = seen_as(seen_as(outline, other), one)
        assert both == pytest.approx(seen_as(outline, one.then(other)))
    assert all(each.back().then(each) == NONE for each in EVERY)


@pytest.mark.parametrize("moves", EVERY)
def test_an_image_is_known_as_one_wherever_it_starts(moves: object) -> None:
    outline = CAST["notched"] * 20 + 0.0
    image = np.roll(seen_as(outline, EVERY[EVERY.index(moves)]), 3, axis=0)  # type: ignore[arg-type]
    base, look = looks([outline, image])
    assert (base.base, base.moves, look.base) == (0, NONE, 0)
    back = seen_as(outline, look.moves)
    assert {tuple(p) for p in back.round(6)} == {tuple(p) for p in image.round(6)}


def test_others_are_not() -> None:
    shapes = [CAST[name] * 20 for name in ("ell", "cup", "square", "triangle")]
    assert [look.base for look in looks(shapes)] == [0, 1, 2, 3]
    nearly = shapes[0].copy()
    nearly[2] += 0.01
    assert looks([shapes[0], nearly])[1].base == 1


@pytest.mark.parametrize(
    ("turns", "of_two", "of_one"), [((0.0, 180.0), 2, 2), (TURNS, 4, 3), ((0.0,), 1, 1)]
)
def test_polygons_depend_on_the_relative_turn_only(
    turns: tuple[float, ...], of_two: int, of_one: int
) -> None:
    """Of one outline with itself a turn to the left is a turn to the right seen from the other."""
    outlines = [CAST[name] * 20 for name in ("notched", "ell")]
    outlines[0] = outlines[0] + np.where(np.arange(len(outlines[0])) == 1, 7.0, 0.0)[:, None]
    polygons = no_fit_polygons(problem(outlines, 900.0, turns))
    assert len(polygons.start) - 1 == of_two + 2 * of_one


@pytest.mark.parametrize("given", [cast_problem(NAMES, 900.0, TURNS), both_hands((0.0, 180.0))])
def test_each_pair_sees_the_polygon_that_is_made_for_it_alone(given: PlacementProblem) -> None:
    polygons, rng = no_fit_polygons(given), np.random.default_rng(0)
    count = len(given.shapes)
    for a, b in product(range(count), range(count)):
        own = solid_of(no_fit_edges(given.shapes[a], given.shapes[b]))
        shared = solid_of(polygons.of(a, b))
        assert own.symmetric_difference(shared).area < 0.02 * own.length
        p, code = divmod(int(polygons.pair[a, b]), CODES)
        stored = polygons.edge[polygons.start[p] : polygons.start[p + 1]]
        kept = solid_of(stored)
        boxes = tuple(polygons.extent[a]), tuple(polygons.extent[b])
        for at in rng.uniform(-300, 300, (20, 2)):
            if shared.boundary.distance(Point(at)) > 0.1:
                there = seen(code, (at[0], at[1]), *boxes)
                assert kept.covers(Point(there)) == shared.covers(Point(at))
    assert len(polygons.start) - 1 < count * (count + 1) / 4
