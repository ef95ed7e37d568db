"""What `marker order JOB` says: plans with their lengths, tickets to cut by, bundles."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from marker.cli.roll_report import roll_facts, roll_lines, ticket_lines
from marker.counting import counted
from marker.job import Job
from marker.layout import CheckedLayout
from marker.order_plan import LaidPlan
from marker.orders.order import Lay
from marker.units import inches, metric


def plan_facts(job: Job, plans: Sequence[LaidPlan]) -> dict[str, Any]:
    """The plans of all cloths for JSON, lengths in mm. A ply's length has its end loss in it."""
    return {"name": job.name, "order": dict(job.order), "cloths": [_cloth(plan) for plan in plans]}


def _cloth(plan: LaidPlan) -> dict[str, Any]:
    lays = plan.plan.lays
    tier = plan.plan.tiers[0]
    return {
        "cloth": plan.cloth.name,
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
            for garment, size, pieces in _bundles(marker)
        ],
    }


def _pieces(marker: CheckedLayout) -> Counter[tuple[str, str]]:
    return Counter((place.piece, place.size) for place in marker.layout.placements)


def _bundles(marker: CheckedLayout) -> Iterator[tuple[int, str, Counter[str]]]:
    """Garment, its size and its pieces, numbered as on the diagram."""
    for garment, size in enumerate(marker.garments, start=1):
        own = (place for place in marker.layout.placements if place.garment == garment)
        yield garment, size, Counter(place.piece for place in own)


def plan_lines(job: Job, plans: Sequence[LaidPlan]) -> Iterator[str]:
    """The plans as tables for a person, with totals and what is proven of them."""
    wanted = ", ".join(f"{size} {number}" for size, number in job.order.items())
    yield f"{job.name}, ordered: {wanted}"
    for plan in plans:
        yield ""
        yield f"From {plan.cloth.name}, {metric(plan.cloth.usable_width_mm)} of usable width:"
        yield from _table(plan, tuple(job.order))
        yield from _totals(job, plan)
        yield from roll_lines(plan)


def _table(plan: LaidPlan, sizes: Sequence[str]) -> Iterator[str]:
    rows = [["lay", *sizes, "plies", "marker", "ply with ends", "cloth", "garments"]]
    for number, (lay, marker) in enumerate(zip(plan.plan.lays, plan.markers, strict=True), 1):
        ply = plan.ply_mm(marker)
        lengths = (metric(mm) for mm in (marker.layout.length_mm, ply, lay.height * ply))
        counts = (str(lay.garments.get(size, 0)) for size in sizes)
        rows.append([str(number), *counts, str(lay.height), *lengths, str(lay.cut)])
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
                *ticket_lines(plan, number - 1),
                "  count   in the marker   cut   piece",
            ]
            for (piece, size), count in _pieces(marker).items():
                counts = f"{count:13}   {count * lay.height:3}"
                lines.append(f"  [ ]     {counts}   {piece}, size {size}")
            lines.append("  bundles, from each ply")
            for garment, size, pieces in _bundles(marker):
                of = ", ".join(f"{n} {piece}" for piece, n in pieces.items())
                lines.append(f"  [ ] garment {garment}, size {size}: {of}")
            lines.append("")
    return "\n".join(lines)
