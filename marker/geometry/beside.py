"""Places for labels beside what they belong to: the nearest that is free, on a straight leader."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from marker.geometry.arrays import FloatArray

_ANGLES = np.radians(np.arange(0.0, 360.0, 15.0))
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
        best, least = None, np.inf
        for radius, centres in _rings(point, reach):
            if radius[0] >= least:
                break
            free = np.abs(centres[:, 1] - point.y) >= reach.rise
            free[free] = self._free(point, centres[free], size, taken)
            if free.any():
                boxes = _boxes(centres[free], size)
                cost = radius[free] + self._cost(boxes, reach)
                k = int(np.argmin(cost))
                if cost[k] < least:
                    x, y = centres[free][k]
                    best, least = (float(x), float(y)), float(cost[k])
        return best

    def _free(
        self,
        point: shapely.Point,
        centres: FloatArray,
        size: tuple[float, float],
        taken: shapely.STRtree,
    ) -> NDArray[np.bool_]:
        """(n,) whether neither the box there nor its leader meets anything taken."""
        boxes = _boxes(centres, size)
        free = np.asarray(shapely.contains(self._within, boxes)) & ~_met(taken, boxes)
        ends = np.empty((int(free.sum()), 2, 2))
        ends[:, 0], ends[:, 1] = (point.x, point.y), centres[free]
        free[free] = ~_met(taken, np.asarray(shapely.linestrings(ends)))
        return free

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


def _rings(point: shapely.Point, reach: Reach) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Distance (n,) and centre (n, 2) of the places, the nearest rings first."""
    radii = np.arange(reach.nearest, reach.farthest, reach.step)
    for first in range(0, len(radii), _AT_ONCE):
        rings = np.meshgrid(radii[first : first + _AT_ONCE], _ANGLES, indexing="ij")
        radius, angle = (axis.ravel() for axis in rings)
        centres = np.column_stack(
            [point.x + radius * np.cos(angle), point.y + radius * np.sin(angle)]
        )
        yield radius, centres


def _boxes(centres: FloatArray, size: tuple[float, float]) -> NDArray[np.object_]:
    low, high = (centres + side * np.array(size) / 2 for side in (-1.0, 1.0))
    return np.asarray(shapely.box(*low.T, *high.T))


def _met(tree: shapely.STRtree, shapes: NDArray[np.object_]) -> NDArray[np.bool_]:
    """(n,) whether each shape meets anything in the tree."""
    met = np.zeros(len(shapes), dtype=np.bool_)
    met[tree.query(shapes, predicate="intersects")[0]] = True
    return met
