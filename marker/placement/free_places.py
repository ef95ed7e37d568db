"""Where one piece finds a free place among others that lie still, nearest to where it is wished.

The positions at which the piece overlaps another are the inside of their no-fit polygon. The free
position nearest to a wish is the wish itself, or lies on an edge of such a polygon or on the border
of what the strip allows. On each of these lines it is the foot of the wish, an end of the line or a
crossing with another one. Lines are gone through from the nearest on, until none can do better. A
piece that is tied to a repeat has the lines of its places instead.
"""

from __future__ import annotations

from collections.abc import Collection
from math import inf
from typing import NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.geometry.minkowski import edges_of_sum, sliding, standing
from marker.placement.problem.statement import (
    Arrangement,
    PlacementProblem,
    Position,
    Span,
    laid,
    spans,
)
from marker.tolerances import HAIR_MM

ROWS = 32
"""Rows of a polygon's height by which its edges are sorted, so that few are looked at."""

_HAIR_ROWS = 1e-3
_TINY = 1e-300  # no division by the length of a point

Point = tuple[float, float]


class FreePlaces:
    """Free positions of a problem's items, each among others that lie still.

    No-fit polygons are made when a shape is first moved, then kept.
    """

    def __init__(self, problem: PlacementProblem) -> None:
        self.problem = problem
        self._standing = [standing(shape) for shape in problem.shapes]
        self._around: dict[int, _Around] = {}

    def nearest(
        self,
        arrangement: Arrangement,
        item: int,
        wish: Position,
        length: float = inf,
        lifted: Collection[int] = (),
    ) -> Position | None:
        """The free position of an item, in the wish's orientation, that is nearest to the wish.

        Free is what laps nothing by more than the play of no-fit polygons, within the strip, its
        lane and its repeat. None if there is no such position.

        arrangement : where the others lie. length : of the strip, mm, that it must stay within.
        lifted : items that are out of the way, besides the item itself.
        """
        given = self.problem.items[item]
        orientation = given.orientations[wish.orientation]
        inside = length + 2 * self.problem.margin
        along, across = spans(self.problem, given, orientation, inside)
        if along.high < along.low or across.high < across.low:
            return None
        blocked = self._blocked(arrangement, item, wish.orientation, lifted)
        end = max(float(blocked.box[:, 2].max(initial=0.0)), wish.x)
        if along.high > end:  # beyond the end of all others every place is free
            along = along._replace(high=along.first_from(end + 1.0))
        found = _nearest(blocked, along, across, (wish.x, wish.y))
        return found and Position(*found, wish.orientation)

    def _blocked(
        self, arrangement: Arrangement, item: int, orientation: int, lifted: Collection[int]
    ) -> _Blocked:
        moving = self.problem.items[item].orientations[orientation].shape
        if moving not in self._around:
            slid = sliding(self.problem.shapes[moving])
            self._around[moving] = _around([edges_of_sum(each, slid) for each in self._standing])
        shapes, corners = laid(self.problem, arrangement)
        still = np.ones(len(shapes), dtype=np.bool_)
        still[[item, *lifted]] = False
        polygon, at = shapes[still], corners[still]
        return _Blocked(
            self._around[moving], polygon, at, self._around[moving].box[polygon] + np.tile(at, 2)
        )


class _Around(NamedTuple):
    """For each shape the polygon inside which a moving one would overlap it at the origin.

    edge : (e, 4) x1, y1, x2, y2, mm. start : (s + 1,) polygon k owns start[k] to start[k + 1].
    box : (s, 4) least x, least y, greatest x, greatest y of each.
    row_start : (s × ROWS + 1,) the edges that reach into row r of polygon k are
        row_edge[row_start[k × ROWS + r]] to the next.
    """

    edge: FloatArray
    start: IntArray
    box: FloatArray
    row_start: IntArray
    row_edge: IntArray


class _Blocked(NamedTuple):
    """Where an item may not be put: the inside of p polygons.

    polygon : (p,) which of `around`. at : (p, 2) by how much each is moved. box : (p, 4), moved.
    """

    around: _Around
    polygon: IntArray
    at: FloatArray
    box: FloatArray


def _around(polygons: list[FloatArray]) -> _Around:
    box = np.array([(*each[:, :2].min(axis=0), *each[:, :2].max(axis=0)) for each in polygons])
    row_edge, counts, before = [], [], 0
    for edges, (_, low, _, high) in zip(polygons, box, strict=True):
        ends = np.sort((edges[:, [1, 3]] - low) / (high - low) * ROWS, axis=1)
        first, last = (_row(ends[:, 0] - _HAIR_ROWS), _row(ends[:, 1] + _HAIR_ROWS))
        for row in range(ROWS):
            here = np.flatnonzero((first <= row) & (row <= last))
            row_edge.append(here + before)
            counts.append(len(here))
        before += len(edges)
    sizes = [len(each) for each in polygons]
    return _Around(
        np.concatenate(polygons),
        np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64),
        box,
        np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        np.concatenate(row_edge).astype(np.int64),
    )


