"""Where outlines touch along a separation: what a turn of either does to the room between them."""

from __future__ import annotations

import time
from typing import NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.placement.lp.halfplanes import Separations, separations
from marker.tolerances import PLAY_MM

TOUCH_MM = 0.03
"""Corners so near to an edge touch it: the play and the grid of the outlines take up to half."""

_ON_LINE_MM = 1e-6
_LEVEL, _LEVEL_MM = 0.01, 0.002
"""An edge is square to a normal if its ends lie no farther apart along it than this part of its
length and this much, the grid's rounding."""


class Corners(NamedTuple):
    """Corners of all shapes as they lie, flat: shape k owns start[k] to start[k + 1] of `at`."""

    start: IntArray
    at: FloatArray


def compile_contacts() -> float:
    """Have the kernel compiled, at its first use on a machine; the seconds that took."""
    before = time.monotonic()
    none, numbers = np.empty((0, 2)), np.empty(0, dtype=np.int64)
    by_pair = np.empty((0, 0), dtype=np.int64), numbers, np.empty((0, 4))
    rows = separations(none, none, numbers, *by_pair, 0.0, 0)
    contacts(rows, none, Corners(numbers, none), *by_pair, 0.0, none[:, 0].copy())
    return time.monotonic() - before


@kernel(allocates=True)
def contacts(
    rows: Separations,
    at: FloatArray,
    corners: Corners,
    pair: IntArray,
    start: IntArray,
    edge: FloatArray,
    turn: float,
    swing: FloatArray,
) -> FloatArray:
    """(c, 4): for each row the points where the two outlines meet, or would if the second were
    pushed to the first, and those that a turn could bring so near: number of the row, x, y, mm, and
    how much more room there is than the row says. A row without any has none.

    at : (k, 2) positions. pair, start, edge : as in `Boundaries`, by number of the outline.
    turn : greatest turn, radians. swing : (k,) mm that it moves any point of each at most.
    To first order a turn of either outline changes the room between the two at such a point by as
    much as it moves that outline's own matter there, along the row's normal.
    """
    found = np.empty((256, 4))
    count = 0
    for r in range(len(rows.normal)):
        a, b = rows.pair[r, 0], rows.pair[r, 1]
        nx, ny = rows.normal[r, 0], rows.normal[r, 1]
        p = pair[a, b]
        dx, dy = at[b, 0] - at[a, 0], at[b, 1] - at[a, 1]
        zx, zy, level = _meeting(
            edge[start[p] : start[p + 1]], dx, dy, nx, ny, rows.offset[r] - PLAY_MM
        )
        push_x, push_y = zx - dx, zy - dy
        reach = swing[a] + swing[b]
        for near, far, side in ((a, b, 1.0), (b, a, -1.0)):
            for i in range(corners.start[far], corners.start[far + 1]):
                x, y = corners.at[i, 0], corners.at[i, 1]
                pushed = x + side * push_x, y + side * push_y
                room = _room(corners, near, pushed, side * nx, side * ny, level, turn)
                if room > reach:
                    continue
                if count == len(found):
                    found = np.concatenate((found, found))
                found[count, 0], found[count, 1], found[count, 2] = r, x, y
                found[count, 3] = room
                count += 1
    return found[:count]


@kernel(allocates=True)
def _meeting(
    edges: FloatArray, dx: float, dy: float, nx: float, ny: float, c: float
) -> tuple[float, float, bool]:
    """The point of a no-fit polygon on the line nx·x + ny·y = c that lies nearest to (dx, dy), and
    whether it is one of an edge along that line: such edges come first."""
    nearest, zx, zy, level = np.inf, dx, dy, False
    for k in range(len(edges)):
        x1, y1, x2, y2 = edges[k, 0], edges[k, 1], edges[k, 2], edges[k, 3]
        side1, side2 = nx * x1 + ny * y1 - c, nx * x2 + ny * y2 - c
        on1, on2 = abs(side1) < _ON_LINE_MM, abs(side2) < _ON_LINE_MM
        along = on1 and on2
        if level and not along:
            continue
        if along:
            ux, uy = x2 - x1, y2 - y1
            t = ((dx - x1) * ux + (dy - y1) * uy) / max(ux * ux + uy * uy, 1e-12)
            t = min(max(t, 0.0), 1.0)
        elif on1 or on2:
            t = 0.0 if on1 else 1.0
        elif side1 * side2 < 0.0:
            t = side1 / (side1 - side2)
        else:
            continue
        x, y = x1 + t * (x2 - x1), y1 + t * (y2 - y1)
        gap = np.hypot(x - dx, y - dy)
        if gap < nearest or (along and not level):
            nearest, zx, zy, level = gap, x, y, along
    return zx, zy, level


@kernel(allocates=True)
def _room(
    corners: Corners,
    shape: int,
    point: tuple[float, float],
    nx: float,
    ny: float,
    level: bool,
    turn: float,
) -> float:
    """How far along the normal a point lies over the shape's edges, 0 where it touches; inf if over
    none. Edges count that are square to the normal, or may be after a turn; unless `level`, others
    where they touch."""
    x, y = point
    least = np.inf
    first, last = corners.start[shape], corners.start[shape + 1]
    for k in range(first, last):
        following = k + 1 if k + 1 < last else first
        x1, y1 = corners.at[k, 0], corners.at[k, 1]
        ux, uy = corners.at[following, 0] - x1, corners.at[following, 1] - y1
        size = np.hypot(ux, uy)
        square = abs(nx * ux + ny * uy) <= (_LEVEL + 2 * turn) * size + _LEVEL_MM
        if level and not square:
            continue
        t = min(max(((x - x1) * ux + (y - y1) * uy) / max(size * size, 1e-12), 0.0), 1.0)
        dx, dy = x - x1 - t * ux, y - y1 - t * uy
        if np.hypot(dx, dy) < TOUCH_MM:
            return 0.0
        over = nx * dx + ny * dy
        if square and over > 0.0 and abs(nx * dy - ny * dx) < TOUCH_MM + _LEVEL * over:
            least = min(least, over - TOUCH_MM / 2)
    return least
