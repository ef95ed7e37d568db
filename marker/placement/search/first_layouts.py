"""First layouts: items one by one, each as near to the starting end as it can lie."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.placement.checking import ascending, at_least, positive
from marker.placement.problem.statement import (
    Arrangement,
    PlacementProblem,
    Position,
    feasible_positions,
    strip_length,
)
from marker.placement.search.state import Choices
from marker.placement.tables.hulls import blocked_by_hull
from marker.placement.tables.no_fit_polygons import (
    CODE_BITS,
    CODES,
    EXCHANGED,
    FLIPPED_X,
    TURNED,
    NoFitPolygons,
    seen,
)
from marker.tolerances import HAIR_MM

DUST = 1e-9
"""Part of a repeat by which floating point may miss a whole one."""


@dataclass(frozen=True)
class FirstLayoutParams:
    """How first layouts are made.

    tries : orderings tried for a start before the search proper, `batch` of them at a time.
    levels : heights across the strip tried for each item, besides those beside all obstacles and
    the `recent` last items.
    crossings : of one no-fit polygon with a line that are followed; beyond, all of it is blocked.
    shake : how far the best ordering is shaken, as the deviation of the logarithm of its keys.
    many, most : a problem that takes more no-fit polygons than the first gets a layout before they
    are made; for more than the second they never are.
    """

    tries: int = 12
    batch: int = 4
    levels: int = 32
    recent: int = 16
    crossings: int = 64
    shake: float = 0.3
    many: int = 2000
    most: int = 100_000

    def __post_init__(self) -> None:
        at_least(self, 1, "tries", "batch", "recent", "many")
        ascending(self, "many", "most")
        at_least(self, 2, "levels", "crossings")
        positive(self, "shake")

    @property
    def effort(self) -> Effort:
        """The numbers that the kernel reads."""
        return Effort(self.levels, self.recent, self.crossings)


class Ground(NamedTuple):
    """What there is before any item is placed.

    feasible : (w, 6) where each orientation may lie on an endless strip, see `feasible_positions`.
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


class FirstLayouts:
    """Layouts of ever more orderings: by area, by extent across, by extent along, by both; then the
    best of these shaken at random, with random directions of groups.

    They come in batches, whose layouts may be made side by side: the first of one, the second of
    the other plain orderings, then of shaken ones.
    """

    def __init__(
        self,
        problem: PlacementProblem,
        polygons: NoFitPolygons,
        choices: Choices,
        rng: np.random.Generator,
        params: FirstLayoutParams = FirstLayoutParams(),
    ) -> None:
        self._problem, self.polygons, self._choices = problem, polygons, choices
        self._rng, self._params = rng, params
        self._ground = ground_of(problem)
        self._groups = max(int(choices.group.max(initial=-1)) + 1, 1)
        along, across = polygons.extent[choices.shape[choices.start[:-1]]].T
        area = along * across
        self._best: tuple[float, FloatArray] = np.inf, area
        plain = [area, across * 1e3 + along, along * 1e3 + across, area * across]
        self._plain = [plain[:1], plain[1:]]

    def batch(self) -> list[Ordering]:
        """The next orderings, each to be laid by itself."""
        ahead = np.zeros(self._groups, dtype=np.int64)
        if self._plain:
            return [Ordering(key, ahead) for key in self._plain.pop(0)]
        return [self._shaken() for _ in range(self._params.batch)]

    def made(
        self,
        make: Callable[[Ordering], Arrangement],
        executor: ThreadPoolExecutor,
        is_late: Callable[[], bool],
        most: int | None = None,
    ) -> list[Arrangement]:
        """What `make` makes of the next batch, side by side; later batches learn from it.

        is_late : once it says so, none is begun but the first of all. most : so many at most.
        """

        def begun(ordering: Ordering) -> Arrangement | None:
            return None if self._best[0] < np.inf and is_late() else make(ordering)

        batch = self.batch()[:most]
        found: list[Arrangement] = []
        for ordering, arrangement in zip(batch, executor.map(begun, batch), strict=True):
            if arrangement is not None:
                self.learn(ordering, arrangement)
                found.append(arrangement)
        return found

    def laid(self, ordering: Ordering) -> Arrangement:
        """The layout of an ordering."""
        order = np.argsort(-ordering.key, kind="stable")
        x, y, choice = leftmost(
            self.polygons, self._choices, self._ground, order, ordering.directions,
            self._params.effort,
        )  # fmt: skip
        return tuple(Position(float(x[i]), float(y[i]), int(choice[i])) for i in range(len(order)))

    def learn(self, ordering: Ordering, arrangement: Arrangement) -> None:
        """Shake the shortest layout's ordering from now on."""
        length = strip_length(self._problem, arrangement)
        if length < self._best[0]:
            self._best = length, ordering.key

    def _shaken(self) -> Ordering:
        best = self._best[1]
        key = best * np.exp(self._rng.normal(0.0, self._params.shake, len(best)))
        return Ordering(key, self._rng.integers(0, 2, self._groups))


class Ordering(NamedTuple):
    """The item with the greatest key is laid first. directions : of each group."""

    key: FloatArray
    directions: IntArray


class Placed(NamedTuple):
    """What lies already, by number of item or obstacle. order : in which they were placed."""

    order: IntArray
    x: FloatArray
    y: FloatArray
    shape: IntArray


