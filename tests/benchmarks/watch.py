"""The time a run is given: wall time, or the time its own threads were at work."""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace

from marker.placement.stop import Progress, Stop, Verdict, after_seconds


@dataclass
class Watch:
    """Counts from its making; keeps what a run reports.

    workers : with their number, seconds are the process's processor time shared out among them, so
        that what else the machine does matters little; with 0, wall time.
    history : (seconds, length in mm) at each improvement.
    """

    workers: int = 0
    history: list[tuple[float, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._started = self._now()

    @property
    def seconds(self) -> float:
        """Passed so far."""
        return self._now() - self._started

    def note(self, progress: Progress) -> None:
        """Keep an improvement."""
        if not self.history or progress.length < self.history[-1][1]:
            self.history.append((self.seconds, progress.length))

    def after(self, limit: float) -> Stop:
        """Stop when `limit` seconds have passed."""
        rule = after_seconds(limit)

        def by_this_watch(progress: Progress) -> Verdict:
            return rule(replace(progress, seconds=self.seconds))

        return by_this_watch

    def _now(self) -> float:
        return time.process_time() / self.workers if self.workers else time.monotonic()
