"""Arrangements under repair, for the tests of separation, search and their kernels."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon, box

from marker.placement.problem.statement import Arrangement, PlacementProblem, Position
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from marker.placement.tables.overlap_grids import OverlapGrids, overlap_grids
from tests.placement.problems import problem
from tests.shapes import CAST

ROUNDING_MM = 0.02
"""Laps up to here are touching: the no-fit polygons' play and the grid of their outlines."""


def cast_problem(
    names: Sequence[str], width: float, turns: Sequence[float] = (0.0, 180.0), scale: float = 20.0
) -> PlacementProblem:
    """A problem of members of the cast, `scale` times as large."""
    return problem([CAST[name] * scale for name in names], width, turns)


def grids_of(given: PlacementProblem) -> OverlapGrids:
    return overlap_grids(no_fit_polygons(given), given.shapes)


def scattered(given: PlacementProblem, length: float, rng: np.random.Generator) -> Arrangement:
    """Every item anywhere within length × width, in any orientation, laps and all."""
    found = []
    for item in given.items:
        orientation = int(rng.integers(len(item.orientations)))
        along, across = given.extent(item.orientations[orientation].shape)
        x, y = rng.uniform(0, length - along), rng.uniform(0, given.width - across)
        found.append(Position(float(x), float(y), orientation))
    return tuple(found)


def solids(given: PlacementProblem, arrangement: Arrangement) -> list[Polygon]:
    """Each item as it lies."""
    return [
        affinity.translate(
            Polygon(given.shapes[item.orientations[position.orientation].shape]),
            position.x,
            position.y,
        )
        for item, position in zip(given.items, arrangement, strict=True)
    ]


def lap(a: Polygon, b: Polygon) -> bool:
    """Whether two polygons lie over each other by more than rounding: a circle fits the lap."""
    return not a.intersection(b).buffer(-ROUNDING_MM / 2).is_empty


def is_free(given: PlacementProblem, arrangement: Arrangement) -> bool:
    """Whether no two items lap and none reaches over the edges of the strip."""
    laid = solids(given, arrangement)
    inside = all(
        min(low_x, low_y) >= -ROUNDING_MM and high_y <= given.width + ROUNDING_MM
        for low_x, low_y, _, high_y in (each.bounds for each in laid)
    )
    return inside and not any(lap(a, b) for k, a in enumerate(laid) for b in laid[:k])


def faults(given: PlacementProblem, arrangement: Arrangement) -> list[str]:
    """Every rule of the problem that an arrangement breaks, found with shapely alone."""
    laid = solids(given, arrangement)
    fixed = [
        affinity.translate(Polygon(given.shapes[each.shape]), each.x, each.y)
        for each in given.obstacles
    ]
    strip = box(-ROUNDING_MM, -ROUNDING_MM, 1e6, given.width + ROUNDING_MM)
    found = [f"item {k} over the edge" for k, each in enumerate(laid) if not strip.covers(each)]
    for k, each in enumerate(laid):
        found += [f"items {j} and {k} lap" for j in range(k) if lap(each, laid[j])]
        found += [
            f"item {k} laps obstacle {j}" for j, other in enumerate(fixed) if lap(each, other)
        ]
    directions: dict[int, set[int]] = {}
    for k, (item, position) in enumerate(zip(given.items, arrangement, strict=True)):
        orientation = item.orientations[position.orientation]
        directions.setdefault(item.group, set()).add(orientation.direction)
        tied = zip((position.x, position.y), item.repeat, orientation.phase, strict=True)
        for at, repeat, phase in tied:
            if repeat and abs(np.remainder(at - phase + repeat / 2, repeat) - repeat / 2) > 1e-6:
                found.append(f"item {k} off its repeat")
    mixed = [group for group, seen in directions.items() if group >= 0 and len(seen) > 1]
    return found + [f"group {group} points both ways" for group in mixed]
