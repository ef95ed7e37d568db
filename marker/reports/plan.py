"""What `marker order` says of a plan from numbers alone: its JSON, and a table for a person."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from marker.orders.feasible import NoPlan
from marker.orders.order import CutOrder, Lay
from marker.orders.planning import CutPlan, Tier
from marker.reports.facts import Mark
from marker.words import counted, size_headings

_ONE_OF = {"lays": "lay", "plies": "ply"}


@dataclass(frozen=True, kw_only=True)
class LayNumbers:
    """One lay. length_mm : of its marker, which is not known here."""

    plies: int
    garments: Mapping[str, int]
    length_mm: float | None = None
    plies_by_colour: Annotated[Mapping[str, int] | None, Mark.LEFT_OUT] = None


@dataclass(frozen=True)
class Totals:
    """Of all lays."""

    lays: int
    plies: int
    garments: int


@dataclass(frozen=True, kw_only=True)
class PlanReport:
    """A plan. bound : of the first thing minimised. optimal : all that was minimised is proven."""

    lays: tuple[LayNumbers, ...]
    totals: Totals
    bound: int
    optimal: bool
    minimised: tuple[Tier, ...]


def plan_report(plan: CutPlan) -> PlanReport:
    """The facts of a plan."""
    several = len(plan.order.colours) > 1
    return PlanReport(
        lays=tuple(
            LayNumbers(
                plies=lay.height,
                garments=lay.garments,
                plies_by_colour=lay.plies if several else None,
            )
            for lay in plan.lays
        ),
        totals=totals(plan.lays),
        bound=plan.tiers[0].bound,
        optimal=plan.optimal,
        minimised=plan.tiers,
    )


def totals(lays: Sequence[Lay]) -> Totals:
    """Lays, plies and garments of a plan."""
    return Totals(len(lays), sum(lay.height for lay in lays), sum(lay.cut for lay in lays))


def totals_line(lays: Sequence[Lay], ordered: int) -> str:
    """'4 lays, 260 plies, 1300 garments, as ordered'. ordered : garments."""
    of = totals(lays)
    beyond = of.garments - ordered
    more = f", {beyond} of them beyond the order" if beyond else ", as ordered"
    counts = counted(of.lays, "lay"), counted(of.plies, "ply"), counted(of.garments, "garment")
    return f"{', '.join(counts)}{more}"


def plan_lines(plan: CutPlan) -> Iterator[str]:
    """A plan as a table, with its totals and what is proven of it."""
    yield from _table(plan.order, plan.lays)
    yield ""
    yield from (tier_line(tier) for tier in plan.tiers)


def no_plan_lines(problem: NoPlan, order: CutOrder) -> Iterator[str]:
    """Why there is no plan, and the nearest ones."""
    yield f"{problem}."
    for nearest in problem.nearest:
        yield f"The nearest possible plan {nearest.how}:"
        yield from _table(order, nearest.lays)


def gap_percent(tier: Tier) -> float:
    """By how much the value may still fall: 100 (1 - bound ÷ value)."""
    return 100 * (1 - tier.bound / tier.value) if tier.value else 0.0


def tier_line(tier: Tier) -> str:
    """A number that was minimised, and what is proven of it."""
    said = counted(tier.value, _ONE_OF[tier.what])
    if tier.value == tier.bound:
        return f"  {said}, proven fewest"
    gap = gap_percent(tier)
    return f"  {said}; no plan has fewer than {tier.bound}, a gap of {gap:.1f} %"


def _table(order: CutOrder, lays: Sequence[Lay]) -> Iterator[str]:
    """One row a lay: plies (of each colour, if there are several), garments of each size."""
    colours = order.colours if len(order.colours) > 1 else ()
    sizes = size_headings(order.sizes, "in marker")
    rows = [["lay", *colours, "plies", *sizes, "garments"]]
    for number, lay in enumerate(lays, 1):
        plies = [lay.plies.get(colour, 0) for colour in colours]
        garments = [lay.garments.get(size, 0) for size in order.sizes]
        rows.append([str(cell) for cell in (number, *plies, lay.height, *garments, lay.cut)])
    yield from aligned(rows)
    yield f"  {totals_line(lays, order.garments)}"


def aligned(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Rows of cells as lines, columns set to the right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = (cell.rjust(width) for cell, width in zip(row, widths, strict=True))
        yield "  " + "  ".join(cells)
