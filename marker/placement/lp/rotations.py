"""The linear program that moves and turns pieces together, to first order in the turns.

A small turn about a piece's middle moves its matter where it touches another, or an edge of the
strip. It moves along the normal there by the turn times a lever. So each separation of the
compaction stays a linear row: the clearance between the two, at each point where they touch.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.placement.lp.poses import PosedLayout, PosePolygons
from marker.placement.lp.program import Separations, least, separations
from marker.placement.tables.no_fit_polygons import CODES, NoFitPolygons
from marker.tolerances import PLAY_MM

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

_HAIR_MM = 1e-9


def moves_and_turns(
    layout: PosedLayout,
    width: tuple[float, float],
    turn: float,
    reach: float,
    polygons: PosePolygons,
) -> FloatArray | None:
    """(k, 3) moves along and across, mm, and turns, radians, that make the layout as short as
    possible within a strip; None if there are none.

    width : of the strip, mm, and, where nothing else helps, at most. turn : greatest turn, radians.
    reach : how far a piece may move along or across. If the turn is 0, what results is exactly free
    of overlap.
    """
    count = len(layout.poses)
    back, on = _freedom(layout, turn, reach)
    low, high = np.concatenate([[0.0], -back.ravel()]), np.concatenate([[np.inf], on.ravel()])
    # the small share of all positions draws pieces off the far end leave to move up, too
    share = np.full(count, 1e-3 / count)
    cost = np.concatenate([[1.0], share, np.zeros(2 * count)])
    pairs = _between(layout, turn, reach, polygons)
    for wide in width:
        rows = pairs.joined(_at_edges(layout, turn, wide))
        found = least(cost, low, high, rows.matrix(count), -rows.clearance)
        if found is not None:
            return np.clip(found, low, high)[1:].reshape(3, count).T
    return None


class _Rows(NamedTuple):
    """The room between two outlines, or between one and an edge of the strip, stays.

    first, second : (m,) numbers of the outlines; an edge is first, its number -1. normal : (m, 2),
    towards the second. lever_first, lever_second : (m,) mm by which a radian moves the matter of
    each along the normal. room : (m,) mm, as it is. length : (m,) 1 where the edge is the layout's
    far end, which moves with its length, else 0.
    """

    first: IntArray
    second: IntArray
    normal: FloatArray
    lever_first: FloatArray
    lever_second: FloatArray
    clearance: FloatArray
    length: FloatArray

    def joined(self, other: _Rows) -> _Rows:
        """Both one behind the other."""
        return _Rows(*(np.concatenate(both) for both in zip(self, other, strict=True)))

    def matrix(self, count: int) -> csr_matrix:
        """How the room changes with the variables: the length, then of `count` outlines all moves
        along, all moves across, all turns."""
        from scipy.sparse import csr_matrix

        own = np.arange(len(self.clearance))
        second, paired = 1 + self.second, own[self.first >= 0]
        first = 1 + self.first[paired]
        entries = [
            (own, np.zeros_like(own), self.length),
            (own, second, self.normal[:, 0]),
            (own, second + count, self.normal[:, 1]),
            (own, second + 2 * count, self.lever_second),
            (paired, first, -self.normal[paired, 0]),
            (paired, first + count, -self.normal[paired, 1]),
            (paired, first + 2 * count, -self.lever_first[paired]),
        ]
        row, column, value = (np.concatenate(each) for each in zip(*entries, strict=True))
        return csr_matrix((value, (row, column)), shape=(len(own), 1 + 3 * count))


def _freedom(layout: PosedLayout, turn: float, reach: float) -> tuple[FloatArray, FloatArray]:
    """How far each may move and turn, back and on, (3, k) each."""
    free = [[reach * pose.may_move(axis) for pose in layout.poses] for axis in (0, 1)]
    leeway = np.radians([pose.leeway for pose in layout.poses]).T
    return (
        np.array([*free, np.minimum(-leeway[0], turn)]),
        np.array([*free, np.minimum(leeway[1], turn)]),
    )


def _between(layout: PosedLayout, turn: float, reach: float, polygons: PosePolygons) -> _Rows:
    """What keeps pairs apart: each separation for every point where the two touch, or once."""
    at, size = layout.at, layout.size
    near = polygons.near(layout, reach)
    kept = separations(at, size, np.arange(len(at)), near, reach, layout.items)
    found = np.empty((0, 4))
    if turn > 0.0:
        found = contacts(kept, at, _corners(layout), near, turn, _swing(layout, turn))
    row, point = found[:, 0].astype(np.int64), found[:, 1:3]
    bare = np.setdiff1d(np.arange(len(kept.offset)), row)
    first, second = kept.pair[np.concatenate([row, bare])].T
    normal = kept.normal[np.concatenate([row, bare])]
    offset = kept.offset[np.concatenate([row, bare])]
    levers = np.zeros((2, len(normal)))
    for lever, outline in zip(levers, (first, second), strict=True):
        arm = point - (at + size / 2)[outline[: len(row)]]
        lever[: len(row)] = _lever(normal[: len(row)], arm)
    clearance = (normal * (at[second] - at[first])).sum(axis=1) - offset
    clearance[: len(row)] += found[:, 3]
    return _Rows(first, second, normal, levers[0], levers[1], clearance, np.zeros(len(clearance)))


def _at_edges(layout: PosedLayout, turn: float, width: float) -> _Rows:
    """What keeps items within the strip and their lanes: a row for each corner that could come to
    an edge."""
    normals = np.array([(1.0, 0.0), (0.0, 1.0), (0.0, -1.0), (-1.0, 0.0)])
    found = []
    for k, pose in enumerate(layout.poses[: layout.items]):
        low, high = pose.lane(width)
        edges = np.array([0.0, -low, high, 0.0])  # the far end is where the layout ends
        arm = pose.shape - pose.size / 2
        clearance = (pose.shape + layout.at[k]) @ normals.T + edges
        swing = 2 * turn * float(np.hypot(*arm.T).max()) + _HAIR_MM
        tip, edge = np.nonzero(clearance <= clearance.min(axis=0) + swing)
        normal, none = normals[edge], np.zeros(len(tip))
        number = np.full(len(tip), k)
        found.append(
            _Rows(
                np.full(len(tip), -1), number, normal, none, _lever(normal, arm[tip]),
                clearance[tip, edge], (edge == 3).astype(np.float64),
            )
        )  # fmt: skip
    return _Rows(*(np.concatenate(each) for each in zip(*found, strict=True)))


def _swing(layout: PosedLayout, turn: float) -> FloatArray:
    """(k,) mm that a turn moves any point of each at most; nothing turns that has no leeway."""
    turns = [turn * any(pose.leeway) for pose in layout.poses]
    swing: FloatArray = np.hypot(*layout.size.T) / 2 * np.array(turns)
    return swing


def _lever(normal: FloatArray, arm: FloatArray) -> FloatArray:
    """(m,) mm by which a radian about the start of an arm moves its end along the normal."""
    lever: FloatArray = normal[:, 1] * arm[:, 0] - normal[:, 0] * arm[:, 1]
    return lever


def _corners(layout: PosedLayout) -> Corners:
    counts = [len(pose.shape) for pose in layout.poses]
    placed = [pose.shape + at for pose, at in zip(layout.poses, layout.at, strict=True)]
    start = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    return Corners(start, np.concatenate(placed))


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


@kernel(allocates=True)
def contacts(
    rows: Separations,
    at: FloatArray,
    corners: Corners,
    polygons: NoFitPolygons,
    turn: float,
    swing: FloatArray,
) -> FloatArray:
    """(c, 4): for each row the points where the two outlines meet, or would if pushed together.

    Points that a turn could bring so near count as well. Columns: number of the row, x, y, mm, and
    how much more room there is than the row says. A row without any has none.

    at : (k, 2) positions. polygons : by number of the outline, none of them moved to be seen.
    turn : greatest turn, radians. swing : (k,) mm that it moves any point of each at most.
    To first order a turn of either outline changes the room between the two at such a point. It
    does so by as much as it moves that outline's own matter there, along the row's normal.
    """
    found = np.empty((256, 4))
    count = 0
    for r in range(len(rows.normal)):
        a, b = rows.pair[r, 0], rows.pair[r, 1]
        nx, ny = rows.normal[r, 0], rows.normal[r, 1]
        p = polygons.pair[a, b] // CODES
        dx, dy = at[b, 0] - at[a, 0], at[b, 1] - at[a, 1]
        edges = polygons.edge[polygons.start[p] : polygons.start[p + 1]]
        zx, zy, level = _meeting(edges, dx, dy, nx, ny, rows.offset[r] - PLAY_MM)
        push_x, push_y = zx - dx, zy - dy
        reach = swing[a] + swing[b]
        for near, far, side in ((a, b, 1.0), (b, a, -1.0)):
            for i in range(corners.start[far], corners.start[far + 1]):
                x, y = corners.at[i, 0], corners.at[i, 1]
                pushed = x + side * push_x, y + side * push_y
                clearance = _clearance(corners, near, pushed, side * nx, side * ny, level, turn)
                if clearance > reach:
                    continue
                if count == len(found):
                    found = np.concatenate((found, found))
                found[count, 0], found[count, 1], found[count, 2] = r, x, y
                found[count, 3] = clearance
                count += 1
    return found[:count]


@kernel(allocates=True)
def _meeting(
    edges: FloatArray, dx: float, dy: float, nx: float, ny: float, c: float
) -> tuple[float, float, bool]:
    """The point of a no-fit polygon on the line nx·x + ny·y = c that is nearest to (dx, dy).

    Last, whether it is one of an edge along that line. Such edges come first.
    """
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
def _clearance(
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
