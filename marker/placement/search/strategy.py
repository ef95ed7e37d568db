"""The search strategy: several trajectories, of which the better go on.

They start from different layouts. Most settle down after some seconds, at lengths far apart, so a
long allowance is for many starts. In heats the worse half falls out, until each worker has one
left; these go on apart, for two that explore the same layout find little more than one. What they
compress in the end is the best of them.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import cycle, islice

import numpy as np

from marker.placement.lp.compaction import compact
from marker.placement.problem.statement import Arrangement, in_a_row
from marker.placement.search.first_layouts import first_layouts
from marker.placement.search.trajectory import Shared, Trajectory

STARTS = 8
"""Trajectories for each worker that begin together."""

HEAT = 0.15
"""Share of the allowance that a heat takes."""

SETTLED = 200_000
"""Moves after which trajectories in the first heat make way for others, which begin if that leaves
them the same time within BEGINNINGS."""

BEGINNINGS = 0.45
"""Share of the allowance that the first heat may take if not all begin together."""

COMPRESSION = 0.8
"""Share of the allowance after which exploration gives way to compression."""

LARGEST_FINE, SMALLEST_FINE = 0.0005, 0.00001
"""Shrinking at the start and at the end of compression, relative."""


class Search:
    """All trajectories that are left."""

    def __init__(
        self,
        shared: Shared,
        layouts: Sequence[Arrangement],
        rng: np.random.Generator,
        workers: int,
    ) -> None:
        """A search from the layouts given, best first. Trajectories have random numbers of their
        own, and start from the same one where there are too few."""
        self.workers = workers
        self.trajectories: list[Trajectory] = []
        self._starts = (Trajectory(shared, rng.spawn(1)[0], each) for each in cycle(layouts))
        self._first_heat_ended: float | None = None  # share of the allowance
        self._begin()

    def compile(self) -> float:
        """Have the separation compiled, at its first use on a machine; the seconds that took,
        which a search should not be charged for."""
        before = time.monotonic()
        self.trajectories[0].warm_up()
        return time.monotonic() - before

    @property
    def best(self) -> Arrangement:
        """The shortest layout so far."""
        return min(self.trajectories, key=lambda each: each.length).best

    @property
    def layouts(self) -> list[Arrangement]:
        """The shortest of different trajectories, best first: one a worker at most."""
        by_length = sorted(self.trajectories, key=lambda each: each.length)
        return list(dict.fromkeys(each.best for each in by_length[: self.workers]))

    def adopt(self, layout: Arrangement) -> None:
        """Go on from a layout found elsewhere, where it is better."""
        for each in self.trajectories:
            each.adopt(layout)

    def iterate(self, executor: ThreadPoolExecutor, share: float) -> None:
        """Let every trajectory work once.

        share : part of the allowance used up; it decides which heat it is, and between exploring
        and compressing.
        """
        self._hold_heats(share)
        fine = _fine(share)
        list(executor.map(lambda each: each.work(fine), self._at_work))
        self._work += 1
        if fine is not None:
            self.adopt(self.best)

    def _begin(self) -> None:
        """Let more trajectories take part, while those before them wait."""
        self._at_work = list(islice(self._starts, STARTS * self.workers))
        self.trajectories += self._at_work
        self._work = 0

    def _hold_heats(self, share: float) -> None:
        """Let more begin, or the worse fall out, where it is time for that."""
        if self._first_heat_ended is None:
            self._hold_first_heat(share)
        if self._first_heat_ended is not None:
            heats = 1 + int(max(share - self._first_heat_ended, 0.0) / HEAT)
            self.trajectories.sort(key=lambda each: each.length)
            del self.trajectories[max(STARTS >> heats, 1) * self.workers :]
            self._at_work = self.trajectories

    def _hold_first_heat(self, share: float) -> None:
        """End it, or let others begin once these have settled down."""
        settled = self._work * self._at_work[0].moves >= SETTLED
        begun = len(self.trajectories) // (STARTS * self.workers)
        no_room = share * (begun + 1) / begun > BEGINNINGS
        over = share >= HEAT if begun == 1 else settled and no_room
        if over:
            self._first_heat_ended = share
        elif settled:
            self._begin()


def _fine(share: float) -> float | None:
    """Step of compression at this share of the allowance; None before."""
    if share < COMPRESSION:
        return None
    return max(LARGEST_FINE * (1 - share) / (1 - COMPRESSION), SMALLEST_FINE)


def compacted_layouts(shared: Shared, rng: np.random.Generator) -> Iterator[Arrangement]:
    """First layouts drawn together, without end; in place of one that can't be, a row."""
    for arrangement in first_layouts(shared.problem, shared.table, shared.choices, rng):
        drawn = compact(shared.problem, shared.edges_of, arrangement)
        yield drawn or in_a_row(shared.problem)
