"""The linear program that moves and turns pieces together, to first order in the turns.

A small turn about a piece's middle moves its matter at the point where it touches another, or an
edge of the strip, along the normal there by the turn times a lever. So each separation of the
compaction stays a linear row: the room between the two, at each point where they touch.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.placement.lp.compaction import FIT_MM
from marker.placement.lp.contacts import Corners, contacts
from marker.placement.lp.halfplanes import separations
from marker.placement.lp.poses import Layout, Sums
from marker.placement.lp.program import least

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

REACH_MM = 15.0
"""How far a piece may move along or across in one solution."""

_HAIR_MM = 1e-9


def moves_and_turns(layout: Layout, width: float, turn: float, sums: Sums) -> FloatArray | None:
    """(k, 3) moves along and across, mm, and turns, radians, that make the layout as short as
    possible within a strip of `width` mm; None if there are none.

    turn : greatest turn, radians. If it is 0, what results is exactly free of overlap.
    """
    count = len(layout.poses)
    back, on = _freedom(layout, turn)
    low, high = np.concatenate([[0.0], -back.ravel()]), np.concatenate([[np.inf], on.ravel()])
    # the small share of all positions draws pieces off the far end leave to move up, too
    share = np.full(count, 1e-3 / count)
    cost = np.concatenate([[1.0], share, np.zeros(2 * count)])
    pairs = _between(layout, turn, sums)
    for wide in (width, width + FIT_MM):
        rows = pairs.joined(_at_edges(layout, turn, wide))
        found = least(cost, low, high, rows.matrix(count), -rows.room)
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
    room: FloatArray
    length: FloatArray

    def joined(self, other: _Rows) -> _Rows:
        """Both one behind the other."""
        return _Rows(*(np.concatenate(both) for both in zip(self, other, strict=True)))

    def matrix(self, count: int) -> csr_matrix:
        """How the room changes with the variables: the length, then of `count` outlines all moves
        along, all moves across, all turns."""
        from scipy.sparse import csr_matrix

        own = np.arange(len(self.room))
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


def _freedom(layout: Layout, turn: float) -> tuple[FloatArray, FloatArray]:
    """How far each may move and turn, back and on, (3, k) each."""
    free = [[REACH_MM * pose.may_move(axis) for pose in layout.poses] for axis in (0, 1)]
    leeway = np.radians([pose.leeway for pose in layout.poses]).T
    return (
        np.array([*free, np.minimum(-leeway[0], turn)]),
        np.array([*free, np.minimum(leeway[1], turn)]),
    )


def _between(layout: Layout, turn: float, sums: Sums) -> _Rows:
    """What keeps pairs apart: each separation for every point where the two touch, or once."""
    at, size = layout.at, layout.size
    near = sums.near(layout, REACH_MM)
    by_pair = near.pair, near.start, near.edge
    kept = separations(at, size, np.arange(len(at)), *by_pair, REACH_MM, layout.items)
    found = np.empty((0, 4))
    if turn > 0.0:
        found = contacts(kept, at, _corners(layout), *by_pair, turn, _swing(layout, turn))
    row, point = found[:, 0].astype(np.int64), found[:, 1:3]
    bare = np.setdiff1d(np.arange(len(kept.offset)), row)
    first, second = kept.pair[np.concatenate([row, bare])].T
    normal = kept.normal[np.concatenate([row, bare])]
    offset = kept.offset[np.concatenate([row, bare])]
    levers = np.zeros((2, len(normal)))
    for lever, outline in zip(levers, (first, second), strict=True):
        arm = point - (at + size / 2)[outline[: len(row)]]
        lever[: len(row)] = _lever(normal[: len(row)], arm)
    room = (normal * (at[second] - at[first])).sum(axis=1) - offset
    room[: len(row)] += found[:, 3]
    return _Rows(first, second, normal, levers[0], levers[1], room, np.zeros(len(room)))


def _at_edges(layout: Layout, turn: float, width: float) -> _Rows:
    """What keeps items within the strip and their lanes: a row for each corner that could come to
    an edge."""
    normals = np.array([(1.0, 0.0), (0.0, 1.0), (0.0, -1.0), (-1.0, 0.0)])
    found = []
    for k, pose in enumerate(layout.poses[: layout.items]):
        low, high = pose.lane(width)
        edges = np.array([0.0, -low, high, 0.0])  # the far end is where the layout ends
        arm = pose.shape - pose.size / 2
        room = (pose.shape + layout.at[k]) @ normals.T + edges
        swing = 2 * turn * float(np.hypot(*arm.T).max()) + _HAIR_MM
        tip, edge = np.nonzero(room <= room.min(axis=0) + swing)
        normal, none = normals[edge], np.zeros(len(tip))
        number = np.full(len(tip), k)
        found.append(
            _Rows(
                np.full(len(tip), -1), number, normal, none, _lever(normal, arm[tip]),
                room[tip, edge], (edge == 3).astype(np.float64),
            )
        )  # fmt: skip
    return _Rows(*(np.concatenate(each) for each in zip(*found, strict=True)))


def _swing(layout: Layout, turn: float) -> FloatArray:
    """(k,) mm that a turn moves any point of each at most; nothing turns that has no leeway."""
    turns = [turn * any(pose.leeway) for pose in layout.poses]
    swing: FloatArray = np.hypot(*layout.size.T) / 2 * np.array(turns)
    return swing


def _lever(normal: FloatArray, arm: FloatArray) -> FloatArray:
    """(m,) mm by which a radian about the start of an arm moves its end along the normal."""
    lever: FloatArray = normal[:, 1] * arm[:, 0] - normal[:, 0] * arm[:, 1]
    return lever


def _corners(layout: Layout) -> Corners:
    counts = [len(pose.shape) for pose in layout.poses]
    placed = [pose.shape + at for pose, at in zip(layout.poses, layout.at, strict=True)]
    start = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    return Corners(start, np.concatenate(placed))
