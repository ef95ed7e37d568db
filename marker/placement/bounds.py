"""Lower bounds on the length, each proven by a sentence."""

from __future__ import annotations

from math import inf

from marker.placement.problem import Item, Orientation, PlacementProblem
from marker.placement.room import spans


def simple(problem: PlacementProblem) -> float:
    """The larger of area ÷ usable width (pieces do not overlap) and the farthest that an item
    reaches by itself in its best orientation (it must lie somewhere), mm. Items that tilt have
    none."""
    shortest = [
        min(_first_end(problem, item, way) for way in item.orientations) - 2 * problem.margin
        for item in problem.items
        if not item.tilts
    ]
    return max(problem.area / problem.usable_width, *shortest, 0.0)


def _first_end(problem: PlacementProblem, item: Item, way: Orientation) -> float:
    """Where an item ends in the first position that its repeat allows it."""
    along, _ = spans(problem, item, way, inf)
    return along.low + problem.extent(way.shape)[0]


def binding(problem: PlacementProblem) -> bool:
    """Whether what the exact model proves of the shapes and orientations binds the pieces."""
    return not problem.enlarged and not any(item.tilts for item in problem.items)
