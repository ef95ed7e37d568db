"""Which plies are cut from which roll, and where one is spliced from two.

A ply may change from one roll to another at a splice mark of its marker. The first cloth reaches to
the end of every piece begun before the mark, the second begins at it. Rolls have a width and a kind
(of shade): no marker lies on a narrower roll, and a mark that parts a garment joins rolls of one
kind only. CP-SAT, in four questions: the least cloth of plies that find none; the most that wider
rolls save, where lays keep to them. The fewest splices; the least cloth left in ends that are too
short for any ply.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from marker.orders.budget import Budget


@dataclass(frozen=True, order=True)
class Splice:
    """A place where a ply can change rolls, whole mm from the start of the cloth.

    reach_mm : how far the first cloth goes, from_mm : where the second begins; the lap between.
    in_garment : a garment lies on both sides, so that both rolls must be of one kind.
    """

    reach_mm: int
    from_mm: int
    in_garment: bool = True

    @property
    def lap_mm(self) -> int:
        """How far the two lie over one another."""
        return self.reach_mm - self.from_mm


@dataclass(frozen=True)
class Spread:
    """A lay to be spread. ply_mm : a ply, ends included. splices : where one may change rolls.
    width_mm : the narrowest roll that its marker lies on."""

    plies: int
    ply_mm: int
    splices: tuple[Splice, ...] = ()
    width_mm: int = 0


@dataclass(frozen=True)
class Stock:
    """A roll, whole mm. kind : only rolls of one kind go together in a garment."""

    length_mm: int
    width_mm: int = 0
    kind: str = ""


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
    splices : plies cut from two rolls. optimal : all answers are proven.
    """

    parts: tuple[tuple[Part, ...], ...]
    left_mm: tuple[int, ...]
    missing: tuple[int, ...]
    splices: int
    optimal: bool

    def rolls_of(self, lay: int) -> tuple[int, ...]:
        """Numbers of the rolls that a lay is cut from."""
        return tuple(
            number for number, cut in enumerate(self.parts) if any(part.lay == lay for part in cut)
        )


def share_out(spreads: Sequence[Spread], rolls: Sequence[Stock], budget: Budget) -> RollPlan:
    """The plies shared out among the rolls; never worse in plies that find no cloth than roll by
    roll, however short the time."""
    from ortools.sat.python import cp_model

    found = _roll_by_roll(spreads, rolls)
    model = _Model(cp_model.CpModel(), spreads, rolls)
    aims = [model.missing, model.narrow, model.splices, model.lost]
    shares = [0.4, 0.4, 0.6, 1.0]
    if model.narrow is None:
        del aims[1], shares[1]
    if any(found.missing):
        lacked = sum(n * each.ply_mm for n, each in zip(found.missing, spreads, strict=True))
        model.cp.add(model.missing <= lacked)
    else:  # the first question is answered
        model.cp.add(model.missing == 0)
        del aims[0], shares[0]
    optimal = True
    for aim, share in zip(aims, shares, strict=True):
        if budget.used_up:
            return replace(found, optimal=False)
        model.hint(found)
        model.cp.minimize(aim)
        with budget.part(share) as part:
            solved = part.solve(model.cp)
        if not solved.found:
            return replace(found, optimal=False)
        optimal = optimal and solved.optimal
        found = model.read(solved.solver, optimal)
        model.cp.add(aim <= round(solved.solver.objective_value))
    return found


