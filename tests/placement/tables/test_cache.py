"""Tables that are kept: found again by their content alone, never more than is allowed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from marker.placement.problem.statement import Obstacle, PlacementProblem
from marker.placement.tables.cache import TableCache, cached_grids, cached_polygons
from marker.placement.tables.hulls import NO_HULLS
from marker.placement.tables.no_fit_polygons import Abandoned, NoFitPolygons, no_fit_polygons
from marker.placement.tables.overlap_grids import GridParams, OverlapGrids, overlap_grids
from tests.placement.arrangements import cast_problem

PARAMS = GridParams(cells=24)


def polygons(given: PlacementProblem) -> NoFitPolygons:
    return cached_polygons(given, lambda: False)


def grids(given: PlacementProblem, params: GridParams = PARAMS) -> OverlapGrids:
    return cached_grids(given, polygons(given), params, 1, lambda: False)


def test_the_same_shapes_have_the_same_tables_on_any_width() -> None:
    one, wider = cast_problem(("cup", "ell"), 601.0), cast_problem(("cup", "ell"), 701.0)
    made = grids(one)
    assert grids(wider) is made
    anew = overlap_grids(no_fit_polygons(one), one.shapes, PARAMS)
    assert np.array_equal(made.value, anew.value)
    assert np.array_equal(made.look, anew.look)


def test_what_tables_depend_on_tells_them_apart() -> None:
    given = cast_problem(("cup", "star"), 602.0)
    first, *others = given.shapes
    moved = (first + np.array([[0.0, 0.0], *[[1e-9, 0.0]] * (len(first) - 1)]), *others)
    fixed = replace(given, items=given.items[:1], obstacles=(Obstacle(len(others), 0.0, 0.0),))
    every = [polygons(each) for each in (given, replace(given, shapes=moved), fixed)]
    assert len(set(map(id, every))) == 3
    assert grids(given, GridParams(cells=28)) is not grids(given)


def test_those_used_last_stay_and_what_is_too_large_does_not() -> None:
    names = ("cup", "star", "ell")
    tables = [no_fit_polygons(cast_problem((name,), 603.0)) for name in names]
    sizes = [sum(each.nbytes for each in (*one[:4], *NO_HULLS)) for one in tables]
    room: TableCache[NoFitPolygons] = TableCache((sum(sizes) - 1) / 1e6)

    def found(number: int) -> bool:
        """Whether they were there."""
        made = tables[number]._replace(hulls=NO_HULLS)
        return room.found(number, lambda: made) is not made

    assert [found(number) for number in (0, 1, 0, 2)] == [False, False, True, False]
    assert [found(number) for number in (0, 2, 1)] == [True, True, False]
    none: TableCache[NoFitPolygons] = TableCache((min(sizes) - 1) / 1e6)
    copies = [none.found(0, lambda: tables[0]._replace(hulls=NO_HULLS)) for _ in range(2)]
    assert copies[0] is not copies[1]


def test_what_was_abandoned_is_made_when_it_is_wanted() -> None:
    given = cast_problem(("ell", "triangle"), 604.0)
    with pytest.raises(Abandoned):
        cached_polygons(given, lambda: True)
    assert len(polygons(given).start) > 1
