"""The search strategy: several workers on one strip, shrinking it after each success.

Exploration shrinks by larger steps and answers failure with disturbed restarts from a pool of
arrangements that nearly fitted; compression, the last part of the run, shrinks the best layout
by ever finer steps (schedule after Gardeyn, Vanden Berghe & Wauters 2025). Every success goes
through the compaction, whose result alone counts.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np

from marker.geometry.arrays import IntArray
from marker.placement.boundary import Boundaries
from marker.placement.compact import compact
from marker.placement.construct import first_layouts
from marker.placement.nofit import NoFitTable
from marker.placement.problem import (
    Arrangement,
    Item,
    PlacementProblem,
    Position,
    strip_length,
)
from marker.placement.room import in_a_row
from marker.placement.separate import Effort, separate
from marker.placement.state import Choices, State, arrangement_of, state_of

CHUNK = 50
"""Rounds of separation a worker does in one iteration, before the workers share what they found."""

COMPRESSION = 0.8
"""Share of the allowance after which exploration gives way to compression."""

WORTHWHILE = 0.98
"""A severity must fall below this many times the least so far to count as progress."""

FAIR_GAIN = 0.3
"""Part of the shrinking step that a new layout must gain for every worker to go on from it."""

GROWTH, DECAY, FINE_DECAY = 1.5, 0.5, 0.7
"""How the shrinking grows with a success and falls with a failure."""

TURNING = 0.3
"""How often a disturbance turns a whole garment round, where garments may."""

LARGE = 0.75
"""Items that together make up this part of all bounding boxes, largest first, count as large."""

HOPELESS = 1.02
"""A near miss that the linear program frees only beyond this many times the target is let go."""

LARGEST_SHRINK, SMALLEST_SHRINK = 0.01, 0.001
"""Shrinking while exploring, relative: larger after each success, smaller after each failure."""

LARGEST_FINE, SMALLEST_FINE = 0.0005, 0.00001
"""Shrinking while compressing: it starts at the first and falls with each failure."""


@dataclass(frozen=True)
class Shared:
    """What all workers read."""

    problem: PlacementProblem
    edges_of: Boundaries
    table: NoFitTable
    choices: Choices
    effort: Effort


class Worker:
    """One thread's trajectory: the arrangement it repairs and the length it aims for.

    found : a layout that came of its last work, if any. done : whether it needs a new aim.
    best_left : least severity it has come down to.
    """

    def __init__(
        self, shared: Shared, rng: np.random.Generator, start: Arrangement, target: float
    ) -> None:
        self.shared = shared
        self.rng = rng
        self.aim(start, target)

    def aim(self, arrangement: Arrangement, target: float) -> None:
        """Start anew from `arrangement`, pressed into length `target`, weights forgotten."""
        seed = int(self.rng.integers(2**62))
        self.state: State = state_of(self.shared.problem, arrangement, target, seed)
        self.target = target
        self.stale = 0
        self.best_left = np.inf
        self.found: Arrangement | None = None
        self.done = False

    def separate(self, rounds: int) -> float:
        """Separate in place for so many rounds; the severity left."""
        shared = self.shared
        return separate(shared.table, shared.choices, self.state, rounds, shared.effort)

    def work(self) -> None:
        """One iteration: separate for a while; compact what came free, or came near enough."""
        shared = self.shared
        left = self.separate(CHUNK)
        self.stale = self.stale + 1 if left > WORTHWHILE * self.best_left else 0
        self.best_left = min(left, self.best_left)
        self.done = left == 0.0 or self.stale * CHUNK >= shared.effort.patience
        if self.done:
            # a near miss, too, may be freed by the linear program at little more than the target
            self.found = compact(
                shared.problem,
                shared.edges_of,
                arrangement_of(self.state),
                hopeless=self.target * HOPELESS,
            )


@dataclass
class Search:
    """All workers and what they share: the best layout and the pool of near misses."""

    shared: Shared
    workers: list[Worker]
    best: Arrangement
    rng: np.random.Generator
    shrink: float = LARGEST_SHRINK
    fine: float = LARGEST_FINE
    pool: list[tuple[float, Arrangement]] = field(default_factory=list)

    @classmethod
    def start(
        cls, shared: Shared, best: Arrangement, rng: np.random.Generator, workers: int
    ) -> Search:
        """A search from one layout, each worker with random numbers of its own."""
        search = cls(shared, [], best, rng)
        for stream in rng.spawn(workers):
            target = search._next_target(compressing=False)
            search.workers.append(Worker(shared, stream, best, target))
        return search

    def compile(self) -> float:
        """Have the separation compiled, at its first use on a machine; the seconds that took,
        which a search should not be charged for."""
        before = time.monotonic()
        self.workers[0].separate(rounds=0)
        return time.monotonic() - before

    @property
    def length(self) -> float:
        """Length of the best layout so far, mm."""
        return strip_length(self.shared.problem, self.best)

    def iterate(self, executor: ThreadPoolExecutor, share: float) -> None:
        """Let every worker work once, then share what they found.

        share : part of the allowance used up; it decides between exploring and compressing.
        """
        list(executor.map(Worker.work, self.workers))
        compressing = share >= COMPRESSION
        gain = self._take_best()
        if gain > FAIR_GAIN * (self.fine if compressing else self.shrink):
            self.pool.clear()
            self.shrink = min(self.shrink * GROWTH, LARGEST_SHRINK)
            for worker in self.workers:
                worker.aim(self.best, self._next_target(compressing))
            return
        for worker in self.workers:
            if worker.done:
                self._restart(worker, compressing)

    def _take_best(self) -> float:
        """Keep the shortest layout found; how much shorter it is, relative to the one before."""
        before = self.length
        for worker in self.workers:
            found = worker.found
            if found is not None and strip_length(self.shared.problem, found) < self.length:
                self.best = found
        return 1 - self.length / before

    def _next_target(self, compressing: bool) -> float:
        margin = 2 * self.shared.problem.margin
        return (self.length + margin) * (1 - (self.fine if compressing else self.shrink))

    def _restart(self, worker: Worker, compressing: bool) -> None:
        """After a failure: smaller steps, and when exploring another start, disturbed."""
        if compressing:
            self.fine = max(self.fine * FINE_DECAY, SMALLEST_FINE)
            worker.aim(self.best, self._next_target(compressing))
            return
        self.shrink = max(self.shrink * DECAY, SMALLEST_SHRINK)
        self.pool.append((worker.best_left, arrangement_of(worker.state)))
        self.pool.sort(key=lambda entry: entry[0])
        # nearer misses are likelier: the square presses the draw towards the front
        _, start = self.pool[int(self.rng.random() ** 2 * len(self.pool))]
        worker.aim(disturbed(self.shared, start, self.rng), self._next_target(compressing))


def compacted_layouts(shared: Shared, rng: np.random.Generator) -> Iterator[Arrangement]:
    """First layouts drawn together, without end; in place of one that can't be, a row."""
    for arrangement in first_layouts(shared.problem, shared.table, shared.choices, rng):
        drawn = compact(shared.problem, shared.edges_of, arrangement)
        yield drawn or in_a_row(shared.problem)


