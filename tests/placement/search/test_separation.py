"""Kernels against slow twins: shapely says whether two lap, plain sums say how badly."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon

from marker.geometry.arrays import FloatArray
from marker.placement.problem.statement import PlacementProblem
from marker.placement.search.descent import descend
from marker.placement.search.overlaps import pair_penalty, place, refresh, weighted_penalty
from marker.placement.search.state import SeparationParams, State, arrangement_of, choices, state_of
from marker.placement.tables.overlap_grids import OverlapGrids
from tests.placement.arrangements import cast_problem, grids_of, lap, scattered
from tests.shapes import CAST

WIDTH, LENGTH = 700.0, 900.0
NAMES = sorted(CAST)
EFFORT = SeparationParams().effort


@pytest.fixture(scope="module")
def cast() -> tuple[PlacementProblem, OverlapGrids]:
    given = cast_problem(NAMES, WIDTH)
    return given, grids_of(given)


@pytest.fixture
def crowd(cast: tuple[PlacementProblem, OverlapGrids]) -> State:
    """The cast thrown together, with weights of its own for every pair."""
    rng = np.random.default_rng(5)
    state = state_of(cast[0], scattered(cast[0], LENGTH, rng), LENGTH, 5)
    count = len(state.x)
    extra = rng.uniform(0, 2, (count, count))
    state.extra[:] = extra + extra.T
    refresh(cast[1], state)
    return state


def test_severity_is_zero_exactly_without_overlap(
    cast: tuple[PlacementProblem, OverlapGrids],
) -> None:
    given, table = cast
    rng = np.random.default_rng(4)
    lapped = [0, 0]
    for a, b in product(range(len(given.shapes)), repeat=2):
        fixed, moving = Polygon(given.shapes[a]), Polygon(given.shapes[b])
        for dx, dy in rng.uniform(
            -given.shapes[b].max(axis=0), given.shapes[a].max(axis=0), (6, 2)
        ):
            penalty = pair_penalty(table, a, b, dx, dy)
            laid = affinity.translate(moving, dx, dy)
            if lap(fixed, laid):
                assert penalty > 0, (a, b, dx, dy)
                lapped[1] += 1
            elif not fixed.intersects(laid):
                assert penalty == 0, (a, b, dx, dy)
                lapped[0] += 1
    assert min(lapped) > 300


def test_severity_of_a_pair_is_the_same_seen_from_either(
    cast: tuple[PlacementProblem, OverlapGrids],
) -> None:
    given, table = cast
    for a, b in product(range(len(given.shapes)), repeat=2):
        if a != b:
            for dx, dy in ((3.0, 4.0), (-2.0, 1.0)):
                assert pair_penalty(table, a, b, dx, dy) == pair_penalty(table, b, a, -dx, -dy)


def test_a_deeper_lap_of_two_squares_is_worse(cast: tuple[PlacementProblem, OverlapGrids]) -> None:
    given, table = cast
    square = given.items[NAMES.index("square")].orientations[0].shape
    found = [pair_penalty(table, square, square, dx, 3.0) for dx in (190, 150, 100, 60, 20)]
    assert found == sorted(found)
    assert len(set(found)) == len(found)


def _severity(given: PlacementProblem, table: OverlapGrids, state: State, i: int, j: int) -> float:
    """Slow twin: the pair's penalty where their boxes lap."""
    size = np.array([given.extent(state.shape[k]) for k in (i, j)])
    d = np.array([state.x[j] - state.x[i], state.y[j] - state.y[i]])
    if (d >= size[0]).any() or (d <= -size[1]).any():
        return 0.0
    return float(pair_penalty(table, state.shape[i], state.shape[j], *d))


def _expected(given: PlacementProblem, table: OverlapGrids, state: State) -> FloatArray:
    count = len(state.x)
    return np.array(
        [
            [_severity(given, table, state, i, j) if i != j else 0.0 for j in range(count)]
            for i in range(count)
        ]
    )


