"""Which plies are cut from which roll, and where one is spliced from two.

A ply may change from one roll to another at a splice mark of its marker: the first cloth reaches to
the end of every piece begun before the mark, the second begins at it. CP-SAT, in three questions:
the least cloth of plies that find none, the fewest splices, the least cloth left in ends that are
too short for any ply.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from marker.orders.budget import LEAST_SECONDS, Budget


@dataclass(frozen=True, order=True)
class Splice:
    """A place where a ply can change rolls, whole mm from the start of the cloth.

    reach_mm : how far the first cloth goes, from_mm : where the second begins; the lap between.
    """

    reach_mm: int
    from_mm: int

    @property
    def lap_mm(self) -> int:
        """How far the two lie over one another."""
        return self.reach_mm - self.from_mm


@dataclass(frozen=True)
class Spread:
    """A lay to be spread. ply_mm : a ply, ends included. splices : where one may change rolls."""

    plies: int
    ply_mm: int
    splices: tuple[Splice, ...] = ()


@dataclass(frozen=True)
class Part:
    """What a roll gives a lay: so many whole plies, or, at a splice, one part of as many.

    lay : counted from 0. first : the part before the splice, else the one after it.
    """

    lay: int
    times: int
    each_mm: int
    splice: Splice | None = None
    first: bool = True


@dataclass(frozen=True)
class RollPlan:
    """Rolls and lays in the order given.

    parts : of each roll. left_mm : of each roll. missing : of each lay, plies that find no cloth.
    splices : plies cut from two rolls. optimal : the three answers are proven.
    """

    parts: tuple[tuple[Part, ...], ...]
    left_mm: tuple[int, ...]
    missing: tuple[int, ...]
    splices: int
    optimal: bool


def share_out(spreads: Sequence[Spread], rolls_mm: Sequence[int], budget: Budget) -> RollPlan:
    """The plies shared out among the rolls, lengths in whole mm."""
    from ortools.sat.python import cp_model

    model = _Model(cp_model.CpModel(), spreads, rolls_mm)
    found: RollPlan | None = None
    optimal = True
    for number, aim in enumerate((model.missing, model.splices, model.ends)):
        if number and budget.used_up:
            return replace(found, optimal=False) if found else model.nothing()
        model.cp.minimize(aim)
        with budget.part((0.4, 0.6, 1.0)[number]) as part:
            solver = _solver(cp_model, part)
            status = solver.solve(model.cp)
            part.charge(solver.response_proto.deterministic_time)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return replace(found, optimal=False) if found else model.nothing()
        optimal = optimal and status == cp_model.OPTIMAL
        found = model.read(solver, optimal)
        model.cp.add(aim <= round(solver.objective_value))
    assert found is not None
    return found


def _solver(cp_model: Any, budget: Budget) -> Any:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1  # repeatable
    solver.parameters.catch_sigint_signal = False
    solver.parameters.random_seed = budget.seed
    if budget.seconds_left is not None:
        solver.parameters.max_time_in_seconds = max(budget.seconds_left, LEAST_SECONDS)
    if budget.effort_left is not None:
        solver.parameters.max_deterministic_time = max(budget.effort_left, LEAST_SECONDS)
    return solver


class _Model:
    """Variables by roll and lay: whole plies; by splice: first and second parts."""

    def __init__(self, cp: Any, spreads: Sequence[Spread], rolls_mm: Sequence[int]) -> None:
        self.cp, self._spreads, self._rolls = cp, spreads, rolls_mm
        self._pieces: list[list[tuple[Part, Any]]] = [
            [
                (part, cp.new_int_var(0, min(spreads[part.lay].plies, roll // part.each_mm), ""))
                for part in _kinds(spreads)
                if part.each_mm <= roll
            ]
            for roll in rolls_mm
        ]
        left = [
            roll - sum(part.each_mm * number for part, number in pieces)
            for roll, pieces in zip(rolls_mm, self._pieces, strict=True)
        ]
        for each in left:
            cp.add(each >= 0)
        short, joined = [], []
        for lay, spread in enumerate(spreads):
            without = cp.new_int_var(0, spread.plies, "")
            whole = self._given(lay, None, True)
            spliced = [self._given(lay, splice, True) for splice in spread.splices]
            for splice, firsts in zip(spread.splices, spliced, strict=True):
                cp.add(firsts == self._given(lay, splice, False))
            cp.add(whole + sum(spliced) + without == spread.plies)
            short.append((without, spread.ply_mm))
            joined += spliced
        self._short = [without for without, _ in short]
        self.missing = sum(without * ply for without, ply in short)
        self.splices = sum(joined)
        self.ends = sum(self._end(roll, rest) for roll, rest in zip(rolls_mm, left, strict=True))

    def _given(self, lay: int, splice: Splice | None, first: bool) -> Any:
        return sum(
            number
            for pieces in self._pieces
            for part, number in pieces
            if (part.lay, part.splice, part.first) == (lay, splice, first)
        )

    def _end(self, roll: int, rest: Any) -> Any:
        """What is left of a roll, if it was cut and is too short for any ply; else nothing."""
        shortest = min(spread.ply_mm for spread in self._spreads)
        end, useful = self.cp.new_int_var(0, roll, ""), self.cp.new_bool_var("")
        self.cp.add(rest >= min(shortest, roll)).only_enforce_if(useful)
        self.cp.add(end >= rest).only_enforce_if(~useful)
        return end

    def read(self, solver: Any, optimal: bool) -> RollPlan:
        """The answer found."""
        parts = tuple(
            tuple(
                replace(part, times=int(solver.value(number)))
                for part, number in pieces
                if solver.value(number)
            )
            for pieces in self._pieces
        )
        return self._plan(parts, [int(solver.value(each)) for each in self._short], optimal)

    def nothing(self) -> RollPlan:
        """The answer where the time was too short for any."""
        parts = tuple(() for _ in self._rolls)
        return self._plan(parts, [spread.plies for spread in self._spreads], False)

    def _plan(
        self, parts: tuple[tuple[Part, ...], ...], missing: Sequence[int], optimal: bool
    ) -> RollPlan:
        left = tuple(
            roll - sum(part.times * part.each_mm for part in cut)
            for roll, cut in zip(self._rolls, parts, strict=True)
        )
        firsts = (part.times for cut in parts for part in cut if part.splice and part.first)
        return RollPlan(parts, left, tuple(missing), sum(firsts), optimal)


def _kinds(spreads: Sequence[Spread]) -> list[Part]:
    """All that a roll can give: whole plies, first and second parts at every splice."""
    found = []
    for lay, spread in enumerate(spreads):
        found.append(Part(lay, 1, spread.ply_mm))
        for splice in spread.splices:
            found.append(Part(lay, 1, splice.reach_mm, splice, first=True))
            found.append(Part(lay, 1, spread.ply_mm - splice.from_mm, splice, first=False))
    return found