def _row(height: FloatArray) -> IntArray:
    return np.clip(height, 0, ROWS - 1).astype(np.int64)


def _nearest(blocked: _Blocked, along: Span, across: Span, wish: Point) -> Point | None:
    """The place of both spans outside all polygons that is nearest to the wish; None if none is."""
    at = along.nearest(wish[0]), across.nearest(wish[1])
    if _is_free(blocked, at):
        return at
    lines = _lines(blocked, along, across)
    off = _distances(lines, wish)
    order = np.argsort(off, kind="stable")
    found, x_found, y_found = _nearest_on_lines(blocked, lines[order], off[order], *wish)
    return (float(x_found), float(y_found)) if found else None


def _lines(blocked: _Blocked, along: Span, across: Span) -> FloatArray:
    """All lines on which the place sought may lie, (k, 4)."""
    if along.step > 0.0 and across.step > 0.0:
        x, y = (grid.ravel() for grid in np.meshgrid(_places(along), _places(across)))
        return np.column_stack([x, y, x, y])
    if along.step > 0.0:
        x = _places(along)
        return np.column_stack([x, np.full_like(x, across.low), x, np.full_like(x, across.high)])
    if across.step > 0.0:
        y = _places(across)
        return np.column_stack([np.full_like(y, along.low), y, np.full_like(y, along.high), y])
    start = blocked.around.start
    counts = (start[1:] - start[:-1])[blocked.polygon]
    within = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    edges = blocked.around.edge[np.repeat(start[blocked.polygon], counts) + within]
    return _clipped(edges + np.repeat(np.tile(blocked.at, 2), counts, axis=0), along, across)


def _places(span: Span) -> FloatArray:
    count = round((span.high - span.low) / span.step) + 1
    return np.asarray(span.low + span.step * np.arange(count))


def _clipped(edges: FloatArray, along: Span, across: Span) -> FloatArray:
    """The parts of edges within both spans, and the border of these, (k, 4)."""
    low, high = np.array([along.low, across.low]), np.array([along.high, across.high])
    start, step = edges[:, :2], edges[:, 2:] - edges[:, :2]
    with np.errstate(divide="ignore", invalid="ignore"):
        first, last = (low - start) / step, (high - start) / step
    still = step == 0.0
    outside = still & ((start < low) | (start > high))
    enter = np.where(still, -inf, np.minimum(first, last)).max(axis=1, initial=0.0)
    leave = np.where(still, inf, np.maximum(first, last)).min(axis=1, initial=1.0)
    kept = (enter <= leave) & ~outside.any(axis=1)
    ends = [
        np.clip(start[kept] + each[kept, None] * step[kept], low, high) for each in (enter, leave)
    ]
    (x1, y1), (x2, y2) = low, high
    border = [(x1, y1, x2, y1), (x2, y1, x2, y2), (x2, y2, x1, y2), (x1, y2, x1, y1)]
    return np.concatenate([np.hstack(ends), np.array(border)])


def _distances(lines: FloatArray, point: Point) -> FloatArray:
    """How far a point lies from each line, (k,)."""
    start, step = lines[:, :2], lines[:, 2:] - lines[:, :2]
    size = np.maximum((step**2).sum(axis=1), _TINY)
    share = np.clip(((np.array(point) - start) * step).sum(axis=1) / size, 0.0, 1.0)
    off = start + share[:, None] * step - np.array(point)
    return np.asarray(np.hypot(off[:, 0], off[:, 1]))


def _is_free(blocked: _Blocked, point: Point) -> bool:
    """Whether a point lies inside no polygon."""
    near = np.arange(len(blocked.box))
    return bool(_blocker(blocked, near, len(near), *point) < 0)


@kernel(allocates=True)
def _nearest_on_lines(
    blocked: _Blocked, lines: FloatArray, off: FloatArray, x: float, y: float
) -> tuple[bool, float, float]:
    """The free point of the lines that is nearest to (x, y), if any.

    lines : (k, 4), the nearest first. off : (k,) how far each is.
    """
    best, best_x, best_y = np.inf, x, y
    near = np.empty(len(blocked.box), dtype=np.int64)
    shares = np.empty(256)
    for k in range(len(lines)):
        if off[k] >= best:
            break
        x1, y1 = lines[k, 0], lines[k, 1]
        ux, uy = lines[k, 2] - x1, lines[k, 3] - y1
        count = _meeting(blocked, lines, k, near)
        foot = ((x - x1) * ux + (y - y1) * uy) / max(ux * ux + uy * uy, _TINY)
        foot = min(max(foot, 0.0), 1.0)
        while True:
            found = _crossings(blocked, near, count, (x1, y1, ux, uy), shares)
            if found <= len(shares) - 3:
                break
            shares = np.empty(2 * len(shares))
        shares[found], shares[found + 1], shares[found + 2] = foot, 0.0, 1.0
        candidates = shares[: found + 3]
        for share in candidates[np.argsort(np.abs(candidates - foot))]:
            at_x, at_y = x1 + share * ux, y1 + share * uy
            gap = np.hypot(at_x - x, at_y - y)
            if gap >= best:
                break
            blocker = _blocker(blocked, near, count, at_x, at_y)
            if blocker < 0:
                best, best_x, best_y = gap, at_x, at_y
                break
            near[0], near[blocker] = near[blocker], near[0]  # it is likely to block the next, too
    return best < np.inf, best_x, best_y


