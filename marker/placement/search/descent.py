"""Coordinate descent of one item, from a position to the best one near it.

A descent looks many times at much the same place. What the item could meet there is gathered once,
the heaviest first: the first of them alone refuse most steps.
"""

from __future__ import annotations

from marker.geometry.kernels import kernel
from marker.placement.search.kernels import pair_severity, seat, uniform
from marker.placement.search.state import State
from marker.placement.tables.nofit import NoFitTable

REACH = 2.0
"""First steps that a descent may go before what is near is gathered anew."""

HOPE = 4.0
"""A descent with all its steps still to come may be worse than what it must beat by this many
times that; the less its steps have become, the less."""


@kernel()
def descend(
    table: NoFitTable,
    state: State,
    item: int,
    way: int,
    shape: int,
    x: float,
    y: float,
    start: float,
    step: float,
    last_step: float,
    bar: float,
) -> tuple[float, float, float]:
    """Coordinate descent with adapting steps from (x, y), where the severity is `start`.

    Along a random axis or diagonal both ways are tried; a gain lengthens the step, a failure
    shortens it until it falls below `last_step`. On a tied axis a step is a whole repeat or more.
    Positions stay in the room of orientation `way`. Given up where it will hardly come below
    `bar`, inf for never. Returns (x, y, severity).
    """
    low_x, high_x, repeat_x = state.room[way, 0], state.room[way, 1], state.room[way, 2]
    low_y, high_y, repeat_y = state.room[way, 3], state.room[way, 4], state.room[way, 5]
    best = start
    hope = HOPE / step
    reach = REACH * step
    middle_x, middle_y = x, y
    count = _gather(table, state, item, shape, x, y, reach)
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
                count = _gather(table, state, item, shape, new_x, new_y, reach)
            severity = _severity_nearby(table, state, item, shape, new_x, new_y, count, best)
            if severity < best:
                best, x, y, gained = severity, new_x, new_y, True
                break
        step *= 1.1 if gained else 0.5
    return x, y, best


@kernel()
def _gather(
    table: NoFitTable, state: State, item: int, shape: int, x: float, y: float, reach: float
) -> int:
    """Into `state.nearby` all that the item could meet up to `reach` along and across from (x, y),
    what weighs most at (x, y) first; returns how many."""
    count = 0
    along, across = table.extent[shape, 0], table.extent[shape, 1]
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
                    severity = pair_severity(table, shape, state.shape[other], dx, dy)
                    weight = state.weight[item, other] * severity
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
def _severity_nearby(
    table: NoFitTable,
    state: State,
    item: int,
    shape: int,
    x: float,
    y: float,
    count: int,
    limit: float,
) -> float:
    """Sum of weighted severities of the item at (x, y) against the first `count` of `state.nearby`.

    Stops early, with any value not below it, once the sum reaches `limit`.
    """
    total = 0.0
    along, across = table.extent[shape, 0], table.extent[shape, 1]
    for k in range(count):
        other = state.nearby[k]
        dx, dy = state.x[other] - x, state.y[other] - y
        if -state.along[other] < dx < along and -state.across[other] < dy < across:
            severity = pair_severity(table, shape, state.shape[other], dx, dy)
            total += state.weight[item, other] * severity
            if total >= limit:
                break
    return float(total)
