"""First layouts, compaction and separation, each against shapely and cases done by hand."""

from __future__ import annotations

import numpy as np
import pytest

from marker.placement.lp.compaction import compact
from marker.placement.problem.statement import Arrangement, PlacementProblem, Position, strip_length
from marker.placement.search.first_layouts import FirstLayouts
from marker.placement.search.overlaps import refresh
from marker.placement.search.separation import restore, separate
from marker.placement.search.state import SeparationParams, arrangement_of, choices, state_of
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from marker.placement.tables.overlap_grids import overlap_grids
from tests.placement.arrangements import cast_problem, grids_of, is_free, scattered
from tests.placement.problems import greedy, problem
from tests.shapes import CAST, polygon, rectangle

NAMES = ("cup", "star", "ell", "notched", "triangle", "half disc", "needle", "strip")


def layouts(given: PlacementProblem, count: int) -> list[Arrangement]:
    first = FirstLayouts(given, no_fit_polygons(given), choices(given), np.random.default_rng(0))
    found: list[Arrangement] = []
    while len(found) < count:
        for ordering in first.batch():
            found.append(first.laid(ordering))
            first.learn(ordering, found[-1])
    return found[:count]


@pytest.mark.parametrize("width", [200.0, 333.0, 900.0])
@pytest.mark.parametrize("turns", [(0.0,), (0.0, 180.0), (0.0, 90.0, 180.0, 270.0)])
def test_first_layouts_are_free_of_overlap(width: float, turns: tuple[float, ...]) -> None:
    given = cast_problem(NAMES, width, turns)
    for arrangement in layouts(given, 6):
        assert is_free(given, arrangement)


def test_first_layouts_keep_groups_in_one_direction() -> None:
    ell = CAST["ell"] * 20
    given = problem([ell] * 5, 500.0, (0.0, 180.0), group=2)
    seen = set()
    for arrangement in layouts(given, 20):
        turned = {position.orientation for position in arrangement}
        assert len(turned) == 1
        seen |= turned
    assert seen == {0, 1}


def test_a_first_layout_of_rectangles_fills_the_width() -> None:
    given = problem([rectangle(100, 50)] * 6, 150.0)
    assert strip_length(given, layouts(given, 1)[0]) == pytest.approx(200, abs=0.02)


def compacted(given: PlacementProblem, *at: tuple[float, float]) -> Arrangement:
    found = compact(given, no_fit_polygons(given), tuple(Position(x, y, 0) for x, y in at))
    assert found is not None
    return found


def test_two_rectangles_are_drawn_together() -> None:
    given = problem([rectangle(100, 60), rectangle(80, 60)], 100.0)
    found = compacted(given, (5, 0), (117, 20))
    assert strip_length(given, found) == pytest.approx(180, abs=0.01)


def test_a_rectangle_beside_another_is_drawn_along_it() -> None:
    given = problem([rectangle(30, 60), rectangle(24, 60)], 120.0)
    assert strip_length(given, compacted(given, (0, 0), (25, 60))) == pytest.approx(30, abs=0.01)


def test_a_tongue_is_drawn_down_the_notch_of_its_own_width() -> None:
    cup = polygon((0, 0), (100, 0), (100, 30), (80, 30), (80, 60), (100, 60), (100, 90), (0, 90))
    given = problem([cup, rectangle(20, 30)], 90.0)
    assert strip_length(given, compacted(given, (0, 0), (95, 30))) == pytest.approx(100, abs=0.02)


def test_widths_that_add_up_exactly_but_for_rounding_are_kept() -> None:
    """Seven strips, each a seventh of the width: a length no grid of decimals holds."""
    given = problem([rectangle(50, 100 / 7)] * 7, 100.0)
    stacked = [(0.0, k * 100 / 7) for k in range(7)]
    assert strip_length(given, compacted(given, *stacked)) == pytest.approx(50, abs=0.02)


def test_an_overlap_that_cannot_be_undone_is_refused() -> None:
    given = problem([rectangle(100, 60), rectangle(100, 60)], 100.0)
    found = compact(given, no_fit_polygons(given), (Position(0, 0, 0), Position(1, 40, 0)))
    assert found is None or is_free(given, found)


@pytest.mark.parametrize("seed", range(6))
def test_compaction_is_free_and_never_longer(seed: int) -> None:
    rng = np.random.default_rng(seed)
    given = cast_problem(rng.choice(NAMES, 6).tolist(), float(rng.uniform(220, 500)))
    start = greedy(given, rng, 4.0)
    found = compact(given, no_fit_polygons(given), start)
    assert found is not None
    assert is_free(given, found)
    assert strip_length(given, found) <= strip_length(given, start) + 0.02
    assert [p.orientation for p in found] == [p.orientation for p in start]


def test_compaction_that_is_late_keeps_its_first_solution() -> None:
    given = cast_problem(NAMES * 3, 400.0, scale=10.0)
    start = greedy(given, np.random.default_rng(0), 20.0)
    polygons = no_fit_polygons(given)
    asked: list[bool] = []

    def is_late() -> bool:
        asked.append(True)
        return True

    late, whole = compact(given, polygons, start, is_late=is_late), compact(given, polygons, start)
    assert late is not None
    assert whole is not None
    assert len(asked) == 1
    assert is_free(given, late)
    assert strip_length(given, whole) < strip_length(given, late) < strip_length(given, start)


def repaired(given: PlacementProblem, start: Arrangement, length: float) -> Arrangement:
    table = overlap_grids(no_fit_polygons(given), given.shapes)
    state = state_of(given, start, length, 1)
    left = separate(table, choices(given), state, 100, SeparationParams().effort)
    assert left == 0
    assert refresh(table, state) == 0
    return arrangement_of(state)


def test_separation_repairs_a_small_overlap() -> None:
    given = problem([rectangle(100, 100)] * 4, 210.0)
    start = tuple(Position(x, y, 0) for x, y in ((0, 0), (95, 0), (3, 101), (104, 97)))
    found = repaired(given, start, 210.0)
    assert is_free(given, found)
    assert strip_length(given, found) <= 210.0 + 1e-9


@pytest.mark.parametrize("seed", range(4))
def test_separation_frees_a_heap(seed: int) -> None:
    given = cast_problem(NAMES, 420.0)
    start = scattered(given, 700.0, np.random.default_rng(seed))
    assert not is_free(given, start)
    assert is_free(given, repaired(given, start, 700.0))


def test_separation_that_fails_keeps_its_best() -> None:
    """Three squares cannot lie where two do; what is left never exceeds what there was."""
    given = problem([rectangle(100, 100)] * 3, 100.0)
    table = grids_of(given)
    start = tuple(Position(x, 0.0, 0) for x in (0.0, 60.0, 110.0))
    state = state_of(given, start, 210.0, 1)
    before = refresh(table, state)
    left = separate(table, choices(given), state, 20, SeparationParams().effort)
    assert 0 < left <= before
    restore(table, choices(given), state)
    assert refresh(table, state) == pytest.approx(left)
    assert arrangement_of(state) == tuple(
        Position(x, y, 0) for x, y in zip(state.x, state.y, strict=True)
    )
