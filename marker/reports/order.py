"""What `marker order JOB` says: plans with their lengths, tickets to cut by, bundles."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from marker.cloth.spread import Spreading
from marker.job import Job
from marker.layout import CheckedLayout
from marker.orders.order import Lay
from marker.planning.order import LaidPlan
from marker.reports.bundles import bundle_lines, bundles
from marker.reports.layout import spread_line
from marker.reports.rolls import roll_facts, roll_lines, ticket_lines
from marker.units import inches, metric
from marker.words import counted


def plan_facts(job: Job, plans: Sequence[LaidPlan]) -> dict[str, Any]:
    """The plans of all cloths for JSON, lengths in mm. A ply's length has its end loss in it."""
    wanted = {colour: dict(sizes) for colour, sizes in plans[0].order.wanted.items() if colour}
    facts = {"name": job.name, "order": dict(job.order), "order_by_colour": wanted or None}
    return facts | {"cloths": [_cloth(plan) for plan in plans]}


def _cloth(plan: LaidPlan) -> dict[str, Any]:
    lays = plan.plan.lays
    tier = plan.plan.tiers[0]
    return {
        "cloth": plan.cloth.name,
        "spread": plan.cloth.spread.value,
        "lays": [_lay(plan, lay, marker) for lay, marker in zip(lays, plan.markers, strict=True)],
        "totals": {
            "lays": len(lays),
            "plies": sum(lay.height for lay in lays),
            "garments": sum(lay.cut for lay in lays),
            "cloth_mm": plan.cloth_mm,
        },
        "minimised": {"what": tier.what, "value": tier.value, "bound": tier.bound},
        "optimal": plan.plan.optimal,
        "rounds": plan.rounds,
        "stable": plan.stable,
        "rolls": roll_facts(plan),
    }


def _lay(plan: LaidPlan, lay: Lay, marker: CheckedLayout) -> dict[str, Any]:
    return {
        "plies": lay.height,
        "plies_by_colour": dict(lay.plies) if len(plan.order.colours) > 1 else None,
        "garments": dict(lay.garments),
        "length_mm": round(marker.layout.length_mm, 1),
        "ply_mm": plan.ply_mm(marker),
        "cloth_mm": lay.height * plan.ply_mm(marker),
        "utilisation": round(marker.utilisation, 4),
        "length_lower_bound_mm": round(marker.layout.length_lower_bound_mm, 1),
        "pieces": [
            {"piece": piece, "size": size, "in_marker": number, "cut": number * lay.height}
            for (piece, size), number in _pieces(marker).items()
        ],
        "bundles": [
            {"garment": garment, "size": size, "times": lay.height, "pieces": dict(pieces)}
            for garment, size, pieces in bundles(marker)
        ],
    }


def _pieces(marker: CheckedLayout) -> Counter[tuple[str, str]]:
    return Counter((place.piece, place.size) for place in marker.layout.placements)


def plan_lines(job: Job, plans: Sequence[LaidPlan]) -> Iterator[str]:
    """The plans as tables for a person, with totals and what is proven of them."""
    for colour, sizes in plans[0].order.wanted.items():
        wanted = ", ".join(f"{size} {number}" for size, number in sizes.items())
        yield f"{job.name}, ordered{f' in {colour}' if colour else ''}: {wanted}"
    for plan in plans:
        yield ""
        yield f"From {plan.cloth.name}, {metric(plan.cloth.usable_width_mm)} of usable width:"
        yield from _table(plan, tuple(job.order))
        yield from _totals(job, plan)
        for number in range(len(plan.markers)):
            yield from _spread_lines(plan, number, f"  lay {number + 1}: ")
        yield from roll_lines(plan)


