"""What a search may spend: seconds, or deterministic effort, or both; and a wish to end early."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Event
from typing import Protocol

LEAST_SECONDS = 0.02


class Flag(Protocol):
    """An event that somebody may have set."""

    def is_set(self) -> bool: ...


@dataclass
class Budget:
    """Shared by everything that one plan asks of CP-SAT.

    seconds : of wall time. effort : in CP-SAT's deterministic unit, roughly a second; with it alone
    the same question gets the same answer on any machine. None for no limit. interrupted : set it
    to have the search end with the best plan so far. clock : counts the seconds.
    """

    seconds: float | None = None
    effort: float | None = None
    seed: int = 0
    interrupted: Flag = field(default_factory=Event)
    clock: Callable[[], float] = time.monotonic
    _started: float = field(init=False)
    _spent: float = field(init=False, default=0.0)

    def __post_init__(self) -> None:
        self._started = self.clock()

    @property
    def seconds_left(self) -> float | None:
        """None for no limit."""
        return None if self.seconds is None else self._started + self.seconds - self.clock()

    @property
    def effort_left(self) -> float | None:
        """None for no limit."""
        return None if self.effort is None else self.effort - self._spent

    @property
    def spent(self) -> float:
        """Effort charged so far."""
        return self._spent

    @property
    def used_up(self) -> bool:
        """Whether no further question may be asked."""
        seconds, effort = self.seconds_left, self.effort_left
        no_time = seconds is not None and seconds < LEAST_SECONDS
        return no_time or self.interrupted.is_set() or (effort is not None and effort <= 0)

    def charge(self, effort: float) -> None:
        """Take off what a question used."""
        self._spent += effort

    @contextmanager
    def part(self, share: float) -> Iterator[Budget]:
        """A budget of a share of what is left; what it spends is charged here."""
        seconds, effort = self.seconds_left, self.effort_left
        part = Budget(
            None if seconds is None else seconds * share,
            None if effort is None else effort * share,
            self.seed,
            self.interrupted,
            self.clock,
        )
        yield part
        self.charge(part._spent)
