"""What `marker order JOB` says of rolls: what is cut from each, where plies change rolls."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from marker.orders.rolls import Part
from marker.planning.order import LaidPlan
from marker.units import inches, metric
from marker.words import counted


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


def roll_facts(plan: LaidPlan) -> dict[str, Any] | None:
    """For JSON, lengths in mm; None where the cloth comes on no rolls. Lays count from 1."""
    if not plan.rolls:
        return None
    return {
        "rolls": [
            {
                "colour": roll.colour or None,
                "length_mm": round(roll.length_mm),
                "left_mm": roll.left_mm,
                "cuts": [_cut(part) for part in roll.parts],
            }
            for roll in _rolls(plan)
        ],
        "splices": sum(shared.splices for shared in plan.rolls.values()),
        "missing": [
            {"lay": lay, "colour": colour or None, "plies": plies}
            for colour, shared in plan.rolls.items()
            for lay, plies in enumerate(shared.missing, 1)
            if plies
        ],
        "missing_mm": sum(_missing_mm(plan, colour) for colour in plan.rolls),
        "optimal": all(shared.optimal for shared in plan.rolls.values()),
    }


def _cut(part: Part) -> dict[str, Any]:
    facts: dict[str, Any] = {"lay": part.lay + 1, "times": part.times, "each_mm": part.each_mm}
    if part.splice is None:
        return facts | {"what": "plies"}
    return facts | {
        "what": "first parts" if part.first else "second parts",
        "splice_from_mm": part.splice.from_mm,
        "splice_to_mm": part.splice.reach_mm,
    }


def roll_lines(plan: LaidPlan) -> Iterator[str]:
    """For a person, under the plan of a cloth."""
    if not plan.rolls:
        return
    yield ""
    for roll in _rolls(plan):
        cut = "; ".join(f"lay {part.lay + 1}: {_words(part)}" for part in roll.parts) or "not cut"
        yield f"  {roll.name}, {metric(roll.length_mm)}: {cut}; {metric(roll.left_mm)} left"
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
        f"that {garments} are wanting; {metric(_missing_mm(plan, colour))} more would do; {proven}"
    )


def _missing_mm(plan: LaidPlan, colour: str) -> int:
    """Cloth of the plies that find none, whole plies."""
    missing = plan.rolls[colour].missing
    return sum(
        plies * plan.ply_mm(marker) for plies, marker in zip(missing, plan.markers, strict=True)
    )


def _words(part: Part) -> str:
    if part.splice is None:
        return f"{counted(part.times, 'ply')}"
    which = "first" if part.first else "second"
    from_, to = metric(part.splice.from_mm), metric(part.splice.reach_mm)
    each = f"{part.times} × {metric(part.each_mm)}"
    return f"the {which} part of a ply, {each}, spliced from {from_} to {to}"


def ticket_lines(plan: LaidPlan, lay: int) -> Iterator[str]:
    """For a lay's ticket: the rolls it is spread from, where cloth is lapped, what is missing."""
    for roll in _rolls(plan):
        for part in roll.parts:
            if part.lay == lay:
                yield f"  [ ] {roll.name}: {_words(part)}"
                if part.splice is not None and part.first:
                    yield (
                        f"      lap the next cloth over it from {metric(part.splice.from_mm)} "
                        f"({inches(part.splice.from_mm)}) of the marker's ply on"
                    )
    for colour, shared in plan.rolls.items():
        if shared.missing[lay]:
            plies = counted(shared.missing[lay], f"{colour} ply".strip())
            yield f"  no cloth on the rolls for {plies}"
