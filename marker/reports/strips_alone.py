"""The strips of a cloth cut by themselves, and what that costs or saves: facts and lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from marker.cloth.behaviour import Direction
from marker.pattern.bands.strip_layout import StripLayout
from marker.planning.strips import StripCost
from marker.reports.facts import Mm
from marker.units import area, cut_length, length, lengths


@dataclass(frozen=True)
class PartFacts:
    """A part of a strip as it lies in a row."""

    strip: str
    length_mm: Mm


@dataclass(frozen=True)
class RowFacts:
    """Parts of strips cut side by side."""

    direction: Direction
    width_mm: Mm
    used_mm: Mm
    parts: tuple[PartFacts, ...]


@dataclass(frozen=True)
class BiasSquareFacts:
    """The square that gives continuous bias of a width and length."""

    width_mm: Mm
    length_mm: Mm
    side_mm: Mm


@dataclass(frozen=True)
class StripsFacts:
    """The strips of one cloth cut by themselves. length_mm : of the cloth that they take."""

    cloth: str
    length_mm: Mm
    rows: tuple[RowFacts, ...]
    bias_squares: tuple[BiasSquareFacts, ...]


@dataclass(frozen=True)
class CostFacts:
    """What the strips of one cloth cost, lengths of cloth in mm.

    among_mm : pieces and strips laid together. saved_mm : by that; below 0 if it costs more.
    """

    cloth: str
    among_mm: Mm
    pieces_mm: Mm
    strips_mm: Mm
    saved_mm: Mm


def strips_facts(layout: StripLayout) -> StripsFacts:
    """The facts of the strips of one cloth."""
    return StripsFacts(
        layout.cloth.name,
        layout.length_mm,
        tuple(
            RowFacts(
                row.direction,
                row.width_mm,
                row.used_mm,
                tuple(PartFacts(name, mm) for name, mm in row.parts),
            )
            for row in layout.rows
        ),
        tuple(
            BiasSquareFacts(square.width_mm, square.length_mm, square.side_mm)
            for square in layout.squares
        ),
    )


_ROW = {
    Direction.CROSSGRAIN: "cross-cut",
    Direction.LENGTHGRAIN: "row along the cloth",
    Direction.BIAS: "row at 45°",
}


def strips_lines(layout: StripLayout) -> Iterator[str]:
    """The same for a person."""
    yield f"Strips of {layout.cloth.name} by themselves take {length(layout.length_mm)} of cloth:"
    for direction in Direction:
        rows = layout.rows_along(direction)
        for row in rows:
            parts = " + ".join(f"{name} {cut_length(mm)}" for name, mm in _counted(row.parts))
            yield f"  1 {_ROW[direction]} of {cut_length(row.width_mm)}: {parts}"
        if direction is Direction.BIAS and rows:
            yield "  each row steps its width × √2 along the selvage: " + ", ".join(
                f"{cut_length(width)} × √2 = {cut_length(width * 2**0.5)}"
                for width in dict.fromkeys(row.width_mm for row in rows)
            )
    for square in layout.squares:
        yield (
            f"  or continuous bias from a square: {length(square.length_mm)} × "
            f"{length(square.width_mm)} = {area(square.area_mm2, small=True)}; its side is the "
            "root of "
            f"that, {lengths(square.side_mm)}, and two seam allowances"
        )


def _counted(parts: Sequence[tuple[str, float]]) -> Iterator[tuple[str, float]]:
    """Equal parts of one strip once, with their number."""
    for name, mm in dict.fromkeys(parts):
        count = parts.count((name, mm))
        yield (f"{count} × {name}" if count > 1 else name), mm


def cost_facts(cost: StripCost) -> CostFacts:
    """The facts of what strips cost."""
    return CostFacts(cost.cloth, cost.among_mm, cost.pieces_mm, cost.strips_mm, cost.saved_mm)


def cost_lines(cost: CostFacts) -> Iterator[str]:
    """The same for a person."""
    apart = cost.pieces_mm + cost.strips_mm
    yield (
        f"{cost.cloth}: strips laid among the pieces take {length(cost.among_mm)} in all; pieces "
        f"{length(cost.pieces_mm)} + strips by themselves {length(cost.strips_mm)} = "
        f"{length(apart)}"
    )
    if cost.saved_mm >= 0:
        yield f"  laying them among the pieces, as `marker lay` does, saves {length(cost.saved_mm)}"
    else:
        yield (
            f"  cutting them by themselves saves {length(-cost.saved_mm)}; or search longer: a "
            f"layout may always put them at its end"
        )
