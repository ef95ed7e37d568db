"""How many trajectories take part in a search, and how a trajectory goes on."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from marker.placement.lp.compaction import compact
from marker.placement.problem.statement import Arrangement, strip_length
from marker.placement.search import trajectory
from marker.placement.search.first_layouts import FirstLayouts
from marker.placement.search.state import choices
from marker.placement.search.strategy import HeatParams, Search
from marker.placement.search.trajectory import SearchParams, Shared
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from tests.placement.arrangements import cast_problem, grids_of, is_free

WORKERS = 2


@pytest.fixture(scope="module")
def shared() -> Shared:
    given = cast_problem(("cup", "star", "ell", "notched", "triangle"), 400.0)
    return Shared(given, no_fit_polygons(given), grids_of(given), choices(given))


def first_layout(shared: Shared) -> Arrangement:
    rng = np.random.default_rng(0)
    layouts = FirstLayouts(shared.problem, shared.polygons, shared.choices, rng)
    drawn = compact(shared.problem, shared.polygons, layouts.laid(layouts.batch()[0]))
    assert drawn is not None
    return drawn


def numbers(shared: Shared, shares: Iterable[float], settled: int) -> list[int]:
    """Trajectories for each worker that have a part in the search after each turn, begun at these
    shares. A turn is 8 moves, so that the five items have settled after so many turns."""
    hasty = replace(shared, search=SearchParams(most_moves=1))
    rng = np.random.default_rng(0)
    starts = [first_layout(hasty)]
    params = HeatParams(settled=settled * 8 // 5)
    found = Search(hasty, starts, rng, WORKERS, params)
    counts = []
    with ThreadPoolExecutor(WORKERS) as executor:
        for share in shares:
            found.iterate(executor, share)
            counts.append(len(found.trajectories) // WORKERS)
    assert is_free(shared.problem, found.best)
    return counts


def test_a_short_allowance_is_for_one_start(shared: Shared) -> None:
    """Two would take 0.6 of the allowance to settle, and after that there is a heat to come."""
    assert numbers(shared, (0.0, 0.3, 0.6, 0.9), settled=1) == [1, 1, 1, 1]


def test_a_long_allowance_is_for_many(shared: Shared) -> None:
    """One settles in 0.02 of the allowance. Nine leave as much time for each of three more heats
    before compression, ten would not."""
    begun = numbers(shared, [0.02 * turn for turn in range(10)], settled=1)
    assert begun == [1, 2, 3, 4, 5, 6, 7, 8, 9, 4]


def test_each_heat_takes_as_long_and_leaves_half(shared: Shared) -> None:
    """Five begin in 0.2 of the allowance; two heats share what is left until 0.8."""
    shares = (0.0, 0.04, 0.08, 0.12, 0.16, 0.2, 0.49, 0.51, 0.79, 0.81)
    assert numbers(shared, shares, settled=1) == [1, 2, 3, 4, 5, 2, 2, 1, 1, 1]


def test_others_wait_until_those_before_have_settled(shared: Shared) -> None:
    assert numbers(shared, (0.0, 0.01, 0.02, 0.03, 0.04), settled=2) == [1, 1, 2, 2, 3]


def test_a_search_begins_again_from_other_starts_and_keeps_its_best(shared: Shared) -> None:
    """One settles in 0.3 of the first allowance, so two begin; at once in the second, so three
    have begun after as many turns."""
    start = first_layout(shared)
    search = Search(shared, [start], np.random.default_rng(0), WORKERS, HeatParams(settled=1))
    with ThreadPoolExecutor(WORKERS) as executor:
        for share in (0.0, 0.3, 0.9):
            search.iterate(executor, share)
        best, before = search.best, search.trajectories
        assert strip_length(shared.problem, best) < strip_length(shared.problem, start)
        search.begin_again()
        assert search.best == best
        assert len(search.trajectories) == WORKERS
        assert not set(map(id, search.trajectories)) & set(map(id, before))
        for share in (0.0, 0.01, 0.02):
            search.iterate(executor, share)
        assert len(search.trajectories) == 3 * WORKERS
        search.iterate(executor, 0.9)
    assert strip_length(shared.problem, search.best) <= strip_length(shared.problem, best)
    assert all(
        each.length <= strip_length(shared.problem, best) * 1.001 for each in search.trajectories
    )


def test_a_trajectory_only_ever_gets_shorter(shared: Shared) -> None:
    start = first_layout(shared)
    line = trajectory.Trajectory(shared, np.random.default_rng(1), start)
    lengths = [line.length]
    for fine in (None, None, None, 0.0005, 0.0001):
        line.work(fine)
        lengths.append(line.length)
        assert line.length == strip_length(shared.problem, line.best)
        assert is_free(shared.problem, line.best)
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] < lengths[0]
