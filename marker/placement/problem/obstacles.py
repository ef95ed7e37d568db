"""Cloth that may not be used, as obstacles of a problem: flaws, pieces laid by hand, remnants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from marker.geometry import polygons
from marker.geometry.arrays import FloatArray
from marker.placement.problem.statement import Arrangement, Obstacle, PlacementProblem, strip_length
from marker.tolerances import JUDGED_MM


def with_obstacles(
    problem: PlacementProblem, outlines: Sequence[FloatArray], distance: float
) -> PlacementProblem:
    """The problem with these outlines as further obstacles.

    outlines : (n, 2) each, where they lie on the cloth: mm from its start and near edge, simple,
    counter-clockwise, nowhere narrower than 0.02 mm. distance : mm that pieces keep from them
    besides half the gap between pieces, so half the gap again for a piece laid by hand.
    """
    shapes, obstacles = list(problem.shapes), list(problem.obstacles)
    cores = [problem.core(shape) for shape in range(len(shapes))]
    for outline in outlines:
        grown = polygons.grow(outline, distance)
        low = grown.min(axis=0)
        x, y = low + problem.margin
        obstacles.append(Obstacle(len(shapes), float(x), float(y)))
        shapes.append(grown - low)
        # cores keep the whole gap, pieces owe obstacles only half of it and the distance
        cores.append(polygons.shrink(outline, max(problem.margin - distance, 0.0)) - low)
    return replace(problem, shapes=tuple(shapes), obstacles=tuple(obstacles), cores=tuple(cores))


def on_remnant(
    problem: PlacementProblem, outline: FloatArray, holes: Sequence[FloatArray] = ()
) -> PlacementProblem:
    """The problem laid on a remnant in place of a strip as wide as that is.

    outline, holes : (n, 2) each, mm, counter-clockwise; wherever they lie. The remnant's bounding
    box becomes the start of the strip and what it lacks of that box an obstacle each, from which
    pieces keep half the gap. Beyond it the strip goes on, so that there is a layout at any time:
    the pieces fit the remnant if `fits` says so.

    Raises ValueError if the problem's usable width is not the remnant's extent across.
    """
    low, high = outline.min(axis=0), outline.max(axis=0)
    across = float(high[1] - low[1])
    if not np.isclose(across, problem.usable_width, rtol=0.0, atol=1e-6):
        raise ValueError(f"the remnant is {across} mm across, the strip {problem.usable_width} mm")
    return with_obstacles(
        problem, polygons.lacking(outline - low, [hole - low for hole in holes]), 0.0
    )


def fits(problem: PlacementProblem, arrangement: Arrangement, outline: FloatArray) -> bool:
    """Whether an arrangement of the problem `on_remnant` lies on the remnant wholly."""
    return strip_length(problem, arrangement) <= float(np.ptp(outline[:, 0])) + JUDGED_MM
