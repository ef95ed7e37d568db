"""How long a search may take, and what else ends it."""

from __future__ import annotations

import os
from dataclasses import dataclass, field, replace
from threading import Event

from marker.layout import Ending
from marker.placement.stop import (
    Flag,
    Stop,
    after_iterations,
    after_seconds,
    at_bound,
    decided,
    first_of,
    when_set,
)

MOST_USUAL_WORKERS = 16
"""What more of them would gain was not measured."""


def usual_workers() -> int:
    """One for each core that this process may use; of more than two cores one is left to whatever
    else the machine does."""
    allowed = getattr(os, "sched_getaffinity", None)
    cores = len(allowed(0)) if allowed else os.cpu_count() or 1
    return min(cores - 1 if cores > 2 else cores, MOST_USUAL_WORKERS)


@dataclass(frozen=True)
class SearchLimits:
    """How long to search (whichever comes first), from which seed, on how many cores.

    The same job, seed, iterations and workers give the same layout; other workers give another.

    shared : whether the seconds are a part of those that a person gave, and other searches get the
        rest.
    stopped : set it to have the search end with the best layout so far.
    enough_mm, hopeless_mm : it ends at a layout that short, and once none is proven to be that
        short.
    """

    seconds: float | None = None
    iterations: int | None = None
    seed: int = 0
    workers: int = field(default_factory=usual_workers)
    stopped: Flag = field(default_factory=Event)
    enough_mm: float = 0.0
    hopeless_mm: float = float("inf")
    shared: bool = False

    def part(self, share: float) -> SearchLimits:
        """The same with this share of the seconds; iterations are those of each search."""
        if self.seconds is None or share == 1.0:
            return self
        return replace(self, seconds=self.seconds * share, shared=True)

    @property
    def time_up(self) -> Ending:
        """Why a search ends that has used the seconds up."""
        return Ending.SHARE_UP if self.shared else Ending.TIME_UP

    def rule(self) -> Stop:
        """The stop rule of one search; every search has its own."""
        rules = [when_set(self.stopped), at_bound(), decided(self.enough_mm, self.hopeless_mm)]
        if self.seconds is not None:
            rules.append(after_seconds(self.seconds, self.time_up))
        if self.iterations is not None:
            rules.append(after_iterations(self.iterations))
        return first_of(*rules)
