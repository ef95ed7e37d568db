"""Positions tied to a repeat: brute force on a grid, room by hand, lattices by arithmetic."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from marker.placement.exact import bounds
from marker.placement.exact.proof import prove
from marker.placement.exact.questions import Allowance
from marker.placement.exact.symmetry import kinds, reflections
from marker.placement.lp.compaction import compact
from marker.placement.problem.statement import (
    Orientation,
    PlacementProblem,
    Position,
    Span,
    in_a_row,
    seated,
    spans,
    strip_length,
)
from marker.placement.search.first_layouts import FirstLayouts
from marker.placement.search.overlaps import refresh
from marker.placement.search.separation import separate
from marker.placement.search.state import SeparationParams, arrangement_of, choices, state_of
from marker.placement.solve import Result, solve
from marker.placement.stop import after_iterations, at_bound, first_of
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from marker.placement.tables.overlap_grids import overlap_grids
from marker.tolerances import PROVEN_WITHIN_MM
from tests.placement.arrangements import cast_problem, faults, scattered
from tests.placement.exact.grid import UNIT_MM, Brick, grid_problem, shortest_strip
from tests.placement.problems import problem, without_cores
from tests.shapes import rectangle

MARGIN_MM = 0.5
NAMES = ("cup", "star", "ell", "notched", "triangle", "half disc")


def solved(given: PlacementProblem, iterations: int = 8) -> Result:
    result = solve(given, first_of(at_bound(), after_iterations(iterations)), 0, 1, lambda _: None)
    assert faults(given, result.arrangement) == []
    return result


def tied(
    given: PlacementProblem, repeat: tuple[float, float], rng: np.random.Generator
) -> PlacementProblem:
    """Every item tied, each orientation by a phase of its own that the width has room for."""

    def phased(orientation: Orientation) -> Orientation:
        room = given.width - given.extent(orientation.shape)[1]
        return replace(orientation, phase=(float(rng.uniform(0, 900)), float(rng.uniform(0, room))))

    items = tuple(
        replace(item, repeat=repeat, orientations=tuple(phased(w) for w in item.orientations))
        for item in given.items
    )
    return replace(given, items=items)


@pytest.mark.parametrize("seed", range(6))
def test_tied_rectangles_match_brute_force(seed: int) -> None:
    rng = np.random.default_rng(seed)
    width = 6
    items = []
    for k, (a, b) in enumerate(rng.integers(1, 4, (int(rng.integers(2, 5)), 2)).tolist()):
        repeat = ((3, 0), (0, 2), (2, 3))[(seed + k) % 3]
        phase = int(rng.integers(3)), int(rng.integers(2))
        brick = Brick(a, b, repeat, phase)
        items.append((brick, brick.turned()) if seed % 2 else (brick,))
    optimum = UNIT_MM * shortest_strip(items, width)
    given = grid_problem(items, width)
    result = solved(given)
    assert optimum - 0.02 <= result.length <= optimum + MARGIN_MM
    assert result.bound <= optimum + 1e-6
    proof = prove(given, no_fit_polygons(given), in_a_row(given), Allowance(None, 2.0, 1))
    assert proof.optimal
    assert optimum - PROVEN_WITHIN_MM - 1e-6 <= proof.bound <= optimum + 1e-6


def test_the_search_alone_finds_the_lattice() -> None:
    """Squares of 100 mm that may start every 130 mm, three across: eight of them in 130 × 2 + 100,
    arithmetic; nothing of this is asked of the exact model."""
    given = problem([rectangle(100, 100)] * 8, 300.0)
    items = tuple(replace(item, repeat=(130.0, 0.0)) for item in given.items)
    result = solved(without_cores(replace(given, items=items)))
    assert result.length == pytest.approx(360.0, abs=1e-6)


def test_spans_by_hand() -> None:
    given = problem([rectangle(100, 60)], 300.0)
    orientation = given.items[0].orientations[0]
    free, tied_both = given.items[0], replace(given.items[0], repeat=(70.0, 50.0))
    assert spans(given, free, orientation, 450.0) == (Span(0, 350, 0), Span(0, 240, 0))
    turned = replace(orientation, phase=(-20.0, 110.0))
    assert spans(given, tied_both, turned, 450.0) == (Span(50, 330, 70), Span(10, 210, 50))
    along, across = spans(given, tied_both, turned, 450.0)
    assert [along.nearest(x) for x in (-9, 84, 86, 1000)] == [50, 50, 120, 330]
    assert [across.first_from(y) for y in (0, 10, 10.1, 60, 260.5)] == [10, 10, 60, 60, 310]
    assert spans(given, tied_both, turned, 149.0)[0].high < 50


def test_an_item_without_room_lies_in_another_way() -> None:
    given = problem([rectangle(100, 60)], 300.0, (0.0, 90.0))
    both = given.items[0].orientations
    item = replace(
        given.items[0],
        orientations=(replace(both[0], phase=(120.0, 0.0)), replace(both[1], phase=(30.0, 0.0))),
        repeat=(200.0, 0.0),
    )
    assert seated(given, item, Position(90, 7, 0), 230.0) == Position(120, 7, 0)
    assert seated(given, item, Position(90, 7, 0), 200.0) == Position(30, 7, 1)


def test_an_orientation_that_no_repeat_lets_lie_across_is_refused() -> None:
    given = problem([rectangle(100, 60)], 100.0)
    orientation = replace(given.items[0].orientations[0], phase=(0.0, 50.0))
    item = replace(given.items[0], orientations=(orientation,), repeat=(0.0, 90.0))
    with pytest.raises(ValueError, match="item 0"):
        solved(replace(given, items=(item,)))


@pytest.mark.parametrize("repeat", [(170.0, 0.0), (0.0, 35.0), (90.0, 120.0)])
def test_first_layouts_rows_states_and_separation_lie_on_the_lattice(
    repeat: tuple[float, float],
) -> None:
    rng = np.random.default_rng(3)
    given = tied(cast_problem(NAMES, 500.0), repeat, rng)
    table, orientations = overlap_grids(no_fit_polygons(given), given.shapes), choices(given)
    layouts = FirstLayouts(given, no_fit_polygons(given), orientations, rng)
    for ordering in (*layouts.batch(), *layouts.batch(), *layouts.batch()):
        arrangement = layouts.laid(ordering)
        assert faults(given, arrangement) == []
    assert faults(given, in_a_row(given)) == []
    state = state_of(given, scattered(given, 1500.0, rng), 1500.0, 1)
    assert separate(table, orientations, state, 100, SeparationParams().effort) == 0.0
    assert refresh(table, state) == 0.0
    arrangement = arrangement_of(state)
    assert faults(given, arrangement) == []
    assert strip_length(given, arrangement) <= 1500.0 + 1e-6
    drawn = compact(given, no_fit_polygons(given), arrangement)
    assert drawn is not None
    assert faults(given, drawn) == []
    assert strip_length(given, drawn) <= strip_length(given, arrangement) + 0.02


def test_the_bound_knows_the_first_position_of_a_repeat() -> None:
    given = problem([rectangle(100, 50)], 300.0)
    orientation = replace(given.items[0].orientations[0], phase=(250.0, 0.0))
    item = replace(given.items[0], orientations=(orientation,), repeat=(190.0, 0.0))
    given = replace(given, items=(item,))
    assert bounds.simple(given) == pytest.approx(160.0)
    assert solved(given).length == pytest.approx(160.0)


def test_items_tied_in_other_ways_are_of_other_kinds() -> None:
    given = problem([rectangle(100, 50)] * 3, 300.0)
    one, two, three = given.items
    mixed = replace(given, items=(one, replace(two, repeat=(50.0, 0.0)), three))
    assert sorted(kinds(mixed, (0, 1, 2)).values()) == [[0, 2], [1]]
    assert list(reflections(given, (0, 1, 2)))
    assert not list(reflections(mixed, (0, 1, 2)))
