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
BATCH = HeatParams().starts * WORKERS


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
    """Trajectories that have a part in the search after each turn, begun at these shares."""
    hasty = replace(shared, search=SearchParams(most_moves=1))
    rng = np.random.default_rng(0)
    starts = [first_layout(hasty)]
    found = Search(hasty, starts, rng, WORKERS, HeatParams(settled=settled))
    counts = []
    with ThreadPoolExecutor(WORKERS) as executor:
        for share in shares:
            found.iterate(executor, share)
            counts.append(len(found.trajectories))
    assert is_free(shared.problem, found.best)
    return counts


def test_a_short_allowance_is_for_those_that_begin_together(
    shared: Shared,
) -> None:
    counts = numbers(shared, (0.0, 0.1, 0.16, 0.35, 0.5, 0.9), settled=9)
    assert counts == [BATCH, BATCH, BATCH // 2, BATCH // 4, WORKERS, WORKERS]


def test_a_long_allowance_is_for_many(shared: Shared) -> None:
    """A batch settles in 0.09 of the allowance; five fit into 0.45 of it, and a sixth would not."""
    shares = (0.0, 0.09, 0.18, 0.27, 0.36, 0.45, 0.52, 0.67, 0.9)
    counts = numbers(shared, shares, settled=1)
    assert counts[:4] == [BATCH, 2 * BATCH, 3 * BATCH, 4 * BATCH]
    assert counts[4:] == [5 * BATCH, BATCH // 2, BATCH // 2, BATCH // 4, WORKERS]


def test_a_search_that_begins_anew_goes_on_with_what_is_left(
    shared: Shared,
) -> None:
    """As after the exact model: the shares start from 0 again."""
    counts = numbers(shared, (0.0, 0.5, 0.99, 0.1, 0.9), settled=9)
    assert counts == [BATCH, BATCH // 2, WORKERS, WORKERS, WORKERS]


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
