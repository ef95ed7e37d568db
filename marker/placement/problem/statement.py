"""The frozen statement of what is to be placed, and where each item may lie."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import inf
from typing import NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.tolerances import HAIR_MM

ANY_LANE = (0.0, inf)
"""The whole strip."""


@dataclass(frozen=True, eq=False)
class Outlines:
    """One piece before it is reflected or turned; both (n, 2), mm, counter-clockwise.

    true : its cut outline. grown : holds that and half the gap around it, maybe of fewer points.
    """

    true: FloatArray
    grown: FloatArray


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
    repeat : (along, across) mm, 0 where free. Positions lie whole repeats from the orientation's
        phase. So a point of the item always meets the same point of the cloth's repeat.
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
        left corner of its bounding box at the origin. Grown by half the gap between pieces, so
        two shapes that touch keep it.
    items : each orientation fits the width and its lane, where it is tied across at one position
        at least.
    width : strip width, grown likewise.
    margin : half the gap: what a position at the strip's start lies outside the true cloth edge.
    area : true area of all items, mm²: never more than length × usable width.
    usable_width : true width, mm.
    cores : for each shape, (n, 2), what its piece surely covers, where it lies within the shape.
        That is the outline with all its points and without the gap. Of a piece that may tilt it is
        what all tilts share, kept with one of its orientations, and (0, 2) for the others. Bounds
        rest on cores alone. None at all where shapes are the outlines themselves.
    least_length : mm of the strip that are used anyhow, by obstacles that are pieces.
    """

    shapes: tuple[FloatArray, ...]
    items: tuple[Item, ...]
    width: float
    margin: float
    area: float
    usable_width: float
    obstacles: tuple[Obstacle, ...] = ()
    cores: tuple[FloatArray, ...] = ()
    least_length: float = 0.0

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
    return max(problem.least_length, max(ends, default=0.0) - 2 * problem.margin)


_HAIR = 1e-9
"""Part of a repeat by which floating point may miss a whole one."""


class Span(NamedTuple):
    """Positions on one axis, mm: every `step` from `low` to `high`, any between them if it is 0.

    None at all where `high` is below `low`.
    """

    low: float
    high: float
    step: float

    def nearest(self, value: float) -> float:
        """The nearest of these positions; `low` if there are none."""
        inside = max(min(value, self.high), self.low)
        if self.step == 0.0:
            return inside
        return self.low + self.step * float(np.rint((inside - self.low) / self.step))

    def first_from(self, value: float) -> float:
        """The first position at or after `value`, however far."""
        inside = max(value, self.low)
        if self.step == 0.0:
            return inside
        return self.low + self.step * float(np.ceil((inside - self.low) / self.step - _HAIR))


def spans(
    problem: PlacementProblem, item: Item, orientation: Orientation, length: float
) -> tuple[Span, Span]:
    """Positions along and across that keep an item, lying this way, within a strip of `length` and
    within its lane."""
    along, across = problem.extent(orientation.shape)
    low, high = orientation.lane
    inside = low, max(min(high, problem.width) - across, low)
    return (
        span(0.0, length - along, item.repeat[0], orientation.phase[0]),
        span(*inside, item.repeat[1], orientation.phase[1]),
    )


def span(low: float, high: float, repeat: float, phase: float) -> Span:
    """Positions from `low` to `high` on one axis, whole repeats from a phase; any if `repeat` is
    0."""
    if repeat == 0.0:
        return Span(low, high, 0.0)
    past = (phase - low) % repeat
    if repeat - past < _HAIR * repeat:
        past = 0.0
    first = low + past
    return Span(first, first + repeat * float(np.floor((high - first) / repeat + _HAIR)), repeat)


def on_a_line(problem: PlacementProblem, orientation: Orientation) -> bool:
    """Whether an orientation fills its lane, so that it may only move along the cloth."""
    low, high = orientation.lane
    return high - low - problem.extent(orientation.shape)[1] < HAIR_MM


def feasible_positions(problem: PlacementProblem, length: float) -> FloatArray:
    """(w, 6) low, high and step of both spans, for each orientation of each item in turn.

    Raises ValueError for an orientation that has no position across the strip.
    """
    every = []
    for number, item in enumerate(problem.items):
        for orientation in item.orientations:
            along, across = spans(problem, item, orientation, length)
            if across.high < across.low:
                raise ValueError(f"item {number} has an orientation that no repeat lets lie across")
            every.append((*along, *across))
    return np.array(every, dtype=np.float64)


def seated(problem: PlacementProblem, item: Item, position: Position, length: float) -> Position:
    """The position allowed within `length` that is nearest. An item whose orientation finds no
    room there takes the first one of its direction that does, if any."""
    own = item.orientations[position.orientation]
    for number in (position.orientation, *range(len(item.orientations))):
        orientation = item.orientations[number]
        along, across = spans(problem, item, orientation, length)
        if orientation.direction == own.direction and along.high >= along.low:
            return Position(along.nearest(position.x), across.nearest(position.y), number)
    along, across = spans(problem, item, own, length)
    return Position(along.low, across.nearest(position.y), position.orientation)


def in_a_row(problem: PlacementProblem) -> Arrangement:
    """Every item beyond the one before and all obstacles, in its first orientation: never an
    overlap. Groups keep one direction, that of their first orientation."""
    ends = [each.x + problem.extent(each.shape)[0] for each in problem.obstacles]
    arrangement, x = [], max(ends, default=0.0)
    for item in problem.items:
        orientation = item.orientations[0]
        along, across = spans(problem, item, orientation, np.inf)
        arrangement.append(Position(along.first_from(x), across.low, 0))
        x = arrangement[-1].x + problem.extent(orientation.shape)[0]
    return tuple(arrangement)
