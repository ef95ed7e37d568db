"""The search strategy: several trajectories, of which the better go on.

They start from different layouts. Most settle down after some seconds, at lengths far apart. So a
long allowance is for many starts, and a short one, or a large job, for few. In heats of equal time
the worse half falls out, until each worker has one left (successive halving; Jamieson & Talwalkar
2016). The fewer are left, the longer each is at work. They go on apart: two that explore the same
layout find little more than one. What they compress in the end is the best of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import cycle, islice
from math import ceil, log2

import numpy as np

from marker.placement.checking import ascending, at_least, positive, share
from marker.placement.problem.statement import Arrangement
from marker.placement.search.trajectory import Shared, Trajectory


@dataclass(frozen=True)
class HeatParams:
    """How many trajectories begin, and when the worse fall out. Shares are of the allowance.

    turn : pieces of work that a trajectory does before it is another's turn.
    settled : moves for each item that a trajectory has at least in the first heat; as many begin
    as leaves them this and all heats the same time. many : of more items than this, each has so
    much more: they take longer to settle, and their starts differ less. most : trajectories that
    begin for each worker at most, for what they keep takes memory.
    compression : share after which exploration gives way to compression.
    largest_fine, smallest_fine : shrinking at the start and at the end of compression, relative.
    """

    turn: int = 8
    settled: int = 500
    many: int = 50
    most: int = 64
    compression: float = 0.8
    largest_fine: float = 0.0005
    smallest_fine: float = 0.00001

    def __post_init__(self) -> None:
        at_least(self, 1, "turn", "settled", "many", "most")
        positive(self, "smallest_fine")
        share(self, "compression", "largest_fine")
        ascending(self, "smallest_fine", "largest_fine")

    def settling(self, items: int) -> float:
        """Moves in which a trajectory of so many items settles."""
        return self.settled * items * max(1.0, items / self.many)

    def fine(self, share: float) -> float | None:
        """Step of compression at this share of the allowance; None before."""
        if share < self.compression:
            return None
        left = (1 - share) / (1 - self.compression)
        return max(self.largest_fine * left, self.smallest_fine)


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
        self._kept: list[Trajectory] = []  # the best of each search before
        self._starts = (Trajectory(shared, rng.spawn(1)[0], each) for each in cycle(layouts))
        self._open()
        moves = params.turn * self._working.moves
        self._settling = ceil(params.settling(len(layouts[0])) / moves)  # turns

    @property
    def best(self) -> Arrangement:
        """The shortest layout so far."""
        return min(self._kept + self.trajectories, key=lambda each: each.length).best

    @property
    def trying(self) -> Arrangement:
        """Where the items of the trajectory that began to work last stand now."""
        return self._working.trying

    @property
    def layouts(self) -> list[Arrangement]:
        """The shortest of different trajectories, best first: one a worker at most."""
        by_length = sorted(self._kept + self.trajectories, key=lambda each: each.length)
        return list(dict.fromkeys(each.best for each in by_length[: self.workers]))

    def adopt(self, layout: Arrangement) -> None:
        """Go on from a layout found elsewhere, where it is better."""
        for each in self.trajectories:
            each.adopt(layout)

    def begin_again(self) -> None:
        """Search anew, from other starts and with an allowance of its own. The best is kept."""
        self._kept.append(min(self.trajectories, key=lambda each: each.length))
        self._open()

    def iterate(self, executor: ThreadPoolExecutor, share: float) -> None:
        """Let every worker have a trajectory do its turn.

        share : part of the allowance used up; it decides which heat it is, and between exploring
        and compressing.
        """
        self._hold_heats(share)
        fine = self._params.fine(share)
        list(executor.map(partial(self._let_work, fine), self._next()))
        if fine is not None:
            self.adopt(self.best)

    def _let_work(self, fine: float | None, trajectory: Trajectory) -> None:
        self._working = trajectory
        for _ in range(self._params.turn):
            trajectory.work(fine)

    def _open(self) -> None:
        """Begin with the first heat."""
        self.trajectories: list[Trajectory] = []
        self._began = 1.0  # share of the allowance
        self._first_heat_ended: float | None = None
        self._begin()

    def _begin(self) -> None:
        """Let one more trajectory for each worker take part, while those before them wait."""
        self.trajectories += islice(self._starts, self.workers)
        self._working = self.trajectories[-1]
        self._turns = 0

    def _next(self) -> list[Trajectory]:
        """Whose turn it is: in the first heat the latest, until they have settled; then each."""
        self._turns += 1
        count = len(self.trajectories)
        at = count - self.workers
        if self._first_heat_ended is not None:
            at = self._turns * self.workers % count
        return self.trajectories[at : at + self.workers]

    def _hold_heats(self, share: float) -> None:
        """Let more begin, or the worse fall out, where it is time for that."""
        self._began = min(self._began, share)
        if self._first_heat_ended is None and self._turns >= self._settling:
            self._hold_first_heat(share)
        if self._first_heat_ended is not None:
            passed = max(share - self._first_heat_ended, 0.0)
            left = max(self._params.compression - self._first_heat_ended, passed)
            halved = 1 + int(passed / left * int(log2(self._begun))) if left else 1
            kept = max(self._begun >> halved, 1) * self.workers
            if kept < len(self.trajectories):
                self.trajectories.sort(key=lambda each: each.length)
                del self.trajectories[kept:]

    def _hold_first_heat(self, share: float) -> None:
        """End it, or let others begin now that these have settled down."""
        self._begun = len(self.trajectories) // self.workers
        more = self._begun + 1
        heat = self._params.compression / (1 + log2(more))
        fits = (share - self._began) * more / self._begun <= heat
        if fits and more <= self._params.most:
            self._begin()
        else:
            self._first_heat_ended = share
