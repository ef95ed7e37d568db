"""Separation: make an arrangement with overlaps free of them within a fixed length.

Guided local search over one-piece moves: each move takes an overlapping item to the best position
found by sampling and coordinate descent, with every pair's overlap weighted. Pairs that stay in
conflict grow heavier round by round, the others fade (Umetani et al. 2009; weights as in Gardeyn,
Vanden Berghe & Wauters 2025).

A descent looks many times at much the same place. What the item could meet there is gathered once,
the heaviest first: the first of them alone refuse most steps.
"""

from __future__ import annotations

import numpy as np

from marker.geometry.kernels import kernel
from marker.placement.search.overlaps import (
    pair_penalty,
    place,
    refresh,
    seat,
    total_penalty,
    uniform,
    weighted_penalty,
)
from marker.placement.search.state import Choices, Effort, State
from marker.placement.tables.overlap_grids import OverlapGrids

MOST = 1e300
"""More than any penalty, but finite."""


@kernel(allocates=True)
def separate(
    grids: OverlapGrids,
    choices: Choices,
    state: State,
    rounds: int,
    effort: Effort,
) -> float:
    """Repair `state` in place, each item staying in its room; returns the least penalty met.

    Ends as soon as nothing overlaps or after `rounds`; another call goes on from there. `state`
    counts the moves and keeps the best arrangement met, too, see `restore`.
    """
    order = np.arange(state.movable)
    if state.least[0] == np.inf:
        _keep_if_best(state, refresh(grids, state))
    for _ in range(rounds):
        if state.least[0] == 0.0:
            break
        for k in range(state.movable - 1, 0, -1):
            other = int(uniform(state.rng) * (k + 1))
            order[k], order[other] = order[other], order[k]
        for k in range(state.movable):
            item = int(order[k])
            if state.laps[item] > 0:
                improve(grids, choices, state, effort, item)
                state.counts[1] += 1
        total = total_penalty(state)
        _keep_if_best(state, total)
        if total > 0.0:
            _reweigh(state, effort)
    return float(state.least[0])


@kernel(allocates=True)
def restore(grids: OverlapGrids, choices: Choices, state: State) -> None:
    """Go to the arrangement kept as the best; weights stay as they have become.

    From then on `state` keeps the best that is met afterwards, this one not among them.
    """
    for item in range(state.movable):
        state.x[item], state.y[item] = state.best_x[item], state.best_y[item]
        state.choice[item] = state.best_choice[item]
        shape = choices.shape[choices.start[item] + state.choice[item]]
        state.shape[item] = shape
        state.along[item], state.across[item] = grids.extent[shape, 0], grids.extent[shape, 1]
    refresh(grids, state)
    state.least[0] = MOST


@kernel()
def _keep_if_best(state: State, total: float) -> None:
    if total < state.least[0]:
        state.least[0] = total
        for item in range(state.movable):
            state.best_x[item], state.best_y[item] = state.x[item], state.y[item]
            state.best_choice[item] = state.choice[item]


@kernel()
def improve(
    grids: OverlapGrids,
    choices: Choices,
    state: State,
    effort: Effort,
    item: int,
) -> None:
    """Move one item to the best position found, if that is better than where it lies.

    Its present position is refined by descent first. The best samples that could still beat that
    are refined as well, each while it keeps up with the best, and the winner finely.
    """
    x, y, shape = state.x[item], state.y[item], state.shape[item]
    here = weighted_penalty(grids, state, (item, shape), (x, y), np.inf, False)
    first = choices.start[item]
    _keep(state, 0, here, state.x[item], state.y[item], state.choice[item] + first)
    _refine(grids, choices, state, effort, (item, 0), (effort.coarse, effort.fine, np.inf))
    best = 0
    if state.value[0] > 0.0:
        _sample(grids, choices, state, effort, item)
        for k in range(1, len(state.value)):
            if state.at[k, 2] >= 0.0:
                bar = state.value[best]
                _refine(grids, choices, state, effort, (item, k), (effort.coarse, effort.fine, bar))
                if state.value[k] < state.value[best]:
                    best = k
    _refine(grids, choices, state, effort, (item, best), (effort.fine, effort.finest, np.inf))
    if state.value[best] < here:
        orientation = int(state.at[best, 2])
        x, y = state.at[best, 0], state.at[best, 1]
        place(grids, state, item, orientation - first, choices.shape[orientation], x, y)