def _table(plan: LaidPlan, sizes: Sequence[str]) -> Iterator[str]:
    colours = plan.order.colours if len(plan.order.colours) > 1 else ()
    rows = [["lay", *sizes, *colours, "plies", "marker", "ply with ends", "cloth", "garments"]]
    for number, (lay, marker) in enumerate(zip(plan.plan.lays, plan.markers, strict=True), 1):
        ply = plan.ply_mm(marker)
        lengths = (metric(mm) for mm in (marker.layout.length_mm, ply, lay.height * ply))
        counts = (str(lay.garments.get(size, 0)) for size in sizes)
        plies = [str(lay.plies.get(colour, 0)) for colour in colours]
        rows.append([str(number), *counts, *plies, str(lay.height), *lengths, str(lay.cut)])
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        yield "  " + "  ".join(c.rjust(width) for c, width in zip(row, widths, strict=True))


def _totals(job: Job, plan: LaidPlan) -> Iterator[str]:
    lays = plan.plan.lays
    height, cut = sum(lay.height for lay in lays), sum(lay.cut for lay in lays)
    beyond = cut - len(job.garments)
    more = f", {beyond} of them beyond the order" if beyond else ", as ordered"
    yield (
        f"  {metric(plan.cloth_mm)} ({inches(plan.cloth_mm)}) of cloth in "
        f"{counted(len(lays), 'lay')}, {counted(height, 'ply')}, {counted(cut, 'garment')}{more}"
    )
    tier = plan.plan.tiers[0]
    gap = 100 * (1 - tier.bound / tier.value)
    said = "least" if tier.bound == tier.value else f"none costs less than {metric(tier.bound)}"
    worth = ", lays counted in" if tier.what == "cost_mm" else ""
    yield (
        f"  of all plans with markers as laid, or as long as estimated where none was: {said}"
        f"{worth}{f', a gap of {gap:.1f} %' if tier.bound < tier.value else ''}"
    )
    settled = "until nothing changed" if plan.stable else "without coming to rest"
    yield f"  planned {counted(plan.rounds, 'time')}, {settled}"


def _colour_lines(plan: LaidPlan, lay: Lay) -> Iterator[str]:
    """Plies of each colour, where there are several."""
    if len(plan.order.colours) > 1:
        yield "          " + ", ".join(f"{plies} {colour}" for colour, plies in lay.plies.items())


def _spread_lines(plan: LaidPlan, lay: int, start: str) -> Iterator[str]:
    """Which garments are cut together, and how a ply lies; nothing where it lies open."""
    if plan.cloth.spread is not Spreading.OPEN:
        marker = plan.markers[lay]
        sizes = Counter(marker.garments).items()
        garments = " and ".join(f"{n} {size}" if n > 1 else size for size, n in sizes)
        together = "together" if len(marker.garments) > 1 else "alone"
        yield f"{start}{garments} {together}, {spread_line(marker)}"


def tickets(job: Job, plans: Sequence[LaidPlan]) -> str:
    """A ticket for each lay: what is spread, what is cut and counted, which garments come of it."""
    lines = []
    for plan in plans:
        for number, (lay, marker) in enumerate(zip(plan.plan.lays, plan.markers, strict=True), 1):
            ply = plan.ply_mm(marker)
            lines += [
                f"{job.name}, {plan.cloth.name}, lay {number} of {len(plan.plan.lays)}",
                f"  spread  {counted(lay.height, 'ply')} of {metric(ply)} ({inches(ply)}), ends "
                f"included: {metric(lay.height * ply)}",
                *_colour_lines(plan, lay),
                *_spread_lines(plan, number - 1, "          "),
                *ticket_lines(plan, number - 1),
                "  count   in the marker   cut   piece",
            ]
            for (piece, size), count in _pieces(marker).items():
                counts = f"{count:13}   {count * lay.height:3}"
                lines.append(f"  [ ]     {counts}   {piece}, size {size}")
            lines.append("  bundles, from each ply")
            lines += [f"  [ ] {bundle}" for bundle in bundle_lines(marker)]
            lines.append("")
    return "\n".join(lines)
