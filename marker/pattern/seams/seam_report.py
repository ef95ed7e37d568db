"""The seam report: do the edges that are sewn together meet, and which edit would true them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from marker.pattern.bands.strip import CutLength
from marker.pattern.bands.strip_plan import strip_as_piece
from marker.pattern.edge import EdgeRef
from marker.pattern.finding import Finding, FindingCode, Severity
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.seams.notches import notches_apart, off_mm
from marker.pattern.seams.sewing import Seam, Side
from marker.pattern.seams.walk import Leg, Walk, walk
from marker.units import cut_length


@dataclass(frozen=True)
class SideReport:
    """One side of a seam, lengths in mm on the stitching line, folds opened.

    difference_mm : by how much it is longer than the side that is the measure, eases taken off.
    """

    side: Side
    walk: Walk
    difference_mm: float

    @property
    def sewn_mm(self) -> float:
        """Its length once its ease is sewn in."""
        return self.walk.length_mm - self.side.ease_mm


@dataclass(frozen=True)
class SeamReport:
    """One seam in one size.

    measure : index of the side by which the others are trued.
    """

    seam: Seam
    size: str
    sides: tuple[SideReport, ...]
    measure: int

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What does not meet: lengths, then where edges join, then notches."""
        found: list[Finding] = []
        standard = self.sides[self.measure]
        for side in self.sides:
            if side is not standard:
                found += _length_findings(self, standard, side)
                found += _notch_findings(self, standard, side)
        return tuple(found)


def seam_reports(pattern: Pattern) -> tuple[SeamReport, ...]:
    """Every seam of the pattern, in its order."""
    strips = [strip_as_piece(each) for each in pattern.strips if isinstance(each.length, CutLength)]
    drawn = [*pattern.pieces, *strips]
    return tuple(seam_report(drawn, seam, pattern.size) for seam in pattern.seams)


def seam_report(pieces: Iterable[Piece], seam: Seam, size: str) -> SeamReport:
    """One seam, walked on the pieces of one size; raises CannotBeDone for a name not there."""
    drawn = tuple(pieces)
    walks = [walk(drawn, side.edges) for side in seam.sides]
    sewn = [walk.length_mm - side.ease_mm for walk, side in zip(walks, seam.sides, strict=True)]
    measure = _measure(sewn, seam.tolerance_mm)
    sides = [
        SideReport(side, walk, length - sewn[measure])
        for side, walk, length in zip(seam.sides, walks, sewn, strict=True)
    ]
    return SeamReport(seam, size, tuple(sides), measure)


def _measure(sewn: Sequence[float], tolerance_mm: float) -> int:
    """The first side, or the second if the first is alone against all others, who agree."""
    first, *others = sewn
    agreed = len(others) > 1 and max(others) - min(others) <= tolerance_mm
    alone = min(abs(first - other) for other in others) > tolerance_mm
    return 1 if agreed and alone else 0


def _length_findings(report: SeamReport, standard: SideReport, side: SideReport) -> list[Finding]:
    seam, off = report.seam, side.difference_mm
    ease = side.side.ease_mm - standard.side.ease_mm
    if abs(off) > seam.tolerance_mm:
        code, severity = FindingCode.SEAM_LENGTH, Severity.ERROR
        problem = f"{cut_length(abs(off))} too {'long' if off > 0 else 'short'}"
        changes = length_edits(standard.walk, side.walk, ease, seam.tolerance_mm)
    elif _joints_off(standard.walk, side.walk) > seam.tolerance_mm:
        code, severity = FindingCode.SEAM_JOINT, Severity.WARNING
        problem = f"its joints miss theirs by {cut_length(_joints_off(standard.walk, side.walk))}"
        changes = edits(
            side.walk.legs, leg_differences(standard.walk, side.walk, ease), seam.tolerance_mm
        )
    else:
        return []
    message = (
        f"seam {seam.name!r}: {side.side} measures {_with_ease(side)}, {standard.side} "
        f"{_with_ease(standard)}: {problem} (tolerance {cut_length(seam.tolerance_mm)})"
    )
    piece = changes[0].ref.piece
    return [Finding(code, severity, piece, seam.name, report.size, message, said(changes))]


def _joints_off(measure: Walk, own: Walk) -> float:
    """How far the joints of two sides lie apart at worst, 0 for sides of unlike make-up."""
    if len(measure.legs) != len(own.legs):
        return 0.0
    longer = own.length_mm - measure.length_mm
    joints = zip(measure.joints_mm, own.joints_mm, strict=True)
    return max((off_mm(theirs, ours, longer) for theirs, ours in joints), default=0.0)


