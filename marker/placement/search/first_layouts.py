"""First layouts: items one by one, each as near to the starting end as it can lie."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.placement.checking import at_least, positive
from marker.placement.problem.statement import (
    Arrangement,
    PlacementProblem,
    Position,
    feasible_positions,
    strip_length,
)
from marker.placement.search.overlaps import Choices
from marker.placement.tables.overlap_grids import NoFitTable
from marker.tolerances import HAIR_MM

DUST = 1e-9
"""Part of a repeat by which floating point may miss a whole one."""


@dataclass(frozen=True)
class FirstLayoutParams:
    """How first layouts are made.

    tries : orderings tried for a start before the search proper. levels : heights across the strip
    tried for each item, besides those beside all obstacles and the `recent` last items.
    crossings : of one no-fit polygon with a line that are followed; beyond, all of it is blocked.
    shake : how far the best ordering is shaken, as the deviation of the logarithm of its keys.
    """

    tries: int = 12
    levels: int = 32
    recent: int = 16
    crossings: int = 64
    shake: float = 0.3

    def __post_init__(self) -> None:
        at_least(self, 1, "tries", "recent")
        at_least(self, 2, "levels", "crossings")
        positive(self, "shake")

    @property
    def effort(self) -> Effort:
        """The numbers that the kernel reads."""
        return Effort(self.levels, self.recent, self.crossings)


class Ground(NamedTuple):
    """What there is before any item is placed.

    room : (w, 6) where each orientation may lie on an endless strip, see `feasible_positions`.
    x, y, shape : (m,) the obstacles.
    """

    feasible: FloatArray
    x: FloatArray
    y: FloatArray
    shape: IntArray


class Effort(NamedTuple):
    """Numbers of `FirstLayoutParams` that the kernel reads."""

    levels: int
    recent: int
    crossings: int


def ground_of(problem: PlacementProblem) -> Ground:
    """The ground of a problem."""
    obstacles = problem.obstacles
    return Ground(
        feasible_positions(problem, np.inf),
        np.array([each.x for each in obstacles], dtype=np.float64),
        np.array([each.y for each in obstacles], dtype=np.float64),
        np.array([each.shape for each in obstacles], dtype=np.int64),
    )


def first_layouts(
    problem: PlacementProblem,
    table: NoFitTable,
    choices: Choices,
    rng: np.random.Generator,
    params: FirstLayoutParams = FirstLayoutParams(),
) -> Iterator[Arrangement]:
    """Arrangements of ever more orderings, without end: by area, extent across, extent
    along, then the best of these shaken at random. Groups take random directions after the first.
    """
    area = np.array([_size(problem, item) for item in range(len(problem.items))])
    shapes = choices.shape[choices.start[:-1]]
    along, across = table.extent[shapes].T
    ground = ground_of(problem)
    groups = int(choices.group.max(initial=-1)) + 1
    directions = np.zeros(max(groups, 1), dtype=np.int64)
    best_length, best_key = np.inf, area
    keys = iter((area, across * 1e3 + along, along * 1e3 + across, area * across))
    while True:
        key = next(keys, None)
        if key is None:
            key = best_key * np.exp(rng.normal(0.0, params.shake, len(area)))
            directions = rng.integers(0, 2, max(groups, 1))
        order = np.argsort(-key, kind="stable")
        x, y, choice = leftmost(table, choices, ground, order, directions, params.effort)
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


@kernel(allocates=True)
def leftmost(
    table: NoFitTable,
    choices: Choices,
    ground: Ground,
    order: IntArray,
    directions: IntArray,
    effort: Effort,
) -> tuple[FloatArray, FloatArray, IntArray]:
    """Place items in `order`, each with its far end as near the start as any tried height gives.

    directions : direction of each group. Returns x, y (n,) mm and choice (n,).
    """
    count, fixed = len(order), len(ground.x)
    x, y = np.zeros(count + fixed), np.zeros(count + fixed)
    choice, shapes = np.zeros(count, dtype=np.int64), np.zeros(count + fixed, dtype=np.int64)
    x[count:], y[count:], shapes[count:] = ground.x, ground.y, ground.shape
    laid = np.concatenate((np.arange(count, count + fixed), order))  # obstacles lie there first
    blocked = np.empty((effort.crossings // 2 * len(laid), 2))
    crossings = np.empty(effort.crossings)
    for placed in range(fixed, len(laid)):
        item = laid[placed]
        first = choices.start[item]
        group = choices.group[item]
        beside = fixed + min(placed - fixed, effort.recent)
        best = np.inf
        for orientation in range(first, choices.start[item + 1]):
            if group >= 0 and choices.direction[orientation] != directions[group]:
                continue
            shape = choices.shape[orientation]
            low, high, repeat = (
                ground.feasible[orientation, 3],
                ground.feasible[orientation, 4],
                ground.feasible[orientation, 5],
            )
            for level in range(effort.levels + 2 * beside):
                if level < effort.levels:
                    at_y = low + (high - low) * level / (effort.levels - 1)
                    at_y = _on_repeat(at_y, low, repeat, 0.5)
                else:
                    k = (level - effort.levels) // 2
                    other = laid[k] if k < fixed else laid[placed - 1 - (k - fixed)]
                    if level % 2:
                        at_y = y[other] - table.extent[shape, 1]
                        at_y = _on_repeat(at_y, low, repeat, DUST)
                    else:
                        at_y = y[other] + table.extent[shapes[other], 1]
                        at_y = _on_repeat(at_y, low, repeat, 1.0 - DUST)
                    if at_y < low or at_y > high:
                        continue
                at_x = first_gap(
                    table, shape, ground.feasible[orientation, 0],
                    ground.feasible[orientation, 2], at_y,
                    laid, placed, x, y, shapes, blocked, crossings,
                )  # fmt: skip
                end = at_x + table.extent[shape, 0] + 1e-6 * at_y
                if end < best:
                    best = end
                    x[item], y[item] = at_x, at_y
                    choice[item], shapes[item] = orientation - first, shape
    return x[:count], y[:count], choice


@kernel(inline=True)
def _on_repeat(value: float, low: float, repeat: float, lift: float) -> float:
    """The last position tied to the repeat before `value` + `lift` repeats, any where not tied."""
    if repeat > 0.0:
        return float(low + repeat * np.floor((value - low) / repeat + lift))
    return value


@kernel()
def first_gap(
    table: NoFitTable,
    shape: int,
    low: float,
    repeat: float,
    at_y: float,
    order: IntArray,
    placed: int,
    x: FloatArray,
    y: FloatArray,
    shapes: IntArray,
    blocked: FloatArray,
    crossings: FloatArray,
) -> float:
    """Smallest x, `low` and whole repeats, where `shape` at height `at_y` overlaps nothing placed.

    repeat : 0 where any x will do.
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
    at_x = low
    moved = True
    while moved:  # items were placed from the start on, so few sweeps settle it
        moved = False
        for k in range(count):
            if blocked[k, 0] < at_x < blocked[k, 1]:
                at_x = _on_repeat(blocked[k, 1] + HAIR_MM, low, repeat, 1.0 - DUST)
                moved = True
    return at_x


@kernel()
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
            if met < len(crossings):
                _insert(crossings, met, at)
            met += 1
    if met > len(crossings):
        crossings[0], crossings[1] = lowest, highest
        met = 2
    for k in range(0, met - 1, 2):
        blocked[count, 0], blocked[count, 1] = crossings[k], crossings[k + 1]
        count += 1
    return count


@kernel()
def _insert(ordered: FloatArray, count: int, value: float) -> None:
    """Insert into the first `count` entries, which are in order."""
    slot = count
    while slot > 0 and ordered[slot - 1] > value:
        ordered[slot] = ordered[slot - 1]
        slot -= 1
    ordered[slot] = value
