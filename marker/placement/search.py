"""The search strategy: several trajectories, of which the better go on.

They start from different layouts. In heats the worse half falls out, until each worker has one
left; these go on apart, for two that explore the same layout find little more than one. What they
compress in the end is the best of them.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from marker.placement.compact import compact
from marker.placement.construct import first_layouts
from marker.placement.problem import Arrangement
from marker.placement.room import in_a_row
from marker.placement.trajectory import Shared, Trajectory

STARTS = 8
"""Trajectories for each worker."""

HEATS = (0.15, 0.3, 0.45)
"""Shares of the allowance at which a heat ends."""

COMPRESSION = 0.8
"""Share of the allowance after which exploration gives way to compression."""

LARGEST_FINE, SMALLEST_FINE = 0.0005, 0.00001
"""Shrinking at the start and at the end of compression, relative."""


@dataclass
class Search:
    """All trajectories that are left."""

    trajectories: list[Trajectory]
    workers: int

    @classmethod
    def start(
        cls,
        shared: Shared,
        layouts: Sequence[Arrangement],
        rng: np.random.Generator,
        workers: int,
    ) -> Search:
        """A search from the layouts given, best first; trajectories have random numbers of their
        own, and start from the same one where there are too few."""
        streams = rng.spawn(STARTS * workers)
        trajectories = [
            Trajectory(shared, stream, layouts[k % len(layouts)])
            for k, stream in enumerate(streams)
        ]
        return cls(trajectories, workers)

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
        fine = _fine(share)
        list(executor.map(lambda each: each.work(fine), self.trajectories))
        heats = sum(share >= end for end in HEATS)
        left = max(STARTS * self.workers >> heats, self.workers)
        if len(self.trajectories) > left:
            self.trajectories.sort(key=lambda each: each.length)
            del self.trajectories[left:]
        if fine is not None:
            self.adopt(self.best)


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