def _with_ease(side: SideReport) -> str:
    ease = side.side.ease_mm
    if ease == 0:
        return cut_length(side.walk.length_mm)
    planned = f"{cut_length(ease)} eased in" if ease > 0 else f"stretched by {cut_length(-ease)}"
    return f"{cut_length(side.walk.length_mm)} with {planned}"


def _notch_findings(report: SeamReport, standard: SideReport, side: SideReport) -> list[Finding]:
    return [
        Finding(
            FindingCode.SEAM_NOTCH,
            Severity.ERROR if apart.partner else Severity.WARNING,
            apart.mark.ref.piece,
            report.seam.name,
            report.size,
            f"seam {report.seam.name!r}: {apart.problem}",
            apart.remedy,
        )
        for apart in notches_apart(standard.walk, side.walk, report.seam.tolerance_mm)
    ]


LEAST_EDIT_MM = 0.5  # nobody cuts finer: common practice, no source


@dataclass(frozen=True)
class Edit:
    """A change of one edge.

    by_mm : how much too long the edge is, folds opened; below 0 if it is too short.
    halves : 2 if only half of it is drawn. listed : how often the edge is sewn in this seam.
    """

    ref: EdgeRef
    by_mm: float
    halves: int
    listed: int

    def __str__(self) -> str:
        """'shorten skirt front.waist by 6 mm, 3 mm on the half drawn'."""
        verb = "shorten" if self.by_mm > 0 else "lengthen"
        edge = f"{self.ref.piece}.{self.ref.edge}"
        half = f", {cut_length(abs(self.by_mm) / 2)} on the half drawn" if self.halves == 2 else ""
        each = f" (each of {self.listed})" if self.listed > 1 else ""
        return f"{verb} {edge} by {cut_length(abs(self.by_mm))}{half}{each}"


def length_edits(measure: Walk, own: Walk, more_ease_mm: float, tolerance_mm: float) -> list[Edit]:
    """What makes `own` as long as `measure` and `more_ease_mm`.

    Each edge is held against the one it lies on if both sides are made up alike; otherwise the
    difference is shared out by length.
    """
    off = own.length_mm - measure.length_mm - more_ease_mm
    by_edge = leg_differences(measure, own, more_ease_mm)
    alike = sum(map(abs, by_edge)) <= abs(off) + LEAST_EDIT_MM * len(by_edge)
    if not by_edge or not alike:
        by_edge = [off * leg.length_mm / own.length_mm for leg in own.legs]
    return edits(own.legs, by_edge, tolerance_mm)


def leg_differences(measure: Walk, own: Walk, more_ease_mm: float) -> list[float]:
    """How much longer each edge is than the one it lies on; empty for sides of unlike make-up."""
    if len(measure.legs) != len(own.legs):
        return []
    return [
        leg.length_mm - other.length_mm - more_ease_mm * leg.length_mm / own.length_mm
        for leg, other in zip(own.legs, measure.legs, strict=True)
    ]


def edits(legs: Sequence[Leg], by_mm: Sequence[float], tolerance_mm: float) -> list[Edit]:
    """One edit for each edge that is off by more than a hair, an edge listed twice once; the
    largest first."""
    shares: dict[tuple[str, str], list[float]] = {}
    by_name = {(leg.ref.piece, leg.ref.edge): leg for leg in legs}
    for leg, by in zip(legs, by_mm, strict=True):
        shares.setdefault((leg.ref.piece, leg.ref.edge), []).append(by)
    found = [_edit(by_name[name], share) for name, share in shares.items()]
    found.sort(key=lambda edit: -abs(edit.by_mm))
    left = tolerance_mm / 2  # what may be left out and the seam still be true
    while len(found) > 1 and abs(found[-1].by_mm) < LEAST_EDIT_MM:
        left -= abs(found[-1].by_mm) * found[-1].listed
        if left < 0:
            break
        found.pop()
    return found


def _edit(leg: Leg, share: Sequence[float]) -> Edit:
    """Of an edge by all it is off by; both halves of one piece are changed as one edge."""
    if leg.on_drawn is not None:
        return Edit(leg.ref, sum(share), len(share), 1)
    return Edit(leg.ref, sum(share) / len(share), leg.halves, len(share))


def said(changes: Sequence[Edit]) -> str:
    """All the edits as one remedy."""
    text = "; ".join(map(str, changes))
    return text[:1].upper() + text[1:]
