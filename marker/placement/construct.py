"""First layouts: items one by one, each as near to the starting end as it can lie."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numba import njit

from marker.geometry.arrays import FloatArray, IntArray
from marker.placement.kernels import kernel
from marker.placement.nofit import NoFitTable
from marker.placement.problem import Arrangement, PlacementProblem, Position, strip_length
from marker.placement.state import Choices

LEVELS, RECENT = 32, 16
"""Heights across the strip tried for each item, besides those beside the last RECENT items."""

CROSSINGS = 64
"""Crossings of one no-fit polygon with a line that are followed; beyond, all of it is blocked."""

HAIR_MM = 1e-6
"""Kept from a boundary, so that a touching item is free of it in floating point, too."""


def first_layouts(
    problem: PlacementProblem, table: NoFitTable, choices: Choices, rng: np.random.Generator
) -> Iterator[Arrangement]:
    """Arrangements of ever more orderings, without end: by area, extent across, extent
    along, then the best of these shaken at random. Groups take random directions after the first.
    """
    area = np.array([_size(problem, item) for item in range(len(problem.items))])
    shapes = choices.shape[choices.start[:-1]]
    along, across = table.extent[shapes].T
    groups = int(choices.group.max(initial=-1)) + 1
    directions = np.zeros(max(groups, 1), dtype=np.int64)
    best_length, best_key = np.inf, area
    keys = iter((area, across * 1e3 + along, along * 1e3 + across, area * across))
    while True:
        key = next(keys, None)
        if key is None:
            key = best_key * np.exp(rng.normal(0.0, 0.3, len(area)))
            directions = rng.integers(0, 2, max(groups, 1))
        x, y, choice = leftmost(
            table, choices, np.argsort(-key, kind="stable"), directions, problem.width
        )
        arrangement = tuple(
            Position(float(x[i]), float(y[i]), int(choice[i])) for i in range(len(area))
        )
        length = strip_length(problem, arrangement)
        if length < best_length:
            best_length, best_key = length, key
        yield arrangement


def _size(problem: PlacementProblem, item: int) -> float:
    along, across = problem.extent(problem.items[item].orientations[0].shape)
    return along * across


@njit(cache=True, nogil=True)
def leftmost(
    table: NoFitTable, choices: Choices, order: IntArray, directions: IntArray, width: float
) -> tuple[FloatArray, FloatArray, IntArray]:
    """Place items in `order`, each with its far end as near the start as any tried height gives.

    directions : direction of each group. Returns x, y (n,) mm and choice (n,).
    """
    count = len(order)
    x, y = np.zeros(count), np.zeros(count)
    choice, shapes = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
    blocked = np.empty((CROSSINGS // 2 * count, 2))
    crossings = np.empty(CROSSINGS)
    for placed in range(count):
        item = order[placed]
        first = choices.start[item]
        group = choices.group[item]
        recent = min(placed, RECENT)
        best = np.inf
        for way in range(first, choices.start[item + 1]):
            if group >= 0 and choices.direction[way] != directions[group]:
                continue
            shape = choices.shape[way]
            high = max(width - table.extent[shape, 1], 0.0)
            for level in range(LEVELS + 2 * recent):
                if level < LEVELS:
                    at_y = high * level / (LEVELS - 1)
                else:
                    other = order[placed - 1 - (level - LEVELS) // 2]
                    at_y = y[other] + table.extent[shapes[other], 1]
                    if level % 2:
                        at_y = y[other] - table.extent[shape, 1]
                    if at_y < 0.0 or at_y > high:
                        continue
                at_x = _first_gap(
                    table, shape, at_y, order, placed, x, y, shapes, blocked, crossings
                )
                end = at_x + table.extent[shape, 0] + 1e-6 * at_y
                if end < best:
                    best = end
                    x[item], y[item] = at_x, at_y
                    choice[item], shapes[item] = way - first, shape
    return x, y, choice


@kernel
def _first_gap(
    table: NoFitTable,
    shape: int,
    at_y: float,
    order: IntArray,
    placed: int,
    x: FloatArray,
    y: FloatArray,
    shapes: IntArray,
    blocked: FloatArray,
    crossings: FloatArray,
) -> float:
    """Smallest x >= 0 where `shape` at height `at_y` overlaps none of the items placed.

    Each no-fit polygon blocks the intervals between its edges' crossings with the line.
    blocked, crossings : scratch.
    """
    count = 0
    for k in range(placed):
        other = order[k]
        a = shapes[other]
        dy = at_y - y[other]
        if -table.extent[shape, 1] < dy < table.extent[a, 1]:
            count = _block(table, a, shape, x[other], dy, blocked, count, crossings)
    at_x = 0.0
    moved = True
    while moved:  # items were placed from the start on, so few sweeps settle it
        moved = False
        for k in range(count):
            if blocked[k, 0] < at_x < blocked[k, 1]:
                at_x = blocked[k, 1] + HAIR_MM
                moved = True
    return at_x


@kernel
def _block(
    table: NoFitTable,
    a: int,
    shape: int,
    x: float,
    dy: float,
    blocked: FloatArray,
    count: int,
    crossings: FloatArray,
) -> int:
    """Append the intervals that one item in shape `a` at `x` blocks; how many there are then."""
    sign = 1.0 if a <= shape else -1.0
    p = table.pair[a, shape]
    dy *= sign
    row = int(table.grid[p, 5]) + int((dy - table.grid[p, 1]) * table.grid[p, 2])
    met = 0
    lowest, highest = np.inf, -np.inf
    for k in range(table.row_edges[row], table.row_edges[row + 1]):
        bottom = table.edge[k, 0]
        if bottom <= dy < table.edge[k, 1]:
            at = x + sign * (table.edge[k, 2] + (dy - bottom) * table.edge[k, 3])
            lowest, highest = min(lowest, at), max(highest, at)
            if met < CROSSINGS:
                _insert(crossings, met, at)
            met += 1
    if met > CROSSINGS:
        crossings[0], crossings[1] = lowest, highest
        met = 2
    for k in range(0, met - 1, 2):
        blocked[count, 0], blocked[count, 1] = crossings[k], crossings[k + 1]
        count += 1
    return count


@kernel
def _insert(ordered: FloatArray, count: int, value: float) -> None:
    """Insert into the first `count` entries, which are in order."""
    slot = count
    while slot > 0 and ordered[slot - 1] > value:
        ordered[slot] = ordered[slot - 1]
        slot -= 1
    ordered[slot] = value
