"""Many calls of one kernel inside one compiled loop, so that the interpreter costs nothing."""

from __future__ import annotations

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.placement.search.first_layouts import FirstLayoutParams, first_gap
from marker.placement.search.overlaps import Choices, Effort, State, weighted_penalty
from marker.placement.search.separation import descend, improve
from marker.placement.tables.overlap_grids import NoFitTable

_CROSSINGS = FirstLayoutParams().crossings


def _gap_searches(
    table: NoFitTable, state: State, shapes: IntArray, heights: FloatArray
) -> FloatArray:
    """First gap among all items of `state` for each shape at each height."""
    everyone = np.arange(len(state.x))
    found = np.empty(len(shapes))
    blocked = np.empty((_CROSSINGS // 2 * len(everyone), 2))
    crossings = np.empty(_CROSSINGS)
    for k in range(len(shapes)):
        found[k] = first_gap(
            table, shapes[k], 0.0, 0.0, heights[k], everyone, len(everyone),
            state.x, state.y, state.shape, blocked, crossings,
        )  # fmt: skip
    return found


def _penalties(table: NoFitTable, state: State, items: IntArray, at: FloatArray) -> FloatArray:
    """Weighted penalty of each item at its position of `at` (n, 2)."""
    found = np.empty(len(items))
    for k in range(len(items)):
        item = items[k]
        found[k] = weighted_penalty(
            table, state, item, state.shape[item], at[k, 0], at[k, 1], np.inf
        )
    return found


def _descents(
    table: NoFitTable,
    choices: Choices,
    state: State,
    items: IntArray,
    at: FloatArray,
    start: FloatArray,
    effort: Effort,
) -> FloatArray:
    """Penalty after the rough descent of a move, for each item from its position of `at`."""
    found = np.empty(len(items))
    for k in range(len(items)):
        item = items[k]
        shape = state.shape[item]
        size = min(table.extent[shape, 0], table.extent[shape, 1])
        found[k] = descend(
            table, state, effort, (item, choices.start[item] + state.choice[item], shape),
            (at[k, 0], at[k, 1], start[k]), (effort.coarse * size, effort.fine * size, np.inf),
        )[2]  # fmt: skip
    return found


def _moves(
    table: NoFitTable,
    choices: Choices,
    state: State,
    items: IntArray,
    effort: Effort,
) -> None:
    """One full move of each item in turn."""
    for item in items:
        improve(table, choices, state, effort, item)


_compiled = kernel(allocates=True)
gap_searches = _compiled(_gap_searches)
penalties = _compiled(_penalties)
descents = _compiled(_descents)
moves = _compiled(_moves)
