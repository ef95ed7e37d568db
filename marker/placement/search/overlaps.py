"""The overlaps in an arrangement under repair: how badly one item would overlap at a position, and
moving it there.

All state is in arrays owned by the caller.
"""

from __future__ import annotations

import numpy as np

from marker.geometry.kernels import kernel
from marker.placement.search.state import State
from marker.placement.tables.overlap_grids import BOUNDARY, OUTSIDE, OverlapGrids


@kernel(inline=True)
def pair_penalty(grids: OverlapGrids, a: int, b: int, dx: float, dy: float) -> float:
    """Penalty of shape b lying at (dx, dy) from shape a; 0.0 exactly when they do not overlap.

    Their bounding boxes must overlap. Reads scalars, never rows of arrays: numba counts
    references to a row, which costs more than the whole look-up.
    """
    if grids.look[a, b, 4] != 0.0:
        dx, dy = dy, dx
    gx = grids.look[a, b, 0] * dx + grids.look[a, b, 1]
    gy = grids.look[a, b, 2] * dy + grids.look[a, b, 3]
    column, row = int(gx), int(gy)
    nx = int(grids.look[a, b, 5])
    # unsigned, so that numba asks of no index whether it counts from the end
    node = np.uint64(int(grids.look[a, b, 6]) + row * nx + column)
    above, beside = node + np.uint64(nx), np.uint64(1)
    kind = grids.kind[node]
    if kind == OUTSIDE:
        return 0.0
    if kind == BOUNDARY:
        inside = False
        r = int(grids.look[a, b, 7]) + row
        for k in range(grids.row_edges[r], grids.row_edges[r + 1]):
            low = grids.edge[k, 0]
            if low <= gy < grids.edge[k, 1]:
                inside ^= gx < grids.edge[k, 2] + (gy - low) * grids.edge[k, 3]
        if not inside:
            return 0.0
    gx -= column
    gy -= row
    lower = grids.value[node] * (1.0 - gx) + grids.value[node + beside] * gx
    upper = grids.value[above] * (1.0 - gx) + grids.value[above + beside] * gx
    return float(lower * (1.0 - gy) + upper * gy)


@kernel(inline=True)
def rough_penalty(grids: OverlapGrids, a: int, b: int, dx: float, dy: float) -> float:
    """About the same, of the nearest node alone: more than nothing even where they do not overlap.

    Their bounding boxes must overlap. It takes a fifth of the time.
    """
    if grids.look[a, b, 4] != 0.0:
        dx, dy = dy, dx
    column = int(grids.look[a, b, 0] * dx + grids.look[a, b, 1] + 0.5)
    row = int(grids.look[a, b, 2] * dy + grids.look[a, b, 3] + 0.5)
    node = np.uint64(int(grids.look[a, b, 6]) + row * int(grids.look[a, b, 5]) + column)
    return float(grids.value[node])


@kernel()
def weighted_penalty(
    grids: OverlapGrids,
    state: State,
    who: tuple[int, int],
    at: tuple[float, float],
    limit: float,
    rough: bool,
) -> float:
    """Sum of weighted penalties of an item against all others, obstacles too.

    who : item and shape. at : x and y. rough : by the nearest nodes, see `rough_penalty`.
    Stops early, with any value above it, once the sum passes `limit`.
    """
    (item, shape), (x, y) = who, at
    total = 0.0
    along, across = grids.extent[shape, 0], grids.extent[shape, 1]
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
                if rough:
                    penalty = rough_penalty(grids, shape, state.shape[other], dx, dy)
                else:
                    penalty = pair_penalty(grids, shape, state.shape[other], dx, dy)
                total += (1.0 + state.extra[item, other]) * penalty
                if total > limit:
                    return float(total)
            other = state.following[other]
    return float(total)