def disturbed(shared: Shared, arrangement: Arrangement, rng: np.random.Generator) -> Arrangement:
    """Two large items of different shape change places; now and then a whole group turns round."""
    items = list(arrangement)
    groups = np.unique(shared.choices.group[shared.choices.group >= 0])
    if len(groups) > 1 and rng.random() < TURNING:
        return _turned_round(shared, items, int(rng.choice(groups)))
    large = _large_items(shared)
    kind = shared.choices.shape[shared.choices.start[:-1]]
    first = rng.choice(large)
    others = large[kind[large] != kind[first]]
    if len(others) == 0:
        others = large
    second = rng.choice(others)
    a, b = items[first], items[second]
    items[first] = Position(b.x, b.y, a.orientation)
    items[second] = Position(a.x, a.y, b.orientation)
    return tuple(_inside(shared.problem, k, position) for k, position in enumerate(items))


def _large_items(shared: Shared) -> IntArray:
    """The large items, at least two where there are two."""
    extent = shared.table.extent[shared.choices.shape[shared.choices.start[:-1]]]
    size = extent.prod(axis=1)
    order = np.argsort(-size, kind="stable")
    running = np.cumsum(size[order])
    return order[: max(2, int(np.searchsorted(running, LARGE * running[-1])))]


def _turned_round(shared: Shared, items: list[Position], group: int) -> Arrangement:
    for k, item in enumerate(shared.problem.items):
        if item.group == group:
            other = _opposite(item, items[k].orientation)
            items[k] = Position(items[k].x, items[k].y, other)
    return tuple(_inside(shared.problem, k, position) for k, position in enumerate(items))


def _opposite(item: Item, orientation: int) -> int:
    """The orientation of the other direction that comes nearest to turning this one by 180°."""
    now = item.orientations[orientation]

    def miss(index: int) -> float:
        return abs((item.orientations[index].rotation_deg - now.rotation_deg) % 360 - 180)

    back = [k for k, way in enumerate(item.orientations) if way.direction != now.direction]
    return min(back, key=miss)


def _inside(problem: PlacementProblem, item: int, position: Position) -> Position:
    shape = problem.items[item].orientations[position.orientation].shape
    _, across = problem.extent(shape)
    highest = max(problem.width - across, 0.0)
    return Position(position.x, min(position.y, highest), position.orientation)
