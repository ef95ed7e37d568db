"""What `marker check` says: what a job cuts, which seams meet, what is to correct."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from marker.cloth.behaviour import Direction
from marker.job import Job
from marker.pattern.bands.strip_plan import StripPlan
from marker.pattern.finding import Finding
from marker.pattern.pattern import Pattern
from marker.pattern.piece import CutPiece
from marker.pattern.repeats.phases import match_places
from marker.pattern.seams.seam_report import SeamReport, SideReport, seam_reports
from marker.pattern.stitching import edge_length_mm
from marker.planning.tasks import LayingTask
from marker.reports.by_size import Measure, Said, by_size, size_table
from marker.reports.facts import Digits, FineMm, Mark, Mm
from marker.units import (
    System,
    centimetres,
    cut_figure,
    cut_length,
    cut_lengths,
    inches,
    length,
    shown,
)
from marker.words import counted, with_size

NO_SEAMS = "No seams to check: add a [[seam]] for edges that are sewn together."

_UNIT = {System.METRIC: "cm", System.IMPERIAL: "inches"}


@dataclass(frozen=True, kw_only=True)
class PieceFacts:
    """One piece of one size as cut; along and across the cloth, mm."""

    piece: str
    size: str
    cloth: str
    cut: int
    mirrored: int
    on_fold: bool
    along_mm: Mm
    across_mm: Mm
    note: str


@dataclass(frozen=True, kw_only=True)
class StripFacts:
    """One strip of one size as cut, mm. opening_mm : of what it finishes, None if of nothing."""

    strip: str
    finishes: str | None
    opening_mm: Mm | None
    cut_length_mm: Mm
    width_mm: Mm
    direction: Direction
    cut: int
    parts: int
    part_length_mm: Mm
    cloth: str
    size: str


@dataclass(frozen=True, kw_only=True)
class MatchFacts:
    """One match of one size. repeat_mm : where in the repeat its first point lies, as drawn."""

    letter: str
    name: str
    size: str
    cloth: str
    points: tuple[str, ...]
    repeat_mm: Mapping[str, FineMm]


@dataclass(frozen=True)
class EdgeFacts:
    """The length of one edge on the stitching line, as drawn."""

    piece: str
    edge: str
    size: str
    length_mm: FineMm


@dataclass(frozen=True, kw_only=True)
class CheckReport:
    """What a job cuts in every size it comes in, what is sewn to what, what does not meet."""

    name: str
    size: str
    sizes: tuple[str, ...]
    garments: int
    findings: tuple[Finding, ...]
    pieces: tuple[PieceFacts, ...]
    strips: tuple[StripFacts, ...]
    seams: tuple[SeamFacts, ...]
    matches: tuple[MatchFacts, ...]
    edges: tuple[EdgeFacts, ...]
    files: Annotated[tuple[Path, ...] | None, Mark.LEFT_OUT] = None


def check_report(job: Job, work: Sequence[LayingTask]) -> CheckReport:
    """The facts of a job. work : one garment of each size."""
    return CheckReport(
        name=job.name,
        size=job.size,
        sizes=job.sizes,
        garments=len(job.garments),
        findings=tuple(found for size in job.sizes for found in job.findings(size)),
        pieces=tuple(_piece(piece) for task in work for piece in task.load.cut_pieces),
        strips=tuple(_strip(plan, size) for size in job.sizes for plan in job.strip_plans(size)),
        seams=tuple(_seam_facts(report) for each in job.patterns for report in seam_reports(each)),
        matches=tuple(match for each in job.patterns for match in _matches(each, work)),
        edges=tuple(edge for each in job.patterns for edge in _edges(each)),
    )


def _edges(pattern: Pattern) -> Iterator[EdgeFacts]:
    for piece in pattern.pieces:
        for edge in piece.edges:
            yield EdgeFacts(piece.name, edge, pattern.size, edge_length_mm(piece, edge))


def _piece(piece: CutPiece) -> PieceFacts:
    along, across = piece.outline.max(axis=0) - piece.outline.min(axis=0)
    return PieceFacts(
        piece=piece.name,
        size=piece.size,
        cloth=piece.cloth,
        cut=piece.copies + piece.mirrored_copies,
        mirrored=piece.mirrored_copies,
        on_fold=piece.fold_line is not None,
        along_mm=float(along),
        across_mm=float(across),
        note=piece.note,
    )


def _strip(plan: StripPlan, size: str) -> StripFacts:
    strip, band = plan.strip, plan.band
    length, width = plan.as_cut_mm
    return StripFacts(
        strip=strip.name,
        finishes=strip.finishes,
        opening_mm=None if band is None else band.opening.length_mm,
        cut_length_mm=length,
        width_mm=width,
        direction=strip.direction,
        cut=strip.cut,
        parts=plan.parts.count,
        part_length_mm=plan.parts.length_mm * length / plan.cut_length_mm,
        cloth=plan.cloth.name,
        size=size,
    )


def _matches(pattern: Pattern, work: Sequence[LayingTask]) -> Iterator[MatchFacts]:
    for task in work:
        own = [piece for piece in task.load.cut_pieces if piece.size == pattern.size]
        places = match_places(own, task.cloth)
        for match in pattern.matches:
            if match.number in places:
                yield MatchFacts(
                    letter=match.letter,
                    name=match.name,
                    size=pattern.size,
                    cloth=task.cloth.name,
                    points=tuple(str(place) for place in match.places),
                    repeat_mm={axis.value: mm for axis, mm in places[match.number].items()},
                )


def check_lines(report: CheckReport) -> Iterator[str]:
    """The report for a person: tables with a column a size, then what is to correct."""
    sizes = report.sizes
    yield f"{with_size(report.name, *sizes)}; {counted(report.garments, 'garment')} ordered"
    units = _units_shown(several=len(sizes) > 1)
    for heading, measures in (
        (
            f"Cut for one garment, along × across the cloth in {_UNIT[shown().lead]}, "
            "allowances included:",
            _piece_measures(report.pieces),
        ),
        (f"Strips, length in {units}:", _strip_measures(report.strips)),
        (
            f"Seams, on the stitching line, folds opened, in {units}:",
            _seam_measures(report.seams),
        ),
        (f"Edges, on the stitching line as drawn, in {units}:", map(_edge_measure, report.edges)),
    ):
        rows = list(size_table(measures, sizes))
        yield from ("", heading, *rows) if rows else ()
    if report.matches:
        yield ""
        yield "Matches, and where in the repeat their first point lies:"
        yield from by_size(map(_said_of_match, report.matches), sizes)
    yield ""
    if report.findings:
        yield "To correct before cutting:"
        yield from by_size(map(_said_of, report.findings), sizes)
    else:
        yield "Nothing to correct: all seams meet." if report.seams else NO_SEAMS


def _units_shown(several: bool) -> str:
    """The units of a table for its heading; with `several` sizes the second stands below."""
    lead, other = (_UNIT[system] for system in (shown().lead, shown().lead.other))
    if not shown().both:
        return lead
    return f"{lead}, {other} below" if several else f"{lead} ({other})"


def _piece_measures(pieces: Sequence[PieceFacts]) -> Iterator[Measure]:
    several_cloths = len({piece.cloth for piece in pieces}) > 1
    for piece in pieces:
        cloth = f" of {piece.cloth}" if several_cloths else ""
        hands = f", {piece.mirrored} mirrored" if piece.mirrored else ""
        fold = ", on the fold" if piece.on_fold else ""
        note = f", {piece.note}" if piece.note else ""
        label = f"{piece.cut} {piece.piece}{cloth}{hands}{fold}{note}"
        lead = shown().lead
        size = f"{cut_figure(piece.along_mm, lead)} × {cut_figure(piece.across_mm, lead)}"
        yield Measure(f"{piece.cloth} {piece.piece}", piece.size, label, size)


def _strip_measures(strips: Sequence[StripFacts]) -> Iterator[Measure]:
    for strip in strips:
        thing, size = f"{strip.cloth} {strip.strip}", strip.size
        width = cut_lengths(strip.width_mm)
        label = f"{strip.cut} {strip.strip}, {strip.direction}, {width} wide"
        yield Measure(thing, size, label, *_in_units_shown(strip.cut_length_mm))
        if strip.opening_mm:
            opening = _in_units_shown(strip.opening_mm)
            yield Measure(thing, size, f"  finishes {strip.finishes} of", *opening)
        if strip.parts > 1:
            parts = _in_units_shown(strip.part_length_mm)
            yield Measure(thing, size, f"  joined from {strip.parts} parts of", *parts)


def _edge_measure(edge: EdgeFacts) -> Measure:
    name = f"{edge.piece}.{edge.edge}"
    return Measure(name, edge.size, name, *_in_units_shown(edge.length_mm))


def _said_of_match(match: MatchFacts) -> Said:
    where = ", ".join(f"{length(mm)} {axis}" for axis, mm in match.repeat_mm.items())
    line = f"{match.letter}  {match.name}: {' and '.join(match.points)}; {where}"
    return Said((match.cloth, match.name), match.size, (line,))


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


def _seam_facts(report: SeamReport) -> SeamFacts:
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


def _seam_measures(seams: Iterable[SeamFacts]) -> Iterator[Measure]:
    """A heading a seam, a row a side, and by how much a side is off where it is."""
    for seam in seams:
        yield Measure(seam.name, seam.size, seam.name)
        for side in seam.sides:
            yield _measure(seam, f"  {' + '.join(side.edges)}{_ease(side.ease_mm)}", side.length_mm)
            off = side.difference_mm
            if abs(off) > seam.tolerance_mm:
                yield _measure(seam, f"    too {'long' if off > 0 else 'short'} by", abs(off))


def _measure(seam: SeamFacts, label: str, mm: float) -> Measure:
    return Measure(seam.name, seam.size, label, *_in_units_shown(mm))


def _in_units_shown(mm: float) -> tuple[str, str]:
    """'45.0' and '17 3/4', the leading unit first, for tables whose heading names the units; the
    other is '' where it is not shown."""
    figures = {System.METRIC: centimetres(mm), System.IMPERIAL: inches(mm, 16).removesuffix(" in")}
    lead = shown().lead
    return figures[lead], figures[lead.other] if shown().both else ""


def _ease(mm: float) -> str:
    if mm == 0:
        return ""
    return f", {cut_length(mm)} eased in" if mm > 0 else f", stretched by {cut_length(-mm)}"


def _said_of(finding: Finding) -> Said:
    """A finding as lines for a person, its remedy below it."""
    thing = finding.code, finding.piece, finding.seam
    lines = f"{finding.severity}: {finding.message}", f"  {finding.remedy}."
    return Said(thing, finding.size, lines)