class _Model:
    """Variables by roll and lay: whole plies; by splice: first and second parts.

    missing, splices, lost : what is to be little. narrow : cloth that lays take for lying on narrow
    rolls; None where all are as wide.
    """

    def __init__(self, cp: Any, spreads: Sequence[Spread], rolls: Sequence[Stock]) -> None:
        self.cp, self._spreads, self._rolls = cp, spreads, rolls
        self._pieces: list[list[tuple[Part, Any]]] = [
            [
                (part, cp.new_int_var(0, min(spreads[part.lay].plies, most), ""))
                for part in _kinds(spreads)
                if spreads[part.lay].width_mm <= roll.width_mm
                and (most := roll.length_mm // max(part.each_mm, 1)) > 0
            ]
            for roll in rolls
        ]
        self._sorts: dict[tuple[int, Splice | None, bool], list[tuple[Stock, Any]]] = {}
        for roll, pieces in zip(rolls, self._pieces, strict=True):
            for part, number in pieces:
                sort = part.lay, part.splice, part.first
                self._sorts.setdefault(sort, []).append((roll, number))
        left = [
            roll.length_mm - sum(part.each_mm * number for part, number in pieces)
            for roll, pieces in zip(rolls, self._pieces, strict=True)
        ]
        for each in left:
            cp.add(each >= 0)
        self._short: list[Any] = []
        joined: list[Any] = []
        for lay, spread in enumerate(spreads):
            without = cp.new_int_var(0, spread.plies, "")
            whole = self._given(lay, None, True, None)
            spliced = [self._spliced(lay, splice) for splice in spread.splices]
            cp.add(whole + sum(spliced) + without == spread.plies)
            self._short.append(without)
            joined += spliced
        self.missing = sum(n * each.ply_mm for n, each in zip(self._short, spreads, strict=True))
        self.splices = sum(joined)
        ends = sum(self._end(roll, rest) for roll, rest in zip(rolls, left, strict=True))
        laps = sum(
            part.splice.lap_mm * number
            for pieces in self._pieces
            for part, number in pieces
            if part.splice is not None and part.first
        )
        self.lost = ends + laps
        widths = sorted({roll.width_mm for roll in rolls})
        self.narrow = self._narrow(widths) if len(widths) > 1 else None

    def _given(self, lay: int, splice: Splice | None, first: bool, kind: str | None) -> Any:
        """How many parts of one sort the rolls give, those of one kind or (None) all."""
        given = self._sorts.get((lay, splice, first), [])
        return sum(number for roll, number in given if kind in (None, roll.kind))

    def _spliced(self, lay: int, splice: Splice) -> Any:
        """Plies of a lay that change rolls at one mark: as many first parts as second ones."""
        kinds = {roll.kind for roll in self._rolls} if splice.in_garment else {None}
        for kind in kinds:
            firsts = self._given(lay, splice, True, kind)
            self.cp.add(firsts == self._given(lay, splice, False, kind))
        return self._given(lay, splice, True, None)

    def _narrow(self, widths: Sequence[int]) -> Any:
        """As if a ply took so much more cloth, the narrower the narrowest of its lay's rolls is."""
        total: Any = 0
        of_lay: dict[int, list[tuple[Stock, Any]]] = {}
        for (lay, _, _), given in self._sorts.items():
            of_lay.setdefault(lay, []).extend(given)
        for lay, given in of_lay.items():
            spread = self._spreads[lay]
            for width, wider in pairwise(widths):
                used = self.cp.new_bool_var("")
                for roll, number in given:
                    if roll.width_mm <= width:
                        self.cp.add(number == 0).only_enforce_if(~used)
                saved = spread.plies * spread.ply_mm * (wider - width) // wider
                total += saved * used
        return total

    def _end(self, roll: Stock, rest: Any) -> Any:
        """What is left of a roll, if it was cut and is too short for any ply; else nothing."""
        shortest = min(spread.ply_mm for spread in self._spreads)
        end, useful = self.cp.new_int_var(0, roll.length_mm, ""), self.cp.new_bool_var("")
        self.cp.add(rest >= min(shortest, roll.length_mm)).only_enforce_if(useful)
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
        missing = [int(solver.value(each)) for each in self._short]
        return _plan_of(self._rolls, parts, missing, optimal)

    def hint(self, plan: RollPlan) -> None:
        """Begin from a plan."""
        self.cp.clear_hints()
        for cut, pieces in zip(plan.parts, self._pieces, strict=True):
            times = {replace(part, times=1): part.times for part in cut}
            for part, number in pieces:
                self.cp.add_hint(number, times.get(part, 0))


def _plan_of(
    rolls: Sequence[Stock],
    parts: tuple[tuple[Part, ...], ...],
    missing: Sequence[int],
    optimal: bool,
) -> RollPlan:
    left = tuple(
        roll.length_mm - sum(part.times * part.each_mm for part in cut)
        for roll, cut in zip(rolls, parts, strict=True)
    )
    firsts = (part.times for cut in parts for part in cut if part.splice and part.first)
    return RollPlan(parts, left, tuple(missing), sum(firsts), optimal)


def _kinds(spreads: Sequence[Spread]) -> Iterator[Part]:
    """All that a roll can give: whole plies, first and second parts at every splice."""
    for lay, spread in enumerate(spreads):
        yield Part(lay, 1, spread.ply_mm)
        for splice in spread.splices:
            yield Part(lay, 1, splice.reach_mm, splice, first=True)
            yield Part(lay, 1, spread.ply_mm - splice.from_mm, splice, first=False)


def _roll_by_roll(spreads: Sequence[Spread], rolls: Sequence[Stock]) -> RollPlan:
    """Whole plies first, the longest from the shortest rest that holds it (best fit decreasing:
    Johnson et al. 1974, from memory), narrow markers from narrow rolls; then what is still wanted
    from two rests each, where as little as can be is left of them."""
    rests = [roll.length_mm for roll in rolls]
    cut: list[Counter[Part]] = [Counter() for _ in rolls]
    missing = [spread.plies for spread in spreads]
    in_order = sorted(range(len(spreads)), key=lambda lay: -spreads[lay].ply_mm)
    for lay in in_order:
        spread = spreads[lay]
        wide = [k for k, roll in enumerate(rolls) if roll.width_mm >= spread.width_mm]
        for k in sorted(wide, key=lambda k: (rolls[k].width_mm, rests[k])):
            times = min(missing[lay], rests[k] // max(spread.ply_mm, 1))
            rests[k] -= times * spread.ply_mm
            missing[lay] -= times
            cut[k][Part(lay, 1, spread.ply_mm)] += times
    for lay in in_order:
        while missing[lay] and (found := _best_splice(lay, spreads[lay], rolls, rests)):
            for k, part in found:
                rests[k] -= part.each_mm
                cut[k][part] += 1
            missing[lay] -= 1
    parts = tuple(
        tuple(replace(part, times=times) for part, times in each.items() if times) for each in cut
    )
    return _plan_of(rolls, parts, missing, False)


def _best_splice(
    lay: int, spread: Spread, rolls: Sequence[Stock], rests: Sequence[int]
) -> list[tuple[int, Part]]:
    """Two rolls, and what each gives a ply that is spliced from both; none where none can."""
    best: list[tuple[int, Part]] = []
    least = None
    by_rest = sorted(
        (k for k, roll in enumerate(rolls) if roll.width_mm >= spread.width_mm),
        key=lambda k: rests[k],
    )
    for splice in spread.splices:
        first = Part(lay, 1, splice.reach_mm, splice, first=True)
        second = Part(lay, 1, spread.ply_mm - splice.from_mm, splice, first=False)
        for kind in {rolls[k].kind for k in by_rest} if splice.in_garment else {None}:
            there = [k for k in by_rest if kind in (None, rolls[k].kind)]
            long, short = sorted((first, second), key=lambda part: -part.each_mm)
            one = next((k for k in there if rests[k] >= long.each_mm), None)
            two = next((k for k in there if rests[k] >= short.each_mm and k != one), None)
            if one is None or two is None:
                continue
            left = rests[one] - long.each_mm + rests[two] - short.each_mm + splice.lap_mm
            if least is None or left < least:
                least, best = left, [(one, long), (two, short)]
    return best
