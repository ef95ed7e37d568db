"""The frozen statement of what is to be placed, made once before any search."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import inf

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.placement.problem.outlines import Outlines

ANY_LANE = (0.0, inf)
"""The whole strip."""


@dataclass(frozen=True)
class Orientation:
    """One allowed way for an item to lie.

    shape : index into `PlacementProblem.shapes`.
    shift : (2,) the item's own outline, reflected and turned, then moved by (position + shift),
        is the outline as laid.
    direction : 0 if it points along the cloth, 1 if turned back; items of a group must agree.
    phase : (along, across) of its positions within the item's repeat, mm; read only where tied.
    leeway : (least, greatest) degrees that it may be turned on, counter-clockwise, within the grain
        tolerance; read only where the item's outlines are known.
    lane : (low, high) across the strip, between which its shape must stay, mm.
    """

    shape: int
    rotation_deg: float
    mirrored: bool
    direction: int
    shift: tuple[float, float]
    phase: tuple[float, float] = (0.0, 0.0)
    leeway: tuple[float, float] = (0.0, 0.0)
    lane: tuple[float, float] = ANY_LANE


@dataclass(frozen=True)
class Item:
    """One outline to be placed once, in one of its orientations (never empty).

    group : items of the same group share one direction, each having ways of both; -1 for none.
    repeat : (along, across) mm: positions lie whole repeats from the orientation's phase, so that
        a point of the item meets the same point of the cloth's repeat each time; 0 where free.
    outlines : of an item that may also lie between its orientations (grain tolerance), what it is
        turned from.
    """

    orientations: tuple[Orientation, ...]
    group: int = -1
    repeat: tuple[float, float] = (0.0, 0.0)
    outlines: Outlines | None = None


@dataclass(frozen=True)
class Obstacle:
    """What stays where it is: a flaw, a piece laid by hand, cloth that a remnant lacks.

    shape : index into `PlacementProblem.shapes`. x, y : where its bounding box starts, mm; it may
    reach over the edges of the strip.
    """

    shape: int
    x: float
    y: float


@dataclass(frozen=True)
class PlacementProblem:
    """Items on a strip of fixed width (y) and open length (x), lengths in mm.

    shapes : distinct oriented outlines, (n, 2) float64, counter-clockwise, each with the lower
        left corner of its bounding box at the origin; grown by half the gap between pieces, so
        two shapes that touch keep it.
    items : each orientation fits the width and its lane, where it is tied across at one position
        at least.
    width : strip width, grown likewise.
    margin : half the gap: what a position at the strip's start lies outside the true cloth edge.
    area : true area of all items, mm²: never more than length × usable width.
    usable_width : true width, mm.
    cores : for each shape, (n, 2), what its piece surely covers, in the place where it lies within
        the shape: the outline with all its points and without the gap. Of a piece that may tilt,
        what all its tilts share, kept with one of its orientations, and (0, 2) for the others.
        Bounds rest on cores alone. None at all where shapes are the outlines themselves.
    """

    shapes: tuple[FloatArray, ...]
    items: tuple[Item, ...]
    width: float
    margin: float
    area: float
    usable_width: float
    obstacles: tuple[Obstacle, ...] = ()
    cores: tuple[FloatArray, ...] = ()

    def extent(self, shape: int) -> tuple[float, float]:
        """Bounding box (along, across) of a shape, mm."""
        return self._extents[shape]

    @cached_property
    def _extents(self) -> tuple[tuple[float, float], ...]:
        corners = [shape.max(axis=0) for shape in self.shapes]
        return tuple((float(along), float(across)) for along, across in corners)

    def core(self, shape: int) -> FloatArray:
        """What is surely covered where a shape lies, (n, 2) or (0, 2), see `cores`."""
        assert self.cores or self.margin == 0, "shapes that keep a gap are not their own cores"
        return self.cores[shape] if self.cores else self.shapes[shape]


@dataclass(frozen=True)
class Position:
    """Where an item's bounding box starts, and which of its orientations it has."""

    x: float
    y: float
    orientation: int


Arrangement = tuple[Position, ...]
"""One position for each item of a problem, in the order of its items."""


def laid(problem: PlacementProblem, arrangement: Arrangement) -> tuple[IntArray, FloatArray]:
    """(k,) shape and (k, 2) start of the bounding box, mm, of each item as it lies, then of each
    obstacle."""
    shapes, corners = [], []
    for item, position in zip(problem.items, arrangement, strict=True):
        shapes.append(item.orientations[position.orientation].shape)
        corners.append((position.x, position.y))
    for obstacle in problem.obstacles:
        shapes.append(obstacle.shape)
        corners.append((obstacle.x, obstacle.y))
    return np.array(shapes, dtype=np.int64), np.array(corners, dtype=np.float64)


def strip_length(problem: PlacementProblem, arrangement: Arrangement) -> float:
    """Length used by an arrangement, mm, measured between true outlines' outermost points."""
    ends = [
        position.x + problem.extent(item.orientations[position.orientation].shape)[0]
        for item, position in zip(problem.items, arrangement, strict=True)
    ]
    return max(ends) - 2 * problem.margin
