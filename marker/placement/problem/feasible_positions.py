"""Where an item may lie: within the strip and its lane, on any place or only at whole repeats."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.placement.problem.statement import (
    Arrangement,
    Item,
    Orientation,
    PlacementProblem,
    Position,
)
from marker.tolerances import HAIR_MM

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
    problem: PlacementProblem, item: Item, way: Orientation, length: float
) -> tuple[Span, Span]:
    """Positions along and across that keep an item, lying this way, within a strip of `length` and
    within its lane."""
    along, across = problem.extent(way.shape)
    low, high = way.lane
    room = low, max(min(high, problem.width) - across, low)
    return (
        span(0.0, length - along, item.repeat[0], way.phase[0]),
        span(*room, item.repeat[1], way.phase[1]),
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


def on_a_line(problem: PlacementProblem, way: Orientation) -> bool:
    """Whether an orientation fills its lane, so that it may only move along the cloth."""
    low, high = way.lane
    return high - low - problem.extent(way.shape)[1] < HAIR_MM


def room_of_ways(problem: PlacementProblem, length: float) -> FloatArray:
    """(w, 6) low, high and step of both spans, for each orientation of each item in turn.

    Raises ValueError for an orientation that has no position across the strip.
    """
    every = []
    for number, item in enumerate(problem.items):
        for way in item.orientations:
            along, across = spans(problem, item, way, length)
            if across.high < across.low:
                raise ValueError(f"item {number} has an orientation that no repeat lets lie across")
            every.append((*along, *across))
    return np.array(every, dtype=np.float64)


def seated(problem: PlacementProblem, item: Item, position: Position, length: float) -> Position:
    """The position allowed within `length` that is nearest. An item whose orientation finds no
    room there takes the first one of its direction that does, if any."""
    own = item.orientations[position.orientation]
    for number in (position.orientation, *range(len(item.orientations))):
        way = item.orientations[number]
        along, across = spans(problem, item, way, length)
        if way.direction == own.direction and along.high >= along.low:
            return Position(along.nearest(position.x), across.nearest(position.y), number)
    along, across = spans(problem, item, own, length)
    return Position(along.low, across.nearest(position.y), position.orientation)


def in_a_row(problem: PlacementProblem) -> Arrangement:
    """Every item beyond the one before and all obstacles, in its first orientation: never an
    overlap. Groups keep one direction, that of their first orientation."""
    ends = [each.x + problem.extent(each.shape)[0] for each in problem.obstacles]
    arrangement, x = [], max(ends, default=0.0)
    for item in problem.items:
        way = item.orientations[0]
        along, across = spans(problem, item, way, np.inf)
        arrangement.append(Position(along.first_from(x), across.low, 0))
        x = arrangement[-1].x + problem.extent(way.shape)[0]
    return tuple(arrangement)
