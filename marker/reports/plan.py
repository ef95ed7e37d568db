"""What `marker order` says: a plan as plain values for JSON and as a table for a person."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from marker.orders.feasible import NoPlan
from marker.orders.order import CutOrder, Lay
from marker.orders.planning import CutPlan, Tier
from marker.words import counted


def plan_as_dict(plan: CutPlan) -> dict[str, Any]:
    """A plan for JSON. bound : of the first thing minimised; optimal : of all of them."""
    return {
        "lays": [_lay(plan.order, lay) for lay in plan.lays],
        "totals": {
            "lays": len(plan.lays),
            "plies": sum(lay.height for lay in plan.lays),
            "garments": sum(lay.cut for lay in plan.lays),
        },
        "bound": plan.tiers[0].bound,
        "optimal": plan.optimal,
        "minimised": [
            {"what": tier.what, "value": tier.value, "bound": tier.bound} for tier in plan.tiers
        ],
    }


def _lay(order: CutOrder, lay: Lay) -> dict[str, Any]:
    facts = {"plies": lay.height, "garments": dict(lay.garments), "length_mm": None}
    return facts | ({"plies_by_colour": dict(lay.plies)} if len(order.colours) > 1 else {})


def plan_lines(plan: CutPlan) -> Iterator[str]:
    """A plan as a table, with its totals and what is proven of it."""
    yield from _table(plan.order, plan.lays)
    yield ""
    yield from (_tier_line(tier) for tier in plan.tiers)


def no_plan_lines(problem: NoPlan, order: CutOrder) -> Iterator[str]:
    """Why there is no plan, and the nearest ones."""
    yield f"{problem}."
    for nearest in problem.nearest:
        yield f"The nearest possible plan {nearest.how}:"
        yield from _table(order, nearest.lays)


def _tier_line(tier: Tier) -> str:
    if tier.value == tier.bound:
        return f"  {tier.value} {tier.what}, proven fewest"
    gap = 100 * (1 - tier.bound / tier.value)
    return f"  {tier.value} {tier.what}; no plan has fewer than {tier.bound}, a gap of {gap:.1f} %"


def _table(order: CutOrder, lays: Sequence[Lay]) -> Iterator[str]:
    """One row a lay: plies (of each colour, if there are several), garments of each size."""
    colours = order.colours if len(order.colours) > 1 else ()
    rows = [["lay", *colours, "plies", *order.sizes, "garments"]]
    for number, lay in enumerate(lays, 1):
        plies = [lay.plies.get(colour, 0) for colour in colours]
        garments = [lay.garments.get(size, 0) for size in order.sizes]
        rows.append([str(cell) for cell in (number, *plies, lay.height, *garments, lay.cut)])
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = (cell.rjust(width) for cell, width in zip(row, widths, strict=True))
        yield "  " + "  ".join(cells)
    yield "  " + _totals(order, lays)


def _totals(order: CutOrder, lays: Sequence[Lay]) -> str:
    cut = sum(lay.cut for lay in lays)
    beyond = cut - order.garments
    more = f", {beyond} of them beyond the order" if beyond else ", as ordered"
    height = sum(lay.height for lay in lays)
    lays_plies = f"{counted(len(lays), 'lay')}, {counted(height, 'ply')}"
    return f"{lays_plies}, {counted(cut, 'garment')}{more}"
