"""Separation: make an arrangement with overlaps free of them within a fixed length.

Guided local search: each move (`moves.py`) takes an overlapping item to a better place, with every
pair's overlap weighted. Pairs that stay in conflict grow heavier round by round, the others fade
(Umetani et al. 2009; weights as in Gardeyn, Vanden Berghe & Wauters 2025).
"""

from __future__ import annotations

import numpy as np

from marker.geometry.kernels import kernel
from marker.geometry.random_numbers import uniform
from marker.placement.search.moves import improve
from marker.placement.search.overlaps import refresh, total_penalty
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
