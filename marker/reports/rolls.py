"""What `marker order JOB` says of rolls: what is cut from each, where plies change rolls."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from marker.orders.rolls import Part
from marker.planning.order import LaidPlan
from marker.reports.facts import Mark
from marker.units import inches, length
from marker.words import counted


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
    """One roll, lengths in mm. colour : None where none is named."""

    colour: str | None
    length_mm: int
    left_mm: int
    cuts: tuple[RollCut, ...]


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
class _Roll:
    """One roll, numbered through all colours. name : as a person calls it."""

    colour: str
    name: str
    length_mm: float
    parts: tuple[Part, ...]
    left_mm: int


def _rolls(plan: LaidPlan) -> Iterator[_Roll]:
    """Those of every colour ordered, as the job lists them."""
    number = 0
    for colour, shared in plan.rolls.items():
        lengths = plan.cloth.rolls_in(colour)
        for each in zip(lengths, shared.parts, shared.left_mm, strict=True):
            number += 1
            yield _Roll(colour, " ".join(("roll", str(number), colour)).rstrip(), *each)


def rolls_report(plan: LaidPlan) -> RollsReport | None:
    """What is cut from each roll; None where the cloth comes on none."""
    if not plan.rolls:
        return None
    return RollsReport(
        rolls=tuple(
            RollReport(roll.colour or None, round(roll.length_mm), roll.left_mm, _cuts(roll.parts))
            for roll in _rolls(plan)
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
        yield f"  {roll.name}, {length(roll.length_mm)}: {cut}; {length(roll.left_mm)} left"
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
    garments = ", ".join(f"{size} {count}" for size, count in wanting.items())
    proven = "no way to share them out covers more" if shared.optimal else "as well as was found"
    yield (
        f"  the {f'{colour} ' if colour else ''}rolls do not suffice for {', '.join(short)}, so "
        f"that {garments} are wanting; {length(_missing_mm(plan, colour))} more would do; {proven}"
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


def ticket_lines(plan: LaidPlan, lay: int) -> Iterator[str]:
    """For a lay's ticket: the rolls it is spread from, where cloth is lapped, what is missing."""
    for roll in _rolls(plan):
        for part in roll.parts:
            if part.lay == lay:
                yield f"  [ ] {roll.name}: {_words(part)}"
                if part.splice is not None and part.first:
                    yield (
                        f"      lap the next cloth over it from {length(part.splice.from_mm)} "
                        f"({inches(part.splice.from_mm)}) of the marker's ply on"
                    )
    for colour, shared in plan.rolls.items():
        if shared.missing[lay]:
            plies = counted(shared.missing[lay], f"{colour} ply".strip())
            yield f"  no cloth on the rolls for {plies}"
