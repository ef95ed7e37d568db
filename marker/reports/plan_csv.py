"""The plan of an order as a table for spreadsheets: comma-separated values (RFC 4180)."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from io import StringIO

from marker.planning.laid_plan import LaidLay, LaidPlan
from marker.reports.lays import cost, garment_mm, height_mm, letters
from marker.units import MM_PER_UNIT, System, shown

FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What makes a spreadsheet take a cell for a formula (OWASP, "CSV Injection")."""


def plan_csv(plans: Sequence[LaidPlan]) -> str:
    """A row for each lay of each cloth: its marker, its sizes, the plies of each colour, lengths in
    the unit that its heading names, decimals with a point. A name that a spreadsheet would work out
    as a formula has an apostrophe before it."""
    text = StringIO()
    csv.writer(text).writerows([_as_text(cell) for cell in row] for row in _rows(plans))
    return text.getvalue()


def _as_text(cell: object) -> object:
    """A cell that no spreadsheet takes for a formula; figures here are never below 0."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA) else cell


def _rows(plans: Sequence[LaidPlan]) -> Iterator[list[object]]:
    order = plans[0].order
    unit = "cm" if shown().lead is System.METRIC else "in"
    colours = [colour for colour in order.colours if colour]
    yield [
        *("cloth", "lay", "marker"),
        *(f"size {size}" for size in order.sizes),
        *(f"plies {colour}" for colour in colours),
        *("plies", "garments", f"marker length ({unit})", f"ply with ends ({unit})"),
        *(f"cloth ({unit})", f"cloth a garment ({unit})", f"height ({unit})"),
        *("marker efficiency (%)", "cost", "currency", f"for rolls from ({unit})"),
    ]
    for plan in plans:
        named = letters(plan)
        for laid in plan.lays:
            counts = [laid.lay.garments.get(size, 0) for size in order.sizes]
            plies = [laid.lay.plies.get(colour, 0) for colour in colours]
            yield [plan.cloth.name, laid.number, named[laid.number], *counts, *plies,
                   *_figures(laid, float(MM_PER_UNIT[unit]))]  # fmt: skip


def _figures(laid: LaidLay, mm: float) -> Iterator[object]:
    """mm : of one unit."""
    height, price = height_mm(laid), laid.marker.layout.cloth.price
    yield laid.lay.height
    yield laid.lay.cut
    for length in (laid.marker.layout.length_mm, laid.ply_mm, laid.cloth_mm, garment_mm(laid)):
        yield f"{length / mm:.2f}"
    yield "" if height is None else f"{height / mm:.2f}"
    yield f"{100 * laid.marker.utilisation:.1f}"
    amount = cost(laid)
    yield "" if amount is None else f"{amount:.2f}"
    yield price.currency if price else ""
    yield f"{laid.marker.layout.cloth.width_mm / mm:.2f}"