@kernel()
def _meeting(blocked: _Blocked, lines: FloatArray, k: int, near: IntArray) -> int:
    """Into `near` all polygons whose box a line meets; returns how many."""
    low_x, high_x = min(lines[k, 0], lines[k, 2]), max(lines[k, 0], lines[k, 2])
    low_y, high_y = min(lines[k, 1], lines[k, 3]), max(lines[k, 1], lines[k, 3])
    count = 0
    for p in range(len(blocked.box)):
        if (
            blocked.box[p, 0] <= high_x + HAIR_MM
            and blocked.box[p, 2] >= low_x - HAIR_MM
            and blocked.box[p, 1] <= high_y + HAIR_MM
            and blocked.box[p, 3] >= low_y - HAIR_MM
        ):
            near[count] = p
            count += 1
    return count


@kernel()
def _crossings(
    blocked: _Blocked,
    near: IntArray,
    count: int,
    line: tuple[float, float, float, float],
    shares: FloatArray,
) -> int:
    """Into `shares` where a line, x, y and its length along and across, meets the first `count`
    polygons of `near`, as parts of it. Returns how many there are, even if not all have room."""
    around = blocked.around
    x, y, ux, uy = line
    found = 0
    size = max(np.hypot(ux, uy), HAIR_MM)
    hair, reach = HAIR_MM / size, HAIR_MM * size
    for n in range(count):
        p = near[n]
        polygon = blocked.polygon[p]
        own_x, own_y = x - blocked.at[p, 0], y - blocked.at[p, 1]
        first = _row_of(around, polygon, min(own_y, own_y + uy))
        last = _row_of(around, polygon, max(own_y, own_y + uy))
        low, high = around.row_start[first], around.row_start[last + 1]
        every = high - low > around.start[polygon + 1] - around.start[polygon]
        if every:  # an edge that reaches into several rows is looked at once
            low, high = around.start[polygon], around.start[polygon + 1]
        for entry in range(low, high):
            k = entry if every else around.row_edge[entry]
            px, py = around.edge[k, 0] - own_x, around.edge[k, 1] - own_y
            qx, qy = around.edge[k, 2] - own_x, around.edge[k, 3] - own_y
            side1, side2 = ux * py - uy * px, ux * qy - uy * qx
            if (side1 > reach and side2 > reach) or (side1 < -reach and side2 < -reach):
                continue
            along = abs(side1 - side2) <= reach
            for end in range(2 if along else 1):
                share = float(end) if along else side1 / (side1 - side2)
                at = (px + share * (qx - px)) * ux + (py + share * (qy - py)) * uy
                at /= size * size
                if -hair <= at <= 1.0 + hair:
                    if found < len(shares):
                        shares[found] = min(max(at, 0.0), 1.0)
                    found += 1
    return found


@kernel(inline=True)
def _row_of(around: _Around, polygon: int, y: float) -> int:
    low, high = around.box[polygon, 1], around.box[polygon, 3]
    row = int((y - low) / (high - low) * ROWS)
    return polygon * ROWS + min(max(row, 0), ROWS - 1)


@kernel()
def _blocker(blocked: _Blocked, near: IntArray, count: int, x: float, y: float) -> int:
    """Which of the first `count` polygons of `near` a point lies inside of, by more than a hair;
    -1 if none."""
    around = blocked.around
    for n in range(count):
        p = near[n]
        if not (
            blocked.box[p, 0] < x < blocked.box[p, 2] and blocked.box[p, 1] < y < blocked.box[p, 3]
        ):
            continue
        own_x, own_y = x - blocked.at[p, 0], y - blocked.at[p, 1]
        row = _row_of(around, blocked.polygon[p], own_y)
        inside = False
        nearest = np.inf
        for entry in range(around.row_start[row], around.row_start[row + 1]):
            k = around.row_edge[entry]
            x1, y1 = around.edge[k, 0], around.edge[k, 1]
            x2, y2 = around.edge[k, 2], around.edge[k, 3]
            if (y1 > own_y) != (y2 > own_y):
                inside ^= own_x < x1 + (own_y - y1) * (x2 - x1) / (y2 - y1)
            ux, uy = x2 - x1, y2 - y1
            share = ((own_x - x1) * ux + (own_y - y1) * uy) / max(ux * ux + uy * uy, _TINY)
            share = min(max(share, 0.0), 1.0)
            off_x, off_y = x1 + share * ux - own_x, y1 + share * uy - own_y
            nearest = min(nearest, off_x * off_x + off_y * off_y)
        if inside and nearest > HAIR_MM * HAIR_MM:
            return n
    return -1