@kernel()
def _sample(
    grids: OverlapGrids,
    choices: Choices,
    state: State,
    effort: Effort,
    item: int,
) -> None:
    """Make the best samples, in order, candidates 1 and on; samples without prospects are none.

    Their penalties are rough: most come to nothing, and a descent begins with the exact one.
    """
    limit, last_slot = effort.prospect * state.value[0], len(state.value) - 1
    for k in range(1, len(state.value)):
        _keep(state, k, limit, 0.0, 0.0, -1.0)
    first, last = choices.start[item], choices.start[item + 1]
    group = choices.group[item]
    for sample in range(effort.samples + effort.near):
        orientation = first + int(uniform(state.rng) * (last - first))
        if group >= 0 and choices.direction[orientation] != state.group_direction[group]:
            continue
        shape = choices.shape[orientation]
        low_x, high_x, repeat_x = (
            state.feasible[orientation, 0],
            state.feasible[orientation, 1],
            state.feasible[orientation, 2],
        )
        low_y, high_y, repeat_y = (
            state.feasible[orientation, 3],
            state.feasible[orientation, 4],
            state.feasible[orientation, 5],
        )
        along, across = grids.extent[shape, 0], grids.extent[shape, 1]
        if high_x < low_x:
            continue
        if sample < effort.samples:
            x = low_x - repeat_x / 2 + uniform(state.rng) * (high_x - low_x + repeat_x)
            y = low_y - repeat_y / 2 + uniform(state.rng) * (high_y - low_y + repeat_y)
        else:
            x = state.x[item] + (uniform(state.rng) - 0.5) * (along + 2 * repeat_x)
            y = state.y[item] + (uniform(state.rng) - 0.5) * (across + 2 * repeat_y)
        x, y = seat(x, low_x, high_x, repeat_x), seat(y, low_y, high_y, repeat_y)
        bar = state.value[last_slot]
        penalty = weighted_penalty(grids, state, (item, shape), (x, y), bar, True)
        slot = last_slot
        if penalty >= state.value[slot]:
            continue
        while slot > 1 and penalty < state.value[slot - 1]:
            up = slot - 1
            _keep(state, slot, state.value[up], state.at[up, 0], state.at[up, 1], state.at[up, 2])
            slot = up
        _keep(state, slot, penalty, x, y, orientation)


@kernel(inline=True)
def _keep(state: State, slot: int, value: float, x: float, y: float, orientation: float) -> None:
    state.value[slot] = value
    state.at[slot, 0], state.at[slot, 1], state.at[slot, 2] = x, y, orientation


@kernel()
def _refine(
    grids: OverlapGrids,
    choices: Choices,
    state: State,
    effort: Effort,
    candidate: tuple[int, int],
    steps: tuple[float, float, float],
) -> None:
    """Descend in place.

    candidate : item and number. steps : the first and the last, as parts of the item's smaller
    side, and the penalty below which it should come.
    """
    item, k = candidate
    orientation = int(state.at[k, 2])
    shape = choices.shape[orientation]
    size = min(grids.extent[shape, 0], grids.extent[shape, 1])
    first, last, bar = steps
    state.at[k, 0], state.at[k, 1], state.value[k] = descend(
        grids, state, effort, (item, orientation, shape),
        (state.at[k, 0], state.at[k, 1]), (first * size, last * size, bar),
    )  # fmt: skip


@kernel()
def _reweigh(state: State, effort: Effort) -> None:
    """Pairs in conflict grow heavier with their penalty, the others fade towards 1."""
    worst = 0.0
    for k in range(state.counts[0]):
        worst = max(worst, state.penalty[state.pairs[k, 0], state.pairs[k, 1]])
    k = 0
    while k < state.counts[0]:
        i, j = state.pairs[k, 0], state.pairs[k, 1]
        weight = 1.0 + state.extra[i, j]
        if state.penalty[i, j] > 0.0:
            share = state.penalty[i, j] / worst
            weight *= effort.heavier + (effort.heaviest - effort.heavier) * share
        else:
            weight = max(1.0, weight * effort.fade)
        state.extra[i, j] = state.extra[j, i] = weight - 1.0
        if weight > 1.0:
            k += 1
            continue
        state.listed[i, j] = state.listed[j, i] = False
        state.counts[0] -= 1
        last = state.counts[0]
        state.pairs[k, 0], state.pairs[k, 1] = state.pairs[last, 0], state.pairs[last, 1]


