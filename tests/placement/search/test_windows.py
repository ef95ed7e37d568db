"""Long strips, searched by windows that are shortened side by side."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from marker.placement.lp.compaction import CompactionParams, compact
from marker.placement.problem.statement import (
    Arrangement,
    Obstacle,
    Position,
    in_a_row,
    strip_length,
)
from marker.placement.search.first_layouts import FirstLayouts
from marker.placement.search.state import choices
from marker.placement.search.strategy import HeatParams
from marker.placement.search.subproblem import Window
from marker.placement.search.trajectory import SearchParams, Shared, Trajectory
from marker.placement.search.windows import WindowParams, Windows, has_windows
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from tests.placement.arrangements import cast_problem, faults, grids_of

NAMES = ("cup", "star", "ell", "notched", "triangle") * 12
WIDTH_MM = 150.0


@pytest.fixture(scope="module")
def shared() -> Shared:
    given = cast_problem(NAMES, WIDTH_MM, scale=10.0)
    return Shared(
        given, no_fit_polygons(given), grids_of(given), choices(given), SearchParams(most_moves=60)
    )


@pytest.fixture(scope="module")
def first(shared: Shared) -> Arrangement:
    layouts = FirstLayouts(
        shared.problem, shared.polygons, shared.choices, np.random.default_rng(0)
    )
    drawn = compact(shared.problem, shared.polygons, layouts.laid(layouts.batch()[0]))
    assert drawn is not None
    return drawn


def search(shared: Shared, first: Arrangement, workers: int, turns: int) -> Windows:
    """A search after so many turns, over the middle of which windows are chosen anew often."""
    heats = HeatParams(settled=60, turn=2)
    found = Windows(shared, [first], np.random.default_rng(1), workers, (heats, WindowParams()))
    with ThreadPoolExecutor(workers) as executor:
        for turn in range(turns):
            found.iterate(executor, turn / turns)
    return found


@pytest.mark.parametrize("workers", [1, 2, 7])
def test_windows_shorten_the_strip(shared: Shared, first: Arrangement, workers: int) -> None:
    found = search(shared, first, workers, 16).best
    assert strip_length(shared.problem, found) < strip_length(shared.problem, first) - 1.0
    assert not faults(shared.problem, found)


def test_the_same_seed_gives_the_same_layout(shared: Shared, first: Arrangement) -> None:
    assert search(shared, first, 2, 6).best == search(shared, first, 2, 6).best


def test_attempts_in_windows_have_as_many_spells_as_windows_say(
    shared: Shared, first: Arrangement
) -> None:
    soon = replace(shared.search, spell=2)
    few, many = (replace(shared, search=replace(soon, spells=k)) for k in (1, 9))
    assert search(many, first, 1, 6).best == search(few, first, 1, 6).best


def test_workers_do_as_much_in_windows_of_few_items_as_of_many(
    shared: Shared, first: Arrangement, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Or one would wait for the other at the end of each turn."""
    pieces: dict[int, set[int]] = {}
    work = Trajectory.work

    def noted(trajectory: Trajectory, fine: float | None) -> None:
        pieces.setdefault(len(trajectory.best), set()).add(trajectory.moves)
        work(trajectory, fine)

    monkeypatch.setattr(Trajectory, "work", noted)
    search(replace(shared, search=replace(shared.search, most_moves=2000)), first, 2, 1)
    assert len(pieces) == 2
    assert len(set.union(*pieces.values())) == 1


def test_groups_keep_one_direction(shared: Shared) -> None:
    """They reach over all windows, so that no window may turn one."""
    items = tuple(replace(each, group=k % 2) for k, each in enumerate(shared.problem.items))
    grouped = replace(shared.problem, items=items)
    of_groups = replace(shared, problem=grouped, choices=choices(grouped))
    layouts = FirstLayouts(grouped, shared.polygons, of_groups.choices, np.random.default_rng(0))
    ordering = layouts.batch()[0]
    found = search(of_groups, layouts.laid(ordering), 2, 8).best
    assert not faults(grouped, found)


def test_what_lies_beyond_a_window_follows_its_end(shared: Shared, first: Arrangement) -> None:
    length = strip_length(shared.problem, first)
    window = Window(shared.problem, first, 0.3 * length, 0.6 * length)
    own = window.subproblem.length
    assert np.allclose(
        [(each.x, each.y) for each in window.merged(first, window.arrangement, own)],
        [(each.x, each.y) for each in first],
    )
    spread = window.merged(first, window.arrangement, own + 25.0)
    assert strip_length(shared.problem, spread) == pytest.approx(length + 25.0)
    assert not faults(shared.problem, spread)


def test_a_window_is_drawn_together_between_its_neighbours(
    shared: Shared, first: Arrangement
) -> None:
    """Of a layout with a gap in it, what lies beyond the gap comes back by the whole of it."""
    problem = shared.problem
    length = strip_length(problem, first)
    window = Window(problem, first, 0.3 * length, 0.6 * length)
    apart = window.merged(first, window.arrangement, window.subproblem.length + 30.0)
    again = Window(problem, apart, 0.3 * length, 0.6 * length + 30.0)
    assert list(again.inside) == list(window.inside)
    drawn = again.subproblem.drawn_together(
        again.arrangement, again.subproblem.length, np.inf, shared.polygons, CompactionParams()
    )
    assert drawn is not None
    closed = again.merged(apart, *drawn)
    assert strip_length(problem, closed) <= length + 0.1
    assert not faults(problem, closed)


def test_no_windows_where_something_lies_still(shared: Shared) -> None:
    problem, params = shared.problem, WindowParams()
    row = in_a_row(problem)
    assert has_windows(problem, row, params)
    assert not has_windows(problem, row, WindowParams(long=1000.0))
    flawed = replace(problem, obstacles=(Obstacle(0, 0.0, 0.0),))
    assert not has_windows(flawed, row, params)
    tied = tuple(replace(each, repeat=(10.0, 0.0)) for each in problem.items)
    assert not has_windows(replace(problem, items=tied), row, params)


def test_a_better_layout_is_adopted(shared: Shared, first: Arrangement) -> None:
    row = in_a_row(shared.problem)
    found = search(shared, row, 1, 0)
    found.adopt(first)
    assert strip_length(shared.problem, found.best) == pytest.approx(
        strip_length(shared.problem, first)
    )
    found.adopt(row)
    assert strip_length(shared.problem, found.best) == pytest.approx(
        strip_length(shared.problem, first)
    )
    assert isinstance(found.trying[0], Position)
