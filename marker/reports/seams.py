"""Seams and what is wrong with a pattern: facts for JSON, and what people read of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated

from marker.pattern.finding import Finding
from marker.pattern.seams.seam_report import SeamReport, SideReport
from marker.reports.by_size import Measure, Said
from marker.reports.facts import Digits, FineMm
from marker.units import System, centimetres, cut_length, inches, shown


@dataclass(frozen=True, kw_only=True)
class SideFacts:
    """One side of a seam, lengths in mm. measure : the side by which the others are trued."""

    edges: tuple[str, ...]
    length_mm: FineMm
    flattening_error_mm: Annotated[float, Digits(3)]
    ease_mm: FineMm
    difference_mm: FineMm
    notches_mm: tuple[FineMm, ...]
    measure: bool


@dataclass(frozen=True)
class SeamFacts:
    """One seam in one size."""

    name: str
    size: str
    tolerance_mm: float
    sides: tuple[SideFacts, ...]


def seam_facts(report: SeamReport) -> SeamFacts:
    """The facts of a seam that was walked."""
    return SeamFacts(
        report.seam.name,
        report.size,
        report.seam.tolerance_mm,
        tuple(_side(side, k == report.measure) for k, side in enumerate(report.sides)),
    )


def _side(side: SideReport, measure: bool) -> SideFacts:
    walk = side.walk
    return SideFacts(
        edges=tuple(str(leg.ref) for leg in walk.legs),
        length_mm=walk.length_mm,
        flattening_error_mm=walk.flattening_error_mm,
        ease_mm=side.side.ease_mm,
        difference_mm=side.difference_mm,
        notches_mm=tuple(sorted(at for mark in walk.marks for at in mark.at_mm)),
        measure=measure,
    )


def seam_measures(seams: Iterable[SeamFacts]) -> Iterator[Measure]:
    """A heading a seam, a row a side, and by how much a side is off where it is."""
    for seam in seams:
        yield Measure(seam.name, seam.size, seam.name)
        for side in seam.sides:
            yield _measure(seam, f"  {' + '.join(side.edges)}{_ease(side.ease_mm)}", side.length_mm)
            off = side.difference_mm
            if abs(off) > seam.tolerance_mm:
                yield _measure(seam, f"    too {'long' if off > 0 else 'short'} by", abs(off))


def _measure(seam: SeamFacts, label: str, mm: float) -> Measure:
    return Measure(seam.name, seam.size, label, *in_units_shown(mm))


def in_units_shown(mm: float) -> tuple[str, str]:
    """'45.0' and '17 3/4', the leading unit first, for tables whose heading names the units; the
    other is '' where it is not shown."""
    figures = {System.METRIC: centimetres(mm), System.IMPERIAL: inches(mm, 16).removesuffix(" in")}
    lead = shown().lead
    return figures[lead], figures[lead.other] if shown().both else ""


def _ease(mm: float) -> str:
    if mm == 0:
        return ""
    return f", {cut_length(mm)} eased in" if mm > 0 else f", stretched by {cut_length(-mm)}"


def said_of(finding: Finding) -> Said:
    """A finding as lines for a person, its remedy below it."""
    thing = finding.code, finding.piece, finding.seam
    lines = f"{finding.severity}: {finding.message}", f"  {finding.remedy}."
    return Said(thing, finding.size, lines)
