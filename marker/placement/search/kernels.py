"""The inner loops: how badly one item would overlap at a position, and moving it there.

All state is in arrays owned by the caller; random numbers come from a state array, so that a run
is repeatable and several threads can work side by side without the interpreter lock.
"""

from __future__ import annotations

import numpy as np

from marker.geometry.kernels import kernel
from marker.placement.search.state import RandomState, State
from marker.placement.tables.nofit import BOUNDARY, OUTSIDE, NoFitTable


@kernel(inline=True)
def uniform(rng: RandomState) -> float:
    """Next random number in [0, 1): xorshift64* (Vigna 2016)."""
    s = rng[0]
    s ^= s >> np.uint64(12)
    s ^= s << np.uint64(25)
    s ^= s >> np.uint64(27)
    rng[0] = s
    return float((s * np.uint64(2685821657736338717)) >> np.uint64(11)) / 9007199254740992.0


@kernel(inline=True)
def pair_severity(table: NoFitTable, a: int, b: int, dx: float, dy: float) -> float:
    """Severity of shape b lying at (dx, dy) from shape a; 0.0 exactly when they do not overlap.

    Their bounding boxes must overlap. Reads scalars, never rows of arrays: numba counts
    references to a row, which costs more than the whole look-up.
    """
    if a > b:
        dx, dy = -dx, -dy
    p = table.pair[a, b]
    gx = (dx - table.grid[p, 0]) * table.grid[p, 2]
    gy = (dy - table.grid[p, 1]) * table.grid[p, 2]
    column, row = int(gx), int(gy)
    nx = int(table.grid[p, 3])
    node = int(table.grid[p, 4]) + row * nx + column
    kind = table.kind[node]
    if kind == OUTSIDE:
        return 0.0
    if kind == BOUNDARY:
        inside = False
        r = int(table.grid[p, 5]) + row
        for k in range(table.row_edges[r], table.row_edges[r + 1]):
            low = table.edge[k, 0]
            if low <= dy < table.edge[k, 1]:
                inside ^= dx < table.edge[k, 2] + (dy - low) * table.edge[k, 3]
        if not inside:
            return 0.0
    gx -= column
    gy -= row
    lower = table.value[node] * (1.0 - gx) + table.value[node + 1] * gx
    upper = table.value[node + nx] * (1.0 - gx) + table.value[node + nx + 1] * gx
    return float(lower * (1.0 - gy) + upper * gy)


@kernel()
def weighted_severity(
    table: NoFitTable, state: State, item: int, shape: int, x: float, y: float, limit: float
) -> float:
    """Sum of weighted severities of `item` in `shape` at (x, y) against all others, obstacles too.

    Stops early, with any value above it, once the sum passes `limit`.
    """
    total = 0.0
    along, across = table.extent[shape, 0], table.extent[shape, 1]
    everywhere = len(state.head) - 1
    last = min(int((x + along) / state.bin_mm), everywhere - 1)
    end = last + (2 if state.movable < len(state.x) else 1)
    for b in range(max(int((x - state.widest) / state.bin_mm), 0), end):
        other = state.head[b if b <= last else everywhere]
        while other >= 0:
            dx, dy = state.x[other] - x, state.y[other] - y
            if (
                -state.along[other] < dx < along
                and -state.across[other] < dy < across
                and other != item
            ):
                severity = pair_severity(table, shape, state.shape[other], dx, dy)
                total += state.weight[item, other] * severity
                if total > limit:
                    return float(total)
            other = state.following[other]
    return float(total)


@kernel()
def refresh(table: NoFitTable, state: State) -> float:
    """Recompute index and pair severities; returns their sum, each pair counted once."""
    state.head[:] = -1
    state.severity[:] = 0.0
    for entry in range(len(state.x)):
        _link(state, entry)
    for item in range(state.movable):
        _fill_severities(table, state, item)
    total = 0.0
    for item in range(state.movable):
        for other in range(item + 1, len(state.x)):
            total += state.severity[item, other]
    return total


@kernel()
def place(
    table: NoFitTable, state: State, item: int, choice: int, shape: int, x: float, y: float
) -> None:
    """Move one item, in this orientation, to (x, y)."""
    before = state.previous[item]
    after = state.following[item]
    if before >= 0:
        state.following[before] = after
    else:
        state.head[state.bin[item]] = after
    if after >= 0:
        state.previous[after] = before
    state.x[item], state.y[item] = x, y
    state.choice[item], state.shape[item] = choice, shape
    state.along[item], state.across[item] = table.extent[shape, 0], table.extent[shape, 1]
    _link(state, item)
    for other in range(len(state.x)):
        state.severity[item, other] = state.severity[other, item] = 0.0
    _fill_severities(table, state, item)


@kernel()
def _link(state: State, item: int) -> None:
    """Enter into its bin an item, into the one that every look-up visits an obstacle."""
    b = len(state.head) - 1
    if item < state.movable:
        b = min(int(state.x[item] / state.bin_mm), b - 1)
    state.bin[item] = b
    first = state.head[b]
    state.previous[item], state.following[item] = -1, first
    if first >= 0:
        state.previous[first] = item
    state.head[b] = item


@kernel()
def _fill_severities(table: NoFitTable, state: State, item: int) -> None:
    """Severities of one item against all others, into its row and column."""
    x, y = state.x[item], state.y[item]
    shape = state.shape[item]
    for other in range(len(state.x)):
        dx, dy = state.x[other] - x, state.y[other] - y
        if (
            -state.along[other] < dx < state.along[item]
            and -state.across[other] < dy < state.across[item]
            and other != item
        ):
            severity = pair_severity(table, shape, state.shape[other], dx, dy)
            state.severity[item, other] = state.severity[other, item] = severity


@kernel(inline=True)
def seat(value: float, low: float, high: float, step: float) -> float:
    """The nearest of the positions of a `room.Span` that is not empty."""
    value = min(max(value, low), high)
    if step > 0.0:
        value = low + step * np.floor((value - low) / step + 0.5)
    return value
