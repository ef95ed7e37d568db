"""The search strategy: several trajectories, of which the better go on.

They start from different layouts. Most settle down after some seconds, at lengths far apart, so a
long allowance is for many starts. In heats the worse half falls out, until each worker has one
left; these go on apart, for two that explore the same layout find little more than one. What they
compress in the end is the best of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import cycle, islice

import numpy as np

from marker.placement.checking import ascending, at_least, positive, share
from marker.placement.problem.statement import Arrangement
from marker.placement.search.trajectory import Shared, Trajectory


@dataclass(frozen=True)
class HeatParams:
    """How many trajectories begin, and when the worse fall out. Shares are of the allowance.

    starts : trajectories for each worker that begin together. heat : share that a heat takes.
    settled : moves after which trajectories in the first heat make way for others, which begin if
    that leaves them the same time within `beginnings`, the share that the first heat may then take.
    compression : share after which exploration gives way to compression.
    largest_fine, smallest_fine : shrinking at the start and at the end of compression, relative.
    """

    starts: int = 8
    heat: float = 0.15
    settled: int = 200_000
    beginnings: float = 0.45
    compression: float = 0.8
    largest_fine: float = 0.0005
    smallest_fine: float = 0.00001

    def __post_init__(self) -> None:
        at_least(self, 1, "starts", "settled")
        positive(self, "heat", "smallest_fine")
        share(self, "heat", "beginnings", "compression", "largest_fine")
        ascending(self, "smallest_fine", "largest_fine")


class Search:
    """All trajectories that are left."""

    def __init__(
        self,
        shared: Shared,
        layouts: Sequence[Arrangement],
        rng: np.random.Generator,
        workers: int,
        params: HeatParams = HeatParams(),
    ) -> None:
        """A search from the layouts given, best first. Trajectories have random numbers of their
        own, and start from the same one where there are too few."""
        self.workers, self._params = workers, params
        self.trajectories: list[Trajectory] = []
        self._starts = (Trajectory(shared, rng.spawn(1)[0], each) for each in cycle(layouts))
        self._first_heat_ended: float | None = None  # share of the allowance
        self._begin()

    @property
    def best(self) -> Arrangement:
        """The shortest layout so far."""
        return min(self.trajectories, key=lambda each: each.length).best

    @property
    def trying(self) -> Arrangement:
        """Where the items of the trajectory that began to work last stand now."""
        return self._working.trying

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
        fine = self._fine(share)
        list(executor.map(partial(self._let_work, fine), self._at_work))
        self._work += 1
        if fine is not None:
            self.adopt(self.best)

    def _let_work(self, fine: float | None, trajectory: Trajectory) -> None:
        self._working = trajectory
        trajectory.work(fine)

    def _begin(self) -> None:
        """Let more trajectories take part, while those before them wait."""
        self._at_work = list(islice(self._starts, self._params.starts * self.workers))
        self.trajectories += self._at_work
        self._working = self._at_work[0]
        self._work = 0

    def _hold_heats(self, share: float) -> None:
        """Let more begin, or the worse fall out, where it is time for that."""
        if self._first_heat_ended is None:
            self._hold_first_heat(share)
        if self._first_heat_ended is not None:
            heats = 1 + int(max(share - self._first_heat_ended, 0.0) / self._params.heat)
            self.trajectories.sort(key=lambda each: each.length)
            del self.trajectories[max(self._params.starts >> heats, 1) * self.workers :]
            self._at_work = self.trajectories

    def _hold_first_heat(self, share: float) -> None:
        """End it, or let others begin once these have settled down."""
        settled = self._work * self._at_work[0].moves >= self._params.settled
        begun = len(self.trajectories) // (self._params.starts * self.workers)
        no_room = share * (begun + 1) / begun > self._params.beginnings
        over = share >= self._params.heat if begun == 1 else settled and no_room
        if over:
            self._first_heat_ended = share
        elif settled:
            self._begin()

    def _fine(self, share: float) -> float | None:
        """Step of compression at this share of the allowance; None before."""
        params = self._params
        if share < params.compression:
            return None
        left = (1 - share) / (1 - params.compression)
        return max(params.largest_fine * left, params.smallest_fine)
