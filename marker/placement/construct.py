"""First layouts: items one by one, each as near to the starting end as it can lie."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numba import njit

from marker.geometry.arrays import FloatArray, IntArray
from marker.placement.nofit import NoFitTable
from marker.placement.problem import Arrangement, PlacementProblem, Position, strip_length
from marker.placement.state import Choices

LEVELS = 48
"""Heights across the strip tried for each item, besides those that touch an item's extent."""


def first_layouts(
    problem: PlacementProblem, table: NoFitTable, choice_list: Choices, rng: np.random.Generator
) -> Iterator[tuple[float, Arrangement]]:
    """(length, arrangement) of ever more orderings, without end: by area, extent across, extent
    along, then the best of these shaken at random. Groups take random directions after the first.
    """
    area = np.array([_size(problem, item) for item in range(len(problem.items))])
    shapes = choice_list.shape[choice_list.start[:-1]]
    along, across = table.extent[shapes].T
    groups = int(choice_list.group.max(initial=-1)) + 1
    directions = np.zeros(max(groups, 1), dtype=np.int64)
    best_length, best_key = np.inf, area
    keys = iter((area, across * 1e3 + along, along * 1e3 + across, area * across))
    while True:
        key = next(keys, None)
        if key is None:
            key = best_key * np.exp(rng.normal(0.0, 0.3, len(area)))
            directions = rng.integers(0, 2, max(groups, 1))
        x, y, choice = leftmost(
            table, choice_list, np.argsort(-key, kind="stable"), directions, problem.width
        )
        arrangement = tuple(
            Position(float(x[i]), float(y[i]), int(choice[i])) for i in range(len(area))
        )
        length = strip_length(problem, arrangement)
        if length < best_length:
            best_length, best_key = length, key
        yield length, arrangement


def _size(problem: PlacementProblem, item: int) -> float:
    along, across = problem.extent(problem.items[item].orientations[0].shape)
    return along * across


@njit(cache=True, nogil=True)
def leftmost(
    table: NoFitTable, choice_list: Choices, order: IntArray, directions: IntArray, width: float
) -> tuple[FloatArray, FloatArray, IntArray]:
    """Place items in `order`, each with its far end as near the start as any tried height gives.

    directions : direction of each group. Returns x, y (n,) mm and choice (n,).
    """
    count = len(order)
    x, y = np.zeros(count), np.zeros(count)
    choice, shapes = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
    for placed in range(count):
        item = order[placed]
        first = choice_list.start[item]
        group = choice_list.group[item]
        best = np.inf
        for way in range(first, choice_list.start[item + 1]):
            if group >= 0 and choice_list.direction[way] != directions[group]:
                continue
            shape = choice_list.shape[way]
            high = max(width - table.extent[shape, 1], 0.0)
            for level in range(LEVELS + 2 * placed):
                if level < LEVELS:
                    at_y = high * level / (LEVELS - 1)
                else:
                    other = order[(level - LEVELS) // 2]
                    at_y = y[other] + table.extent[shapes[other], 1]
                    if level % 2:
                        at_y = y[other] - table.extent[shape, 1]
                    if at_y < 0.0 or at_y > high:
                        continue
                at_x = _first_gap(table, shape, at_y, order[:placed], x, y, shapes)
                end = at_x + table.extent[shape, 0] + 1e-6 * at_y
                if end < best:
                    best = end
                    x[item], y[item] = at_x, at_y
                    choice[item], shapes[item] = way - first, shape
    return x, y, choice


@njit(cache=True, nogil=True)
def _first_gap(
    table: NoFitTable,
    shape: int,
    at_y: float,
    placed: IntArray,
    x: FloatArray,
    y: FloatArray,
    shapes: IntArray,
) -> float:
    """Smallest x >= 0 where `shape` at height `at_y` overlaps no placed item.

    Each no-fit polygon blocks the intervals between the crossings of its edges with the line.
    """
    low = np.empty(64 * (len(placed) + 1))
    high = np.empty(64 * (len(placed) + 1))
    blocked = 0
    crossings = np.empty(128)
    for other in placed:
        a = shapes[other]
        sign = 1.0 if a <= shape else -1.0
        p = table.pair[a, shape]
        dy = at_y - y[other]
        if dy <= -table.extent[shape, 1] or dy >= table.extent[a, 1]:
            continue
        dy *= sign
        r = int(table.grid[p, 5]) + int((dy - table.grid[p, 1]) * table.grid[p, 2])
        met = 0
        for k in range(table.row_edges[r], table.row_edges[r + 1]):
            bottom = table.edge[k, 0]
            if bottom <= dy < table.edge[k, 1] and met < len(crossings):
                at = table.edge[k, 2] + (dy - bottom) * table.edge[k, 3]
                crossings[met] = sign * at + x[other]
                met += 1
        crossings[:met].sort()
        for k in range(0, met - 1, 2):
            low[blocked], high[blocked] = crossings[k], crossings[k + 1]
            blocked += 1
    at_x = 0.0
    for k in np.argsort(low[:blocked]):
        if low[k] >= at_x:
            break  # intervals come in order of their start, so nothing later blocks at_x
        at_x = max(at_x, high[k])
    return at_x