def test_weighted_penalty_is_the_weighted_sum(
    cast: tuple[PlacementProblem, OverlapGrids], crowd: State
) -> None:
    given, table = cast
    expected = (_expected(given, table, crowd) * (1.0 + crowd.extra)).sum(axis=1)
    assert expected.min() >= 0
    assert expected.max() > 0
    for item, total in enumerate(expected):
        who, at = (item, crowd.shape[item]), (crowd.x[item], crowd.y[item])
        assert weighted_penalty(table, crowd, who, at, np.inf, False) == pytest.approx(total)
        if total > 0:
            assert weighted_penalty(table, crowd, who, at, total / 2, False) > total / 2


def test_refresh_and_place_keep_all_penalties(
    cast: tuple[PlacementProblem, OverlapGrids], crowd: State
) -> None:
    given, table = cast
    assert crowd.penalty == pytest.approx(_expected(given, table, crowd))
    assert refresh(table, crowd) == pytest.approx(crowd.penalty.sum() / 2)
    rng = np.random.default_rng(6)
    orientations = choices(given)
    for _ in range(60):
        item = int(rng.integers(len(crowd.x)))
        choice = int(rng.integers(orientations.start[item + 1] - orientations.start[item]))
        shape = int(orientations.shape[orientations.start[item] + choice])
        x, y = (float(v) for v in rng.uniform(0, 400, 2))
        place(table, crowd, item, choice, shape, x, y)
        assert (crowd.x[item], crowd.y[item], crowd.shape[item]) == (x, y, shape)
    assert crowd.penalty == pytest.approx(_expected(given, table, crowd))
    # the index along the strip still finds everybody
    expected = (_expected(given, table, crowd) * (1.0 + crowd.extra)).sum(axis=1)
    for item, total in enumerate(expected):
        who, at = (item, crowd.shape[item]), (crowd.x[item], crowd.y[item])
        assert weighted_penalty(table, crowd, who, at, np.inf, False) == pytest.approx(total)


def test_descent_never_worsens_and_stays_inside(
    cast: tuple[PlacementProblem, OverlapGrids], crowd: State
) -> None:
    given, table = cast
    gains = 0
    orientations = choices(given)
    for item in range(len(crowd.x)):
        orientation = int(orientations.start[item] + crowd.choice[item])
        shape, x, y = int(crowd.shape[item]), crowd.x[item], crowd.y[item]
        start = weighted_penalty(table, crowd, (item, shape), (x, y), np.inf, False)
        new_x, new_y, left = descend(
            table, crowd, EFFORT, (item, orientation, shape), (x, y), (30.0, 0.01, np.inf)
        )
        along, across = given.extent(shape)
        assert 0 <= new_x <= LENGTH - along
        assert 0 <= new_y <= WIDTH - across
        there = weighted_penalty(table, crowd, (item, shape), (new_x, new_y), np.inf, False)
        assert left == pytest.approx(there)
        assert (new_x, new_y) == (x, y) or there < start
        gains += there < start
    assert gains > 3


def test_a_descent_far_behind_the_bar_is_given_up(
    cast: tuple[PlacementProblem, OverlapGrids], crowd: State
) -> None:
    _, table = cast
    orientations = choices(cast[0])
    item = int(crowd.penalty.max(axis=1).argmax())
    orientation = int(orientations.start[item] + crowd.choice[item])
    shape, x, y = int(crowd.shape[item]), crowd.x[item], crowd.y[item]
    start = weighted_penalty(table, crowd, (item, shape), (x, y), np.inf, False)

    def left(bar: float) -> float:
        crowd.rng[0] = np.uint64(7)
        return float(
            descend(table, crowd, EFFORT, (item, orientation, shape), (x, y), (30.0, 0.01, bar))[2]
        )

    assert left(start / (1.1 + EFFORT.hope)) == pytest.approx(start)
    assert left(start) < start
    assert left(np.inf) <= left(start)


def test_a_state_holds_the_arrangement_it_was_made_from(
    cast: tuple[PlacementProblem, OverlapGrids],
) -> None:
    thrown = scattered(cast[0], LENGTH, np.random.default_rng(7))
    assert arrangement_of(state_of(cast[0], thrown, LENGTH, 0)) == thrown
