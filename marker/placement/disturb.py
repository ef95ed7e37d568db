"""Disturbances: a new start for a trajectory that came to nothing, unlike the one before.

Their arrangements may overlap and reach over the strip's edges: what starts from them repairs both.
"""

from __future__ import annotations

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.placement.nofit import NoFitTable
from marker.placement.problem import (
    Arrangement,
    Item,
    PlacementProblem,
    Position,
    strip_length,
)
from marker.placement.state import Choices

TURNING = 0.3
"""How often a disturbance turns a whole garment round, where garments may."""

LARGE = 0.75
"""Items that together make up this part of all bounding boxes, largest first, count as large."""

LIKENESS = 3.0
"""Power of the ratio of sizes by which an item is drawn to change places with another: what is
of like size leaves less to repair."""


def disturbed(
    problem: PlacementProblem,
    table: NoFitTable,
    choices: Choices,
    arrangement: Arrangement,
    rng: np.random.Generator,
) -> Arrangement:
    """A large item changes places with one of another shape; now and then a whole group turns
    round."""
    items = list(arrangement)
    groups = np.unique(choices.group[choices.group >= 0])
    if len(groups) > 1 and rng.random() < TURNING:
        return _turned_round(problem, items, int(rng.choice(groups)))
    shape = choices.shape[choices.start[:-1]]
    size = table.extent[shape].prod(axis=1)
    first = int(rng.choice(_large(size)))
    likeness = (np.minimum(size, size[first]) / np.maximum(size, size[first])) ** LIKENESS
    likeness[shape == shape[first]] = 0.0
    if likeness.sum() > 0.0:
        second = int(rng.choice(len(size), p=likeness / likeness.sum()))
        a, b = items[first], items[second]
        items[first] = Position(b.x, b.y, a.orientation)
        items[second] = Position(a.x, a.y, b.orientation)
    return tuple(items)


def shifted(
    problem: PlacementProblem, arrangement: Arrangement, by: float, rng: np.random.Generator
) -> Arrangement:
    """Everything beyond a random place is moved `by` mm towards the start, over what lies there."""
    place = rng.random() * strip_length(problem, arrangement)
    return tuple(
        Position(each.x - by, each.y, each.orientation) if each.x > place else each
        for each in arrangement
    )


def _large(size: FloatArray) -> list[int]:
    """The large items."""
    order = np.argsort(-size, kind="stable")
    running = np.cumsum(size[order])
    return [int(k) for k in order[: 1 + int(np.searchsorted(running, LARGE * running[-1]))]]


def _turned_round(problem: PlacementProblem, items: list[Position], group: int) -> Arrangement:
    for k, item in enumerate(problem.items):
        if item.group == group:
            other = _opposite(item, items[k].orientation)
            items[k] = Position(items[k].x, items[k].y, other)
    return tuple(items)


def _opposite(item: Item, orientation: int) -> int:
    """The orientation of the other direction that comes nearest to turning this one by 180°."""
    now = item.orientations[orientation]

    def miss(index: int) -> float:
        return abs((item.orientations[index].rotation_deg - now.rotation_deg) % 360 - 180)

    back = [k for k, way in enumerate(item.orientations) if way.direction != now.direction]
    return min(back, key=miss)
