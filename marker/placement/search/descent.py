"""Coordinate descent: one item from a position to a better one near it.

A descent looks many times at much the same place. What the item could meet there is gathered once,
the heaviest first: the first of them alone refuse most steps.
"""

from __future__ import annotations

from marker.geometry.kernels import kernel
from marker.geometry.random_numbers import uniform
from marker.placement.search.overlaps import pair_penalty, seat
from marker.placement.search.state import Effort, State
from marker.placement.tables.overlap_grids import OverlapGrids


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