@kernel()
def descend(
    grids: OverlapGrids,
    state: State,
    effort: Effort,
    who: tuple[int, int, int],
    at: tuple[float, float],
    steps: tuple[float, float, float],
) -> tuple[float, float, float]:
    """Coordinate descent with adapting steps; returns x, y and the penalty there.

    who : item, orientation and its shape. at : where it starts, x and y.
    steps : the first and the last, mm, and the penalty below which it should come, inf for any.

    Along a random axis or diagonal both ways are tried; a gain lengthens the step, a failure
    shortens it until it falls below the last one. On a tied axis a step is a whole repeat or more.
    Positions stay feasible for the orientation. Given up where it will hardly come low enough.
    """
    item, orientation, shape = who
    x, y = at
    step, last_step, bar = steps
    low_x, high_x, repeat_x = (
        state.feasible[orientation, 0],
        state.feasible[orientation, 1],
        state.feasible[orientation, 2],
    )
    low_y, high_y, repeat_y = (
        state.feasible[orientation, 3],
        state.feasible[orientation, 4],
        state.feasible[orientation, 5],
    )
    hope = effort.hope / step
    reach = effort.reach * step
    middle_x, middle_y = x, y
    count = _gather(grids, state, item, shape, x, y, reach)
    best = 0.0
    for k in range(count):
        best += state.burden[k]
    while step > last_step and best > 0.0 and high_x >= low_x and best <= bar * (1.0 + hope * step):
        axis = int(uniform(state.rng) * 4.0)
        ux = 0.0 if axis == 1 else max(step, repeat_x)
        uy = 0.0 if axis == 0 else max(step, repeat_y)
        if axis == 3:
            uy = -uy
        gained = False
        for side in (-1.0, 1.0):
            new_x = seat(x + side * ux, low_x, high_x, repeat_x)
            new_y = seat(y + side * uy, low_y, high_y, repeat_y)
            if abs(new_x - middle_x) > reach or abs(new_y - middle_y) > reach:
                middle_x, middle_y = new_x, new_y
                count = _gather(grids, state, item, shape, new_x, new_y, reach)
            penalty = _penalty_nearby(grids, state, item, shape, new_x, new_y, count, best)
            if penalty < best:
                best, x, y, gained = penalty, new_x, new_y, True
                break
        step *= effort.lengthen if gained else effort.shorten
    return x, y, best


@kernel()
def _gather(
    grids: OverlapGrids, state: State, item: int, shape: int, x: float, y: float, reach: float
) -> int:
    """Into `state.nearby` all that the item could meet up to `reach` along and across from (x, y),
    what weighs most at (x, y) first; returns how many."""
    count = 0
    along, across = grids.extent[shape, 0], grids.extent[shape, 1]
    everywhere = len(state.head) - 1
    last = min(int((x + reach + along) / state.bin_mm), everywhere - 1)
    end = last + (2 if state.movable < len(state.x) else 1)
    for b in range(max(int((x - reach - state.widest) / state.bin_mm), 0), end):
        other = state.head[b if b <= last else everywhere]
        while other >= 0:
            dx, dy = state.x[other] - x, state.y[other] - y
            far_x = max(-state.along[other] - dx, dx - along)
            far_y = max(-state.across[other] - dy, dy - across)
            if max(far_x, far_y) < reach and other != item:
                weight = 0.0
                if max(far_x, far_y) < 0.0:
                    penalty = pair_penalty(grids, shape, state.shape[other], dx, dy)
                    weight = (1.0 + state.extra[item, other]) * penalty
                slot = count
                while slot > 0 and weight > state.burden[slot - 1]:
                    state.burden[slot] = state.burden[slot - 1]
                    state.nearby[slot] = state.nearby[slot - 1]
                    slot -= 1
                state.burden[slot], state.nearby[slot] = weight, other
                count += 1
            other = state.following[other]
    return count


@kernel()
def _penalty_nearby(
    grids: OverlapGrids,
    state: State,
    item: int,
    shape: int,
    x: float,
    y: float,
    count: int,
    limit: float,
) -> float:
    """Sum of weighted penalties of the item at (x, y) against the first `count` of `state.nearby`.

    Stops early, with any value not below it, once the sum reaches `limit`.
    """
    total = 0.0
    along, across = grids.extent[shape, 0], grids.extent[shape, 1]
    for k in range(count):
        other = state.nearby[k]
        dx, dy = state.x[other] - x, state.y[other] - y
        if -state.along[other] < dx < along and -state.across[other] < dy < across:
            penalty = pair_penalty(grids, shape, state.shape[other], dx, dy)
            total += (1.0 + state.extra[item, other]) * penalty
            if total >= limit:
                break
    return float(total)
