"""Many calls of one kernel inside one compiled loop, so that the interpreter costs nothing."""

from __future__ import annotations

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.placement.search.descent import descend
from marker.placement.search.first_layouts import FirstLayoutParams, Placed, Scratch, first_gap
from marker.placement.search.moves import improve
from marker.placement.search.overlaps import weighted_penalty
from marker.placement.search.state import Choices, Effort, State
from marker.placement.tables.no_fit_polygons import NoFitPolygons
from marker.placement.tables.overlap_grids import OverlapGrids

_CROSSINGS = FirstLayoutParams().crossings


def _gap_searches(
    polygons: NoFitPolygons, state: State, shapes: IntArray, heights: FloatArray
) -> FloatArray:
    """First gap among all items of `state` for each shape at each height."""
    everyone = np.arange(len(state.x))
    found = np.empty(len(shapes))
    scratch = Scratch(np.empty((_CROSSINGS // 2 * len(everyone), 2)), np.empty(_CROSSINGS))
    already = Placed(everyone, state.x, state.y, state.shape)
    for k in range(len(shapes)):
        line = (0.0, 0.0, heights[k])
        found[k] = first_gap(polygons, shapes[k], line, already, len(everyone), scratch)
    return found


def _penalties(grids: OverlapGrids, state: State, items: IntArray, at: FloatArray) -> FloatArray:
    """Weighted penalty of each item at its position of `at` (n, 2)."""
    found = np.empty(len(items))
    for k in range(len(items)):
        item = items[k]
        who = item, state.shape[item]
        found[k] = weighted_penalty(grids, state, who, (at[k, 0], at[k, 1]), np.inf, False)
    return found


def _descents(
    grids: OverlapGrids,
    choices: Choices,
    state: State,
    items: IntArray,
    at: FloatArray,
    effort: Effort,
) -> FloatArray:
    """Penalty after the rough descent of a move, for each item from its position of `at`."""
    found = np.empty(len(items))
    for k in range(len(items)):
        item = items[k]
        shape = state.shape[item]
        size = min(grids.extent[shape, 0], grids.extent[shape, 1])
        found[k] = descend(
            grids, state, effort, (item, choices.start[item] + state.choice[item], shape),
            (at[k, 0], at[k, 1]), (effort.coarse * size, effort.fine * size, np.inf),
        )[2]  # fmt: skip
    return found


def _moves(
    grids: OverlapGrids,
    choices: Choices,
    state: State,
    items: IntArray,
    effort: Effort,
) -> None:
    """One full move of each item in turn."""
    for item in items:
        improve(grids, choices, state, effort, item)


_compiled = kernel(allocates=True)
gap_searches = _compiled(_gap_searches)
penalties = _compiled(_penalties)
descents = _compiled(_descents)
moves = _compiled(_moves)
