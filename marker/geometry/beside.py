"""Places for labels beside what they belong to: the nearest that is free, on a straight leader."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from marker.geometry.arrays import FloatArray

_ANGLES = np.radians(np.arange(0.0, 360.0, 15.0))
_WAYS = np.column_stack([np.cos(_ANGLES), np.sin(_ANGLES)])
_AT_ONCE = 4  # rings of places tried together


@dataclass(frozen=True)
class Reach:
    """How far from its point a label may stand, mm.

    nearest, farthest, step : distances of the rings of places that are tried.
    off_pieces, off_edges : of longer leader that lying on no piece is worth, and across no edge
        of one besides.
    rise : the place lies at least so far above or below its point.
    """

    nearest: float
    farthest: float
    step: float
    off_pieces: float
    off_edges: float
    rise: float = 0.0


class LabelPlaces:
    """Finds places among pieces, clear of their edges and of all that is taken.

    pieces : polygons that labels had better not lie on. within : they may not leave it.
    """

    def __init__(
        self, pieces: Sequence[BaseGeometry], within: BaseGeometry, taken: Sequence[BaseGeometry]
    ) -> None:
        self._pieces = shapely.union_all(pieces)
        self._edges = shapely.union_all([piece.boundary for piece in pieces])
        self._within = within
        self._taken = list(taken)
        for region in (self._pieces, self._edges, self._within):
            shapely.prepare(region)

    def take(self, *marks: BaseGeometry) -> None:
        """What from now on no label may lie on."""
        self._taken += marks

    def nearest(
        self,
        point: shapely.Point,
        size: tuple[float, float],
        reach: Reach,
        also_taken: Sequence[BaseGeometry] = (),
    ) -> tuple[float, float] | None:
        """Centre of the nearest free box of this width and height, its leader free as well.

        None where all is taken.
        """
        taken = shapely.STRtree([*self._taken, *also_taken])
        leaders = _Leaders(point, taken)
        best, least = None, np.inf
        for radius, way in _rings(reach):
            if radius[0] >= least or not leaders.grown(float(radius[-1])):
                break
            led = radius < leaders.lengths[way]
            radius, steps = radius[led], radius[led, np.newaxis] * _WAYS[way[led]]
            high = np.abs(steps[:, 1]) >= reach.rise
            radius, centres = radius[high], steps[high] + (point.x, point.y)
            boxes = _boxes(centres, size)
            free = np.asarray(shapely.contains(self._within, boxes))
            free[free] = ~_met(taken, boxes[free])
            if free.any():
                cost = radius[free] + self._cost(boxes[free], reach)
                k = int(np.argmin(cost))
                if cost[k] < least:
                    x, y = centres[free][k]
                    best, least = (float(x), float(y)), float(cost[k])
        return best

    def _cost(self, boxes: NDArray[np.object_], reach: Reach) -> FloatArray:
        """(n,) what lying on a piece, or across an edge, is worth in longer leader, mm."""
        on_piece = shapely.intersects(self._pieces, boxes)
        cost = np.where(on_piece, reach.off_pieces, 0.0)
        over_edge = on_piece & np.asarray(shapely.intersects(self._edges, boxes))
        return np.asarray(cost + np.where(over_edge, reach.off_edges, 0.0))


def leader_start(
    piece: BaseGeometry, point: shapely.Point, label: tuple[float, float]
) -> tuple[float, float]:
    """Where the leader from a point inside a piece to its label leaves the piece; the point itself
    where the label lies on the piece."""
    leader = shapely.LineString([(point.x, point.y), label])
    crossings = shapely.get_coordinates(leader.intersection(piece.boundary))
    if len(crossings) == 0:
        return point.x, point.y
    x, y = min(crossings, key=lambda crossing: float(np.hypot(*(crossing - label))))
    return float(x), float(y)


class _Leaders:
    """Leaders from a point, one each way, grown until they meet anything taken.

    So one look a way does for the leaders to all places on it. lengths : (ways,) where they meet
    it, infinite while they have not.
    """

    def __init__(self, point: shapely.Point, taken: shapely.STRtree) -> None:
        self._point, self._taken, self._length = point, taken, 0.0
        self._start = np.array([point.x, point.y])
        self.lengths = np.full(len(_WAYS), np.inf)

    def grown(self, length: float) -> bool:
        """Grow those that have met nothing to this length; whether there were any."""
        free = np.flatnonzero(np.isinf(self.lengths))
        ends = np.array([self._length, length])[:, np.newaxis] * _WAYS[free, np.newaxis]
        added = np.asarray(shapely.linestrings(self._start + ends))
        which, met = self._taken.query(added, predicate="intersects")
        self._stop(free[which], added[which], self._taken.geometries[met])
        self._length = length
        return len(free) > 0

    def _stop(
        self, way: NDArray[np.int64], added: NDArray[np.object_], met: NDArray[np.object_]
    ) -> None:
        """End leaders where they meet something: `added`, (n,) the last stretch of each way's.

        The nearest comes first of all that a leader meets. What lies farther off than where it ends
        by now is left out: distances cost a tenth of what crossings cost.
        """
        off = np.asarray(shapely.distance(self._point, met))
        order = np.argsort(off, kind="stable")
        while len(order):
            _, first = np.unique(way[order], return_index=True)
            now = order[first]
            crossed = shapely.intersection(added[now], met[now])
            np.minimum.at(self.lengths, way[now], shapely.distance(self._point, crossed))
            order = np.delete(order, first)
            order = order[off[order] < self.lengths[way[order]]]


@cache
def _rings(reach: Reach) -> tuple[tuple[FloatArray, NDArray[np.int64]], ...]:
    """Distance of places, and index of their way, (n,) each; the nearest rings first."""
    radii = np.arange(reach.nearest, reach.farthest, reach.step)
    each = [radii[first : first + _AT_ONCE] for first in range(0, len(radii), _AT_ONCE)]
    ways = np.arange(len(_WAYS))
    return tuple((np.repeat(some, len(_WAYS)), np.tile(ways, len(some))) for some in each)


def _boxes(centres: FloatArray, size: tuple[float, float]) -> NDArray[np.object_]:
    low, high = (centres + side * np.array(size) / 2 for side in (-1.0, 1.0))
    return np.asarray(shapely.box(*low.T, *high.T))


def _met(tree: shapely.STRtree, shapes: NDArray[np.object_]) -> NDArray[np.bool_]:
    """(n,) whether each shape meets anything in the tree."""
    met = np.zeros(len(shapes), dtype=np.bool_)
    met[tree.query(shapes, predicate="intersects")[0]] = True
    return met
