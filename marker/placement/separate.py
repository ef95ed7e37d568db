"""Separation: make an arrangement with overlaps free of them within a fixed length.

Guided local search over one-piece moves: each move takes an overlapping item to the best position
found by sampling and descent, with every pair's overlap weighted; pairs that stay in conflict
grow heavier round by round, the others fade (Umetani et al. 2009; weights as in Gardeyn, Vanden
Berghe & Wauters 2025).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numba import njit

from marker.geometry.arrays import FloatArray, IntArray
from marker.placement.kernels import (
    RandomState,
    descend,
    pair_severity,
    uniform,
    weighted_severity,
)
from marker.placement.nofit import NoFitTable
from marker.placement.problem import Arrangement, PlacementProblem, Position


class Choices(NamedTuple):
    """Orientations of all items, flat.

    start : (n + 1,) item i owns entries start[i] to start[i + 1] of `shape` and `direction`.
    group : (n,) group of each item, or -1.
    """

    start: IntArray
    shape: IntArray
    direction: IntArray
    group: IntArray


class State(NamedTuple):
    """One worker's arrangement under repair, arrays over n items.

    x, y : positions, mm. choice : which of its own orientations an item has. shape : its shape.
    weight : (n, n) pair weights, at least 1. severity : (n, n) unweighted pair severities.
    group_direction : direction of each group. rng : random state.
    """

    x: FloatArray
    y: FloatArray
    choice: IntArray
    shape: IntArray
    weight: FloatArray
    severity: FloatArray
    group_direction: IntArray
    rng: RandomState


@dataclass(frozen=True)
class Effort:
    """How hard separation tries.

    samples : random positions tried over the whole strip each move; near : tried near the item.
    patience : rounds without a better arrangement before going back to the best one.
    """

    samples: int = 24
    near: int = 8
    patience: int = 100


def choices(problem: PlacementProblem) -> Choices:
    """The flat orientation lists of a problem."""
    counts = [len(item.orientations) for item in problem.items]
    every = [way for item in problem.items for way in item.orientations]
    return Choices(
        start=np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        shape=np.array([way.shape for way in every], dtype=np.int64),
        direction=np.array([way.direction for way in every], dtype=np.int64),
        group=np.array([item.group for item in problem.items], dtype=np.int64),
    )


def state_of(problem: PlacementProblem, arrangement: Arrangement, seed: int) -> State:
    """A fresh state at `arrangement`, weights 1; severities are computed by `refresh`."""
    count = len(problem.items)
    groups = max((item.group for item in problem.items), default=-1) + 1
    ways = [
        item.orientations[position.orientation]
        for item, position in zip(problem.items, arrangement, strict=True)
    ]
    direction = np.zeros(max(groups, 1), dtype=np.int64)
    for item, way in zip(problem.items, ways, strict=True):
        if item.group >= 0:
            direction[item.group] = way.direction
    return State(
        x=np.array([position.x for position in arrangement]),
        y=np.array([position.y for position in arrangement]),
        choice=np.array([position.orientation for position in arrangement], dtype=np.int64),
        shape=np.array([way.shape for way in ways], dtype=np.int64),
        weight=np.ones((count, count)),
        severity=np.zeros((count, count)),
        group_direction=direction,
        rng=np.random.SeedSequence(seed).generate_state(1, np.uint64) | np.uint64(1),
    )


def arrangement_of(state: State) -> Arrangement:
    """The arrangement that a state holds."""
    return tuple(
        Position(float(x), float(y), int(choice))
        for x, y, choice in zip(state.x, state.y, state.choice, strict=True)
    )


@njit(cache=True, nogil=True)
def refresh(table: NoFitTable, state: State) -> float:
    """Recompute all pair severities; returns their sum, each pair counted once."""
    count = len(state.x)
    total = 0.0
    for i in range(count):
        state.severity[i, i] = 0.0
        for j in range(i):
            severity = pair_severity(
                table,
                state.shape[i],
                state.shape[j],
                state.x[j] - state.x[i],
                state.y[j] - state.y[i],
            )
            state.severity[i, j] = state.severity[j, i] = severity
            total += severity
    return total


@njit(cache=True, nogil=True)
def _place(
    table: NoFitTable, state: State, item: int, choice: int, shape: int, x: float, y: float
) -> None:
    state.x[item], state.y[item] = x, y
    state.choice[item], state.shape[item] = choice, shape
    for other in range(len(state.x)):
        if other != item:
            severity = pair_severity(
                table, shape, state.shape[other], state.x[other] - x, state.y[other] - y
            )
            state.severity[item, other] = state.severity[other, item] = severity


KEPT = 3


@njit(cache=True, nogil=True)
def _improve(
    table: NoFitTable,
    choice_list: Choices,
    state: State,
    item: int,
    length: float,
    width: float,
    samples: int,
    near: int,
) -> None:
    """Move one item to the best position found: samples over the strip and near by, the best
    few of them and the present position refined by descent, first roughly, the winner finely."""
    x, y, shapes, weight, rng = state.x, state.y, state.shape, state.weight, state.rng
    first, last = choice_list.start[item], choice_list.start[item + 1]
    group = choice_list.group[item]
    here = 0.0
    for other in range(len(x)):
        here += weight[item, other] * state.severity[item, other]
    # the present position is entry 0, the best samples follow in order
    value = np.full(KEPT + 1, np.inf)
    at = np.zeros((KEPT + 1, 3))
    value[0] = here
    at[0, 0], at[0, 1], at[0, 2] = x[item], y[item], state.choice[item] + first
    for sample in range(samples + near):
        way = first + int(uniform(rng) * (last - first))
        if group >= 0 and choice_list.direction[way] != state.group_direction[group]:
            continue
        shape = choice_list.shape[way]
        high_x = length - table.extent[shape, 0]
        high_y = max(width - table.extent[shape, 1], 0.0)
        if sample < samples:
            new_x, new_y = uniform(rng) * high_x, uniform(rng) * high_y
        else:
            new_x = x[item] + (uniform(rng) - 0.5) * table.extent[shape, 0]
            new_y = y[item] + (uniform(rng) - 0.5) * table.extent[shape, 1]
            new_x, new_y = min(max(new_x, 0.0), high_x), min(max(new_y, 0.0), high_y)
        severity = weighted_severity(
            table, item, shape, new_x, new_y, x, y, shapes, weight, value[KEPT]
        )
        slot = KEPT
        if severity >= value[slot]:
            continue
        while slot > 1 and severity < value[slot - 1]:
            value[slot] = value[slot - 1]
            at[slot] = at[slot - 1]
            slot -= 1
        value[slot] = severity
        at[slot, 0], at[slot, 1], at[slot, 2] = new_x, new_y, way
    best = 0
    for k in range(KEPT + 1):
        if value[k] == np.inf:
            continue
        shape = choice_list.shape[int(at[k, 2])]
        size = min(table.extent[shape, 0], table.extent[shape, 1])
        at[k, 0], at[k, 1], value[k] = descend(
            table, item, shape, at[k, 0], at[k, 1], value[k], x, y, shapes, weight,
            length, width, 0.25 * size, 0.01 * size, rng,
        )  # fmt: skip
        if value[k] < value[best]:
            best = k
    way = int(at[best, 2])
    shape = choice_list.shape[way]
    size = min(table.extent[shape, 0], table.extent[shape, 1])
    new_x, new_y, severity = descend(
        table, item, shape, at[best, 0], at[best, 1], value[best], x, y, shapes, weight,
        length, width, 0.01 * size, 0.0001 * size, rng,
    )  # fmt: skip
    if severity < here:
        _place(table, state, item, way - first, shape, new_x, new_y)


@njit(cache=True, nogil=True)
def _reweigh(state: State) -> None:
    """Pairs in conflict grow by 1.2 to 2.0 with their severity, the others fade towards 1."""
    severity, weight = state.severity, state.weight
    worst = severity.max()
    for i in range(len(state.x)):
        for j in range(i):
            if severity[i, j] > 0.0:
                weight[i, j] *= 1.2 + 0.8 * severity[i, j] / worst
            else:
                weight[i, j] = max(1.0, weight[i, j] * 0.95)
            weight[j, i] = weight[i, j]


@njit(cache=True, nogil=True)
def separate(
    table: NoFitTable,
    choice_list: Choices,
    state: State,
    length: float,
    width: float,
    rounds: int,
    patience: int,
    samples: int,
    near: int,
) -> tuple[float, int]:
    """Repair `state` in place within length × width; (severity left, rounds used).

    Ends as soon as nothing overlaps, after `rounds`, or after `patience` rounds without a better
    arrangement; then `state` holds the best arrangement met, weights as they have become.
    """
    count = len(state.x)
    best = refresh(table, state)
    best_x, best_y = state.x.copy(), state.y.copy()
    best_choice, best_shape = state.choice.copy(), state.shape.copy()
    order = np.arange(count)
    stale = 0
    used = 0
    while used < rounds and stale < patience and best > 0.0:
        used += 1
        for k in range(count - 1, 0, -1):
            other = int(uniform(state.rng) * (k + 1))
            order[k], order[other] = order[other], order[k]
        for k in range(count):
            item = int(order[k])
            if state.severity[item].max() > 0.0:
                _improve(table, choice_list, state, item, length, width, samples, near)
        total = state.severity.sum() / 2
        stale = stale + 1 if total > 0.98 * best else 0
        if total < best:
            best = total
            best_x[:], best_y[:] = state.x, state.y
            best_choice[:], best_shape[:] = state.choice, state.shape
        if total > 0.0:
            _reweigh(state)
    state.x[:], state.y[:] = best_x, best_y
    state.choice[:], state.shape[:] = best_choice, best_shape
    refresh(table, state)
    return best, used