class Scratch(NamedTuple):
    """Room for intervals (k, 2) and for crossings of one no-fit polygon with a line (c,)."""

    blocked: FloatArray
    crossings: FloatArray


@kernel(allocates=True)
def leftmost(
    polygons: NoFitPolygons,
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
    laid = np.empty(count + fixed, dtype=np.int64)
    for k in range(fixed):  # obstacles lie there first
        x[count + k], y[count + k], shapes[count + k] = ground.x[k], ground.y[k], ground.shape[k]
        laid[k] = count + k
    for k in range(count):
        laid[fixed + k] = order[k]
    already = Placed(laid, x, y, shapes)
    scratch = Scratch(np.empty((effort.crossings // 2 * len(laid), 2)), np.empty(effort.crossings))
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
            start, every = ground.feasible[orientation, 0], ground.feasible[orientation, 2]
            low, high = ground.feasible[orientation, 3], ground.feasible[orientation, 4]
            repeat = ground.feasible[orientation, 5]
            for level in range(effort.levels + 2 * beside):
                if level < effort.levels:
                    at_y = low + (high - low) * level / (effort.levels - 1)
                    at_y = _on_repeat(at_y, low, repeat, 0.5)
                else:
                    k = (level - effort.levels) // 2
                    other = laid[k] if k < fixed else laid[placed - 1 - (k - fixed)]
                    if level % 2:
                        at_y = y[other] - polygons.extent[shape, 1]
                        at_y = _on_repeat(at_y, low, repeat, DUST)
                    else:
                        at_y = y[other] + polygons.extent[shapes[other], 1]
                        at_y = _on_repeat(at_y, low, repeat, 1.0 - DUST)
                    if at_y < low or at_y > high:
                        continue
                at_x = first_gap(polygons, shape, (start, every, at_y), already, placed, scratch)
                end = at_x + polygons.extent[shape, 0] + 1e-6 * at_y
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
    polygons: NoFitPolygons,
    shape: int,
    line: tuple[float, float, float],
    already: Placed,
    placed: int,
    scratch: Scratch,
) -> float:
    """Smallest x on a line where `shape` overlaps none of the first so many that are `placed`.

    line : where it begins, from where on it is tied to whole repeats of the second number, 0 where
    any x will do; and its height.
    Each no-fit polygon blocks the intervals between its edges' crossings with the line.
    """
    low, repeat, at_y = line
    count = 0
    for k in range(placed):
        other = already.order[k]
        a = already.shape[other]
        dy = at_y - already.y[other]
        if -polygons.extent[shape, 1] < dy < polygons.extent[a, 1]:
            count = _block(polygons, (a, shape), (already.x[other], dy), scratch, count)
    at_x = low
    moved = True
    while moved:  # items were placed from the start on, so few sweeps settle it
        moved = False
        for k in range(count):
            if scratch.blocked[k, 0] < at_x < scratch.blocked[k, 1]:
                at_x = _on_repeat(scratch.blocked[k, 1] + HAIR_MM, low, repeat, 1.0 - DUST)
                moved = True
    return at_x


@kernel()
def _block(
    polygons: NoFitPolygons,
    pair: tuple[int, int],
    at: tuple[float, float],
    scratch: Scratch,
    count: int,
) -> int:
    """Append the intervals that one item blocks for another; how many there are then.

    pair : shapes of both. at : x of the one, and how much higher the other would lie.
    """
    a, shape = pair
    x, dy = at
    entry = polygons.pair[a, shape]
    if entry < 0:
        low, high = blocked_by_hull(polygons.hulls, a, shape, dy)
        scratch.blocked[count, 0], scratch.blocked[count, 1] = x + low, x + high
        return count + 1
    code, p = entry & CODES - 1, entry >> CODE_BITS
    box_a = polygons.extent[a, 0], polygons.extent[a, 1]
    box_b = polygons.extent[shape, 0], polygons.extent[shape, 1]
    held, start = seen(code, (0.0, dy), box_a, box_b)
    turned = code & TURNED != 0
    if not turned:  # the line runs along the polygon's x
        held, start = start, held
    back = (code & EXCHANGED != 0) != (code & FLIPPED_X != 0)
    met = 0
    lowest, highest = np.inf, -np.inf
    for k in range(polygons.start[p], polygons.start[p + 1]):
        x1, y1 = polygons.edge[k, 0], polygons.edge[k, 1]
        x2, y2 = polygons.edge[k, 2], polygons.edge[k, 3]
        if turned:
            x1, y1, x2, y2 = y1, x1, y2, x2
        if (y1 > held) == (y2 > held):
            continue
        along = x1 + (held - y1) * (x2 - x1) / (y2 - y1) - start
        crossing = x - along if back else x + along
        lowest, highest = min(lowest, crossing), max(highest, crossing)
        if met < len(scratch.crossings):
            _insert(scratch.crossings, met, crossing)
        met += 1
    if met > len(scratch.crossings):
        scratch.crossings[0], scratch.crossings[1] = lowest, highest
        met = 2
    for k in range(0, met - 1, 2):
        scratch.blocked[count, 0] = scratch.crossings[k]
        scratch.blocked[count, 1] = scratch.crossings[k + 1]
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
