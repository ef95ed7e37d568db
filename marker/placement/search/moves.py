"""Moves of separation: one overlapping item goes to a better place.

Positions in which it touches another item are drawn at random, besides some near where it lies: a
layout has no use for a piece that touches nothing. The best go on by descent. An item that no
position suits better changes places with one of like size, each near where the other lay (compare
the exchanges of Umetani & Murakami 2022, from memory).
"""

from __future__ import annotations

import numpy as np

from marker.geometry.kernels import kernel
from marker.geometry.random_numbers import uniform
from marker.placement.search.descent import descend
from marker.placement.search.overlaps import place, seat, weighted_penalty
from marker.placement.search.state import Choices, Effort, State
from marker.placement.tables.overlap_grids import OverlapGrids

_DRAWS = 3  # of a position that touches: now and then one finds no edge
_AWAY = -1e9  # mm, where an item meets no other


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
    are refined as well, each while it keeps up with the best, and the winner finely. An item that
    finds nothing better tries to change places with another.
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
    else:
        _exchange(grids, choices, state, effort, item, here)


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
        if state.feasible[orientation, 1] < state.feasible[orientation, 0]:
            continue
        if sample < effort.samples:
            x, y = touching(grids, state, item, shape)
        else:
            along, across = grids.extent[shape, 0], grids.extent[shape, 1]
            repeat_x, repeat_y = state.feasible[orientation, 2], state.feasible[orientation, 5]
            x = state.x[item] + (uniform(state.rng) - 0.5) * (along + 2 * repeat_x)
            y = state.y[item] + (uniform(state.rng) - 0.5) * (across + 2 * repeat_y)
        x, y = _seated(state, orientation, x, y)
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


@kernel()
def touching(grids: OverlapGrids, state: State, item: int, shape: int) -> tuple[float, float]:
    """A random position in which the item touches a random other one; where it lies if none came.

    It lies on the no-fit polygon of the two, where an edge crosses a random height.
    """
    size = grids.extent[shape, 0], grids.extent[shape, 1]
    for _ in range(_DRAWS):
        other = int(uniform(state.rng) * len(state.x))
        if other == item:
            continue
        its = state.shape[other]
        turned = grids.look[shape, its, 4] != 0.0
        high = size[0] if turned else size[1]
        low = -(state.along[other] if turned else state.across[other])
        v = low + uniform(state.rng) * (high - low)
        gy = grids.look[shape, its, 2] * v + grids.look[shape, its, 3]
        row = int(grids.look[shape, its, 7]) + int(gy)
        first, last = grids.row_edges[row], grids.row_edges[row + 1]
        if first == last:
            continue
        k = first + int(uniform(state.rng) * (last - first))
        if grids.edge[k, 0] <= gy <= grids.edge[k, 1]:
            gx = grids.edge[k, 2] + (gy - grids.edge[k, 0]) * grids.edge[k, 3]
            u = (gx - grids.look[shape, its, 1]) / grids.look[shape, its, 0]
            dx, dy = (v, u) if turned else (u, v)
            return state.x[other] - dx, state.y[other] - dy
    return state.x[item], state.y[item]


@kernel(inline=True)
def _seated(state: State, orientation: int, x: float, y: float) -> tuple[float, float]:
    """The nearest feasible position of an orientation that has one."""
    feasible = state.feasible
    return (
        seat(x, feasible[orientation, 0], feasible[orientation, 1], feasible[orientation, 2]),
        seat(y, feasible[orientation, 3], feasible[orientation, 4], feasible[orientation, 5]),
    )


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
def _exchange(
    grids: OverlapGrids,
    choices: Choices,
    state: State,
    effort: Effort,
    item: int,
    here: float,
) -> None:
    """Have an item change places with one of like size, where both together lie better then.

    here : its weighted penalty where it lies.
    """
    other = _partner(grids, choices, state, effort, item)
    if other < 0:
        return
    x, y, choice, shape = state.x[item], state.y[item], state.choice[item], state.shape[item]
    its_x, its_y = state.x[other], state.y[other]
    its_choice, its_shape = state.choice[other], state.shape[other]
    there = weighted_penalty(grids, state, (other, its_shape), (its_x, its_y), np.inf, False)
    both = (1.0 + state.extra[item, other]) * state.penalty[item, other]  # in here and in there
    before = here + there - both
    own = x + state.along[item] / 2, y + state.across[item] / 2
    its = its_x + state.along[other] / 2, its_y + state.across[other] / 2
    place(grids, state, other, its_choice, its_shape, _AWAY, its_y)
    after = _settled(grids, choices, state, effort, item, its)
    if after < before:
        after += _settled(grids, choices, state, effort, other, own)
    if after >= before:
        place(grids, state, item, choice, shape, x, y)
        place(grids, state, other, its_choice, its_shape, its_x, its_y)


@kernel()
def _partner(grids: OverlapGrids, choices: Choices, state: State, effort: Effort, item: int) -> int:
    """Of some random items, one of another outline whose box is most like; -1 if none is alike."""
    shape = choices.shape[choices.start[item]]
    along, across = grids.extent[shape, 0], grids.extent[shape, 1]
    found, least = -1, effort.unlike
    for _ in range(effort.partners):
        other = int(uniform(state.rng) * state.movable)
        its = choices.shape[choices.start[other]]
        if its != shape:
            its_along, its_across = grids.extent[its, 0], grids.extent[its, 1]
            unlike = max(along, its_along) / min(along, its_along)
            unlike *= max(across, its_across) / min(across, its_across)
            if unlike < least:
                found, least = other, unlike
    return found


@kernel()
def _settled(
    grids: OverlapGrids,
    choices: Choices,
    state: State,
    effort: Effort,
    item: int,
    middle: tuple[float, float],
) -> float:
    """Place an item near where its middle is to be, in its best orientation; returns its weighted
    penalty there."""
    first, group = choices.start[item], choices.group[item]
    least, best, best_x, best_y = np.inf, -1, 0.0, 0.0
    for orientation in range(first, choices.start[item + 1]):
        if group >= 0 and choices.direction[orientation] != state.group_direction[group]:
            continue
        if state.feasible[orientation, 1] < state.feasible[orientation, 0]:
            continue
        shape = choices.shape[orientation]
        along, across = grids.extent[shape, 0], grids.extent[shape, 1]
        size = min(along, across)
        x, y, penalty = descend(
            grids, state, effort, (item, orientation, shape),
            _seated(state, orientation, middle[0] - along / 2, middle[1] - across / 2),
            (effort.coarse * size, effort.fine * size, least),
        )  # fmt: skip
        if penalty < least:
            least, best, best_x, best_y = penalty, orientation, x, y
    if best >= 0:
        place(grids, state, item, best - first, choices.shape[best], best_x, best_y)
    return least
