"""What a search may spend: seconds, or deterministic effort, or both; and a wish to end early."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Event
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

LEAST_SECONDS = 0.02


class Flag(Protocol):
    """An event that somebody may have set."""

    def is_set(self) -> bool: ...


@dataclass(frozen=True)
class Solved:
    """What CP-SAT answered. found : it has a plan, the best one where `optimal`. refuted : there is
    none. spent : effort charged."""

    solver: cp_model.CpSolver
    found: bool
    optimal: bool
    refuted: bool
    spent: float


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

    def solve(
        self, cp: cp_model.CpModel, effort: float | None = None, charged: float = 0.0
    ) -> Solved:
        """Ask CP-SAT, and charge what it used.

        effort : that it may spend; None for what is left. charged : at the least.
        """
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        parameters = solver.parameters
        # one worker: repeatable by seed, and fast on questions of this size
        parameters.num_workers = 1
        parameters.random_seed = self.seed
        parameters.catch_sigint_signal = False
        if self.seconds_left is not None:
            parameters.max_time_in_seconds = max(self.seconds_left, LEAST_SECONDS)
        most = self.effort_left if effort is None else effort
        if most is not None:
            parameters.max_deterministic_time = max(most, LEAST_SECONDS)
        status = solver.solve(cp)
        spent = max(solver.response_proto.deterministic_time, charged)
        self.charge(spent)
        optimal = status == cp_model.OPTIMAL
        found = optimal or status == cp_model.FEASIBLE
        return Solved(solver, found, optimal, status == cp_model.INFEASIBLE, spent)

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
