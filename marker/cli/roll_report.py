"""What `marker order JOB` says of rolls: what is cut from each, where plies change rolls."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from marker.counting import counted
from marker.order_plan import LaidPlan
from marker.orders.rolls import Part, RollPlan
from marker.units import inches, metric


def roll_facts(plan: LaidPlan) -> dict[str, Any] | None:
    """For JSON, lengths in mm; None where the cloth comes on no rolls. Lays count from 1."""
    rolls = plan.rolls
    if rolls is None:
        return None
    return {
        "rolls": [
            {
                "length_mm": round(length),
                "left_mm": left,
                "cuts": [_cut(part) for part in parts],
            }
            for length, left, parts in zip(
                plan.cloth.rolls_mm, rolls.left_mm, rolls.parts, strict=True
            )
        ],
        "splices": rolls.splices,
        "missing": [
            {"lay": lay, "plies": plies} for lay, plies in enumerate(rolls.missing, 1) if plies
        ],
        "missing_mm": _missing_mm(plan, rolls),
        "optimal": rolls.optimal,
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
    rolls = plan.rolls
    if rolls is None:
        return
    yield ""
    rows = zip(plan.cloth.rolls_mm, rolls.parts, rolls.left_mm, strict=True)
    for number, (length, parts, left) in enumerate(rows, 1):
        cut = "; ".join(f"lay {part.lay + 1}: {_words(part)}" for part in parts) or "not cut"
        yield f"  roll {number}, {metric(length)}: {cut}; {metric(left)} left"
    proven = "proven fewest" if rolls.optimal else "fewest found"
    if rolls.splices:
        yield f"  {counted(rolls.splices, 'ply')} spliced from two rolls, {proven}"
    missing = [(lay, plies) for lay, plies in enumerate(rolls.missing, 1) if plies]
    if missing:
        short = [f"{counted(plies, 'ply')} of lay {lay}" for lay, plies in missing]
        least = "at least " if rolls.optimal else ""
        yield (
            f"  the rolls do not suffice for {', '.join(short)}: {least}"
            f"{metric(_missing_mm(plan, rolls))} more is wanted; the rest can be cut"
        )


def _missing_mm(plan: LaidPlan, rolls: RollPlan) -> int:
    """Cloth of the plies that find none, whole plies."""
    return sum(
        plies * plan.ply_mm(marker)
        for plies, marker in zip(rolls.missing, plan.markers, strict=True)
    )


def _words(part: Part) -> str:
    if part.splice is None:
        return f"{counted(part.times, 'ply')}"
    which = "first" if part.first else "second"
    from_, to = metric(part.splice.from_mm), metric(part.splice.reach_mm)
    each = f"{part.times} × {metric(part.each_mm)}"
    return f"the {which} part of a ply, {each}, spliced from {from_} to {to}"


def ticket_lines(plan: LaidPlan, lay: int) -> Iterator[str]:
    """For a lay's ticket: the rolls it is spread from, in order, and where cloth is lapped."""
    for number, parts in enumerate(plan.rolls.parts if plan.rolls else (), 1):
        for part in parts:
            if part.lay == lay:
                yield f"  [ ] roll {number}: {_words(part)}"
                if part.splice is not None and part.first:
                    yield (
                        f"      lap the next cloth over it from {metric(part.splice.from_mm)} "
                        f"({inches(part.splice.from_mm)}) of the marker's ply on"
                    )
