"""What `marker order JOB` says of rolls: what is cut from each, and which ply comes from which."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Annotated

from marker.cloth.stock import Roll
from marker.orders.rolls import Part, Splice
from marker.planning.laid_plan import LaidLay, LaidPlan
from marker.reports.facts import Mark
from marker.units import cloth_length, length
from marker.words import counted, garment_counts

_SPARE_SHARE = 0.01  # of a roll: less is not to be relied on (common practice, no source)


class What(StrEnum):
    """What is cut from a roll: whole plies, or their parts before or after a splice."""

    PLIES = "plies"
    FIRST = "first parts"
    SECOND = "second parts"


@dataclass(frozen=True)
class RollCut:
    """What a roll gives one lay, lays counted from 1, lengths in mm."""

    lay: int
    times: int
    each_mm: int
    what: What
    splice_from_mm: Annotated[int | None, Mark.LEFT_OUT] = None
    splice_to_mm: Annotated[int | None, Mark.LEFT_OUT] = None


@dataclass(frozen=True)
class RollReport:
    """One roll, lengths in mm. colour : None where none is named. width_mm, shade : where said."""

    colour: str | None
    length_mm: int
    left_mm: int
    cuts: tuple[RollCut, ...]
    width_mm: Annotated[int | None, Mark.LEFT_OUT] = None
    shade: Annotated[str | None, Mark.LEFT_OUT] = None


@dataclass(frozen=True)
class MissingPlies:
    """Plies of a lay that find no cloth."""

    lay: int
    colour: str | None
    plies: int


@dataclass(frozen=True, kw_only=True)
class RollsReport:
    """How the rolls are used. optimal : nothing covers more plies, or with fewer splices."""

    rolls: tuple[RollReport, ...]
    splices: int
    missing: tuple[MissingPlies, ...]
    missing_mm: int
    optimal: bool


@dataclass(frozen=True)
class PlyRun:
    """Plies of a lay that lie one on another and are alike, counted from the table up, from 1.

    rolls : that they are cut from; two where each ply is spliced, none where the cloth comes on
    none. missing : the rolls have no cloth for them.
    """

    first: int
    last: int
    colour: str
    rolls: tuple[str, ...] = ()
    splice: Annotated[Splice | None, Mark.LEFT_OUT] = None
    missing: bool = False

    @property
    def plies(self) -> int:
        """How many they are."""
        return self.last - self.first + 1

    def __str__(self) -> str:
        return f"{self.first}" if self.plies == 1 else f"{self.first}–{self.last}"


@dataclass(frozen=True)
class _Roll:
    """One roll, numbered through all colours."""

    number: int
    colour: str
    roll: Roll
    parts: tuple[Part, ...]
    left_mm: int

    @property
    def name(self) -> str:
        """As a person calls it."""
        shade = self.roll.shade
        return f"roll {self.number}, shade {shade}" if shade else f"roll {self.number}"

    @property
    def length_mm(self) -> float:
        """Before anything is cut from it."""
        return self.roll.length_mm


def _rolls(plan: LaidPlan) -> Iterator[_Roll]:
    """Those of every colour ordered, as the job lists them."""
    number = 0
    for colour, shared in plan.rolls.items():
        rolls = plan.cloth.rolls_in(colour)
        for each in zip(rolls, shared.parts, shared.left_mm, strict=True):
            number += 1
            yield _Roll(number, colour, *each)


def rolls_report(plan: LaidPlan) -> RollsReport | None:
    """What is cut from each roll; None where the cloth comes on none."""
    if not plan.rolls:
        return None
    return RollsReport(
        rolls=tuple(
            RollReport(
                each.colour or None,
                round(each.length_mm),
                each.left_mm,
                _cuts(each.parts),
                None if each.roll.width_mm is None else round(each.roll.width_mm),
                each.roll.shade or None,
            )
            for each in _rolls(plan)
        ),
        splices=sum(shared.splices for shared in plan.rolls.values()),
        missing=tuple(
            MissingPlies(lay, colour or None, plies)
            for colour, shared in plan.rolls.items()
            for lay, plies in enumerate(shared.missing, 1)
            if plies
        ),
        missing_mm=sum(_missing_mm(plan, colour) for colour in plan.rolls),
        optimal=all(shared.optimal for shared in plan.rolls.values()),
    )


def _cuts(parts: Sequence[Part]) -> tuple[RollCut, ...]:
    return tuple(
        RollCut(part.lay + 1, part.times, part.each_mm, What.PLIES)
        if part.splice is None
        else RollCut(
            part.lay + 1,
            part.times,
            part.each_mm,
            What.FIRST if part.first else What.SECOND,
            part.splice.from_mm,
            part.splice.reach_mm,
        )
        for part in parts
    )


def roll_lines(plan: LaidPlan) -> Iterator[str]:
    """For a person, under the plan of a cloth."""
    if not plan.rolls:
        return
    yield ""
    for roll in _rolls(plan):
        cut = "; ".join(f"lay {part.lay + 1}: {_words(part)}" for part in roll.parts) or "not cut"
        name = f"{roll.name} {roll.colour}".rstrip()
        if roll.roll.width_mm is not None:
            name += f", {cloth_length(roll.roll.width_mm)} wide"
        left = f"{cloth_length(roll.left_mm)} left"
        if roll.parts and roll.left_mm < _SPARE_SHARE * roll.length_mm:
            left += ": measure this roll before you spread it"
        yield f"  {name}, {cloth_length(roll.length_mm)}: {cut}; {left}"
    splices = sum(shared.splices for shared in plan.rolls.values())
    if splices:
        proven = all(shared.optimal for shared in plan.rolls.values())
        found = "proven fewest" if proven else "fewest found"
        yield f"  {counted(splices, 'ply')} spliced from two rolls, {found} with those marks"
    for colour in plan.rolls:
        yield from _missing_lines(plan, colour)


def _missing_lines(plan: LaidPlan, colour: str) -> Iterator[str]:
    """What finds no cloth, what that keeps from being cut, and what would do."""
    shared = plan.rolls[colour]
    short = [f"{counted(n, 'ply')} of lay {lay}" for lay, n in enumerate(shared.missing, 1) if n]
    if not short:
        return
    wanting: Counter[str] = Counter()
    for plies, lay in zip(shared.missing, plan.plan.lays, strict=True):
        wanting.update({size: plies * count for size, count in lay.garments.items() if plies})
    garments = garment_counts({size: wanting[size] for size in plan.order.sizes if wanting[size]})
    proven = "no way to share them out covers more" if shared.optimal else "as well as was found"
    more = cloth_length(_missing_mm(plan, colour))
    yield (
        f"  the {f'{colour} ' if colour else ''}rolls do not suffice for {', '.join(short)}, so "
        f"that {garments} are wanting; {more} more would do; {proven}"
    )


def _missing_mm(plan: LaidPlan, colour: str) -> int:
    """Cloth of the plies that find none, whole plies."""
    missing = plan.rolls[colour].missing
    return sum(plies * laid.ply_mm for plies, laid in zip(missing, plan.lays, strict=True))


def _words(part: Part) -> str:
    if part.splice is None:
        return f"{counted(part.times, 'ply')}"
    which = "first" if part.first else "second"
    from_, to = length(part.splice.from_mm), length(part.splice.reach_mm)
    each = f"{part.times} × {length(part.each_mm)}"
    return f"the {which} part of a ply, {each}, spliced from {from_} to {to}"


def ply_runs(plan: LaidPlan, laid: LaidLay) -> tuple[PlyRun, ...]:
    """The plies of a lay from the table up: colour by colour, roll by roll."""
    runs: list[PlyRun] = []
    for colour, plies in laid.lay.plies.items():
        for run in _alike(plan, colour, laid.number - 1, plies):
            below = runs[-1].last if runs else 0
            runs.append(replace(run, first=below + 1, last=below + run.plies))
    return tuple(runs)


def _alike(plan: LaidPlan, colour: str, lay: int, plies: int) -> Iterator[PlyRun]:
    """Whole plies of each roll, then those that go on from it to the next; each run from 1."""
    if colour not in plan.rolls:
        yield PlyRun(1, plies, colour)
        return
    rolls = [roll for roll in _rolls(plan) if roll.colour == colour]
    by_shade = sorted(rolls, key=lambda each: each.roll.shade)
    parts = [(part, roll.name) for roll in by_shade for part in roll.parts if part.lay == lay]
    joined = list(_joined(colour, parts))
    for roll in rolls:
        whole = sum(part.times for part, name in parts if name == roll.name and not part.splice)
        if whole:
            yield PlyRun(1, whole, colour, (roll.name,))
        yield from (run for run in joined if run.rolls[0] == roll.name)
    missing = plan.rolls[colour].missing[lay]
    if missing:
        yield PlyRun(1, missing, colour, missing=True)


def _joined(colour: str, parts: Sequence[tuple[Part, str]]) -> Iterator[PlyRun]:
    """First and second parts of plies put together, splice by splice: of one shade, where there
    are as many of either in each. parts : by shade."""
    for splice in dict.fromkeys(part.splice for part, _ in parts if part.splice):
        cut = [each for each in parts if each[0].splice == splice]
        firsts = [name for part, name in cut if part.first for _ in range(part.times)]
        seconds = [name for part, name in cut if not part.first for _ in range(part.times)]
        pairs = Counter(zip(firsts, seconds, strict=True))
        yield from (PlyRun(1, times, colour, pair, splice) for pair, times in pairs.items())


def left_after(plan: LaidPlan, name: str, lay: int) -> float:
    """What is left of a roll once the lays up to this one, counted from 1, are spread, mm."""
    roll = next(each for each in _rolls(plan) if each.name == name)
    return roll.length_mm - sum(p.times * p.each_mm for p in roll.parts if p.lay < lay)
