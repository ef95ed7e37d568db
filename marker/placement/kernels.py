"""The inner loops: how badly one item would overlap at a position, and its best new position.

All state is in arrays owned by the caller; random numbers come from a state array, so that a run
is repeatable and several threads can work side by side without the interpreter lock.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from marker.geometry.arrays import FloatArray, IntArray
from marker.placement.nofit import BOUNDARY, OUTSIDE, NoFitTable

RandomState = NDArray[np.uint64]


@njit(cache=True, nogil=True, inline="always")
def uniform(rng: RandomState) -> float:
    """Next random number in [0, 1): xorshift64* (Vigna 2016)."""
    s = rng[0]
    s ^= s >> np.uint64(12)
    s ^= s << np.uint64(25)
    s ^= s >> np.uint64(27)
    rng[0] = s
    return float((s * np.uint64(2685821657736338717)) >> np.uint64(11)) / 9007199254740992.0


@njit(cache=True, nogil=True)
def pair_severity(table: NoFitTable, a: int, b: int, dx: float, dy: float) -> float:
    """Severity of shape b lying at (dx, dy) from shape a; 0.0 exactly when they do not overlap."""
    if a > b:
        dx, dy = -dx, -dy
    p = table.pair[a, b]
    box = table.box[p]
    if dx <= box[0] or dx >= box[2] or dy <= box[1] or dy >= box[3]:
        return 0.0
    cell = table.cell[p]
    gx = (dx - table.origin[p, 0]) / cell
    gy = (dy - table.origin[p, 1]) / cell
    column, row = int(gx), int(gy)
    nx = table.nodes[p, 0]
    node = table.node_start[p] + row * nx + column
    kind = table.kind[node]
    if kind == OUTSIDE:
        return 0.0
    if kind == BOUNDARY and not _inside(table, p, row, dx, dy):
        return 0.0
    gx -= column
    gy -= row
    value = table.value
    lower = value[node] * (1.0 - gx) + value[node + 1] * gx
    upper = value[node + nx] * (1.0 - gx) + value[node + nx + 1] * gx
    return float(lower * (1.0 - gy) + upper * gy)


@njit(cache=True, nogil=True)
def _inside(table: NoFitTable, p: int, row: int, x: float, y: float) -> bool:
    """Whether (x, y) lies inside no-fit polygon p, by the edges that cross its row of cells."""
    inside = False
    r = table.row_start[p] + row
    for k in range(table.row_edges[r], table.row_edges[r + 1]):
        edge = table.edge[k]
        if edge[0] <= y < edge[1] and x < edge[2] + (y - edge[0]) * edge[3]:
            inside = not inside
    return inside


@njit(cache=True, nogil=True)
def weighted_severity(
    table: NoFitTable,
    item: int,
    shape: int,
    x: float,
    y: float,
    xs: FloatArray,
    ys: FloatArray,
    shapes: IntArray,
    weight: FloatArray,
    limit: float,
) -> float:
    """Sum of weighted severities of `item` in `shape` at (x, y) against all others.

    xs, ys, shapes : (n,) where every item lies and in which shape; weight : (n, n).
    Stops early, with any value above it, once the sum passes `limit`.
    """
    total = 0.0
    width, height = table.extent[shape, 0], table.extent[shape, 1]
    for other in range(len(xs)):
        dx = xs[other] - x
        if dx >= width or dx <= -table.extent[shapes[other], 0]:
            continue
        dy = ys[other] - y
        if dy >= height or dy <= -table.extent[shapes[other], 1] or other == item:
            continue
        total += weight[item, other] * pair_severity(table, shape, shapes[other], dx, dy)
        if total > limit:
            break
    return float(total)


@njit(cache=True, nogil=True)
def descend(
    table: NoFitTable,
    item: int,
    shape: int,
    x: float,
    y: float,
    start: float,
    xs: FloatArray,
    ys: FloatArray,
    shapes: IntArray,
    weight: FloatArray,
    length: float,
    width: float,
    step: float,
    last_step: float,
    rng: RandomState,
) -> tuple[float, float, float]:
    """Coordinate descent with adapting steps from (x, y), where the severity is `start`.

    Along a random axis or diagonal both ways are tried; a gain lengthens the step, a failure
    shortens it until it falls below `last_step`. Positions stay inside length × width.
    Returns (x, y, severity).
    """
    high_x = length - table.extent[shape, 0]
    high_y = max(width - table.extent[shape, 1], 0.0)
    best = start
    while step > last_step and best > 0.0:
        axis = int(uniform(rng) * 4.0)
        ux = 0.0 if axis == 1 else 1.0
        uy = 0.0 if axis == 0 else (-1.0 if axis == 3 else 1.0)
        gained = False
        for way in (-1.0, 1.0):
            new_x = min(max(x + way * step * ux, 0.0), high_x)
            new_y = min(max(y + way * step * uy, 0.0), high_y)
            severity = weighted_severity(
                table, item, shape, new_x, new_y, xs, ys, shapes, weight, best
            )
            if severity < best:
                best, x, y, gained = severity, new_x, new_y, True
                break
        step *= 1.1 if gained else 0.5
    return x, y, best