@kernel()
def refresh(grids: OverlapGrids, state: State) -> float:
    """Recompute index and pair penalties; returns their sum, each pair counted once."""
    for b in range(len(state.head)):
        state.head[b] = -1
    for k in range(state.counts[0]):
        _set_penalty(state, state.pairs[k, 0], state.pairs[k, 1], 0.0)
    for entry in range(len(state.x)):
        _link(state, entry)
    for item in range(state.movable):
        _meet(grids, state, item)
    return total_penalty(state)


@kernel()
def total_penalty(state: State) -> float:
    """Sum of all penalties, each pair counted once; 0.0 exactly where there is none."""
    total = 0.0
    for k in range(state.counts[0]):
        total += state.penalty[state.pairs[k, 0], state.pairs[k, 1]]
    return total


@kernel()
def place(
    grids: OverlapGrids, state: State, item: int, choice: int, shape: int, x: float, y: float
) -> None:
    """Move one item, in this orientation, to (x, y)."""
    _part(state, item)
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
    state.along[item], state.across[item] = grids.extent[shape, 0], grids.extent[shape, 1]
    _link(state, item)
    _meet(grids, state, item)


@kernel()
def _link(state: State, item: int) -> None:
    """Enter an item or obstacle into its bin, into that which every look-up visits if it is longer
    than any item."""
    b = len(state.head) - 1
    if item < state.movable or state.along[item] <= state.widest:
        b = min(max(int(state.x[item] / state.bin_mm), 0), b - 1)
    state.bin[item] = b
    first = state.head[b]
    state.previous[item], state.following[item] = -1, first
    if first >= 0:
        state.previous[first] = item
    state.head[b] = item


@kernel()
def _set_penalty(state: State, item: int, other: int, penalty: float) -> None:
    """Note the penalty of a pair."""
    change = int(penalty > 0.0) - int(state.penalty[item, other] > 0.0)
    state.laps[item] += change
    state.laps[other] += change
    state.penalty[item, other] = state.penalty[other, item] = penalty
    if penalty > 0.0 and not state.listed[item, other]:
        state.listed[item, other] = state.listed[other, item] = True
        state.pairs[state.counts[0], 0], state.pairs[state.counts[0], 1] = item, other
        state.counts[0] += 1


@kernel()
def _part(state: State, item: int) -> None:
    """Forget the penalties of an item that is about to move."""
    everywhere = len(state.head) - 1
    last = min(int((state.x[item] + state.along[item]) / state.bin_mm), everywhere - 1)
    for b in range(max(int((state.x[item] - state.widest) / state.bin_mm), 0), last + 2):
        other = state.head[b if b <= last else everywhere]
        while other >= 0 and state.laps[item] > 0:
            if state.penalty[item, other] > 0.0:
                _set_penalty(state, item, other, 0.0)
            other = state.following[other]


@kernel()
def _meet(grids: OverlapGrids, state: State, item: int) -> None:
    """Note the penalties of an item where it lies."""
    x, y, shape = state.x[item], state.y[item], state.shape[item]
    everywhere = len(state.head) - 1
    last = min(int((x + state.along[item]) / state.bin_mm), everywhere - 1)
    for b in range(max(int((x - state.widest) / state.bin_mm), 0), last + 2):
        other = state.head[b if b <= last else everywhere]
        while other >= 0:
            dx, dy = state.x[other] - x, state.y[other] - y
            if (
                -state.along[other] < dx < state.along[item]
                and -state.across[other] < dy < state.across[item]
                and other != item
            ):
                penalty = pair_penalty(grids, shape, state.shape[other], dx, dy)
                if penalty > 0.0:
                    _set_penalty(state, item, other, penalty)
            other = state.following[other]


@kernel(inline=True)
def seat(value: float, low: float, high: float, step: float) -> float:
    """The nearest of the positions of a `Span` that is not empty."""
    value = min(max(value, low), high)
    if step > 0.0:
        value = low + step * np.floor((value - low) / step + 0.5)
    return value
