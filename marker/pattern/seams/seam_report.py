"""The seam report: do the edges that are sewn together meet, and which edit would true them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from marker.pattern.bands.strip import CutLength
from marker.pattern.bands.strip_plan import strip_as_piece
from marker.pattern.edge import EdgeRef
from marker.pattern.finding import Finding, FindingCode, Severity
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.seams.sewing import Seam, Side
from marker.pattern.seams.walk import Leg, Mark, Walk, walk
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
        changes = _length_edits(standard.walk, side.walk, ease, seam.tolerance_mm)
    elif _joints_off(standard.walk, side.walk) > seam.tolerance_mm:
        code, severity = FindingCode.SEAM_JOINT, Severity.WARNING
        problem = f"its joints miss theirs by {cut_length(_joints_off(standard.walk, side.walk))}"
        changes = _edits(
            side.walk.legs, _leg_differences(standard.walk, side.walk, ease), seam.tolerance_mm
        )
    else:
        return []
    message = (
        f"seam {seam.name!r}: {side.side} measures {_with_ease(side)}, {standard.side} "
        f"{_with_ease(standard)}: {problem} (tolerance {cut_length(seam.tolerance_mm)})"
    )
    piece, remedy = changes[0].ref.piece, _said(changes)
    short, whole = (standard, side) if off > 0 else (side, standard)
    twice = _sewn_twice(short.walk, whole.sewn_mm + short.side.ease_mm, seam.tolerance_mm)
    if twice:
        remedy = f"{twice}. Otherwise {remedy[:1].lower()}{remedy[1:]}"
    return [Finding(code, severity, piece, seam.name, report.size, message, remedy)]


def _sewn_twice(short: Walk, wanted_mm: float, tolerance_mm: float) -> str:
    """What to list if the side is as long as wanted with both of each pair in it; else ''.

    An edge of a piece that is cut twice stands for one of the two wherever it is listed.
    """
    times = Counter((leg.ref.piece, leg.ref.edge) for leg in short.legs)
    once = all(
        leg.copies == 2 and leg.halves == times[leg.ref.piece, leg.ref.edge] == 1
        for leg in short.legs
    )
    if not once or abs(2 * short.length_mm - wanted_mm) > tolerance_mm:
        return ""
    refs = [leg.ref for leg in short.legs]
    refs += [replace(ref, reversed=not ref.reversed) for ref in reversed(refs)]
    return f"If both copies are sewn there, list {', '.join(repr(str(ref)) for ref in refs)}"


def _joints_off(measure: Walk, own: Walk) -> float:
    """How far the joints of two sides lie apart at worst, 0 for sides of unlike make-up."""
    if len(measure.legs) != len(own.legs):
        return 0.0
    longer = own.length_mm - measure.length_mm
    joints = zip(measure.joints_mm, own.joints_mm, strict=True)
    return max((_off_mm(theirs, ours, longer) for theirs, ours in joints), default=0.0)


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
        for apart in _notches_apart(standard.walk, side.walk, report.seam.tolerance_mm)
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


def _length_edits(measure: Walk, own: Walk, more_ease_mm: float, tolerance_mm: float) -> list[Edit]:
    """What makes `own` as long as `measure` and `more_ease_mm`.

    Each edge is held against the one it lies on if both sides are made up alike; otherwise the
    difference is shared out by length.
    """
    off = own.length_mm - measure.length_mm - more_ease_mm
    by_edge = _leg_differences(measure, own, more_ease_mm)
    alike = sum(map(abs, by_edge)) <= abs(off) + LEAST_EDIT_MM * len(by_edge)
    if not by_edge or not alike:
        by_edge = [off * leg.length_mm / own.length_mm for leg in own.legs]
    return _edits(own.legs, by_edge, tolerance_mm)


def _leg_differences(measure: Walk, own: Walk, more_ease_mm: float) -> list[float]:
    """How much longer each edge is than the one it lies on; empty for sides of unlike make-up."""
    if len(measure.legs) != len(own.legs):
        return []
    return [
        leg.length_mm - other.length_mm - more_ease_mm * leg.length_mm / own.length_mm
        for leg, other in zip(own.legs, measure.legs, strict=True)
    ]


def _edits(legs: Sequence[Leg], by_mm: Sequence[float], tolerance_mm: float) -> list[Edit]:
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


def _said(changes: Sequence[Edit]) -> str:
    """All the edits as one remedy."""
    text = "; ".join(map(str, changes))
    return text[:1].upper() + text[1:]


@dataclass(frozen=True)
class Place:
    """One place of a mark along a walk."""

    at_mm: float
    mark: Mark


@dataclass(frozen=True)
class Apart:
    """A notch that meets none.

    mark, partner : the notch, and the one on the other side that it should meet, if there is one.
    off_mm : how far apart the two lie.
    moved_mm : where on its drawn edge the notch would meet its partner.
    """

    mark: Mark
    partner: Mark | None = None
    off_mm: float = 0.0
    moved_mm: float = 0.0

    @property
    def problem(self) -> str:
        """What is wrong, for a person."""
        if self.partner is None:
            return f"{_named(self.mark)} meets no notch of the other side"
        apart = cut_length(self.off_mm)
        return f"{_named(self.mark)} and {_named(self.partner)} lie {apart} apart sewn"

    @property
    def remedy(self) -> str:
        """Which notch to move, and where to."""
        if self.partner is None:
            return "Add its partner there, or leave it out"
        return (
            f"Move the notch of {self.mark.ref.piece}.{self.mark.ref.edge} by "
            f"{cut_length(abs(self.moved_mm - self.mark.drawn_mm))}, to "
            f"{cut_length(self.moved_mm)} from "
            "the edge's first corner"
        )


def _off_mm(measure_mm: float, own_mm: float, longer_mm: float) -> float:
    """How far apart two places lie when sewn, if one side is longer and eased in anywhere.

    measure_mm, own_mm : along either side from the same end. longer_mm : by how much the second
    side is longer, which shifts its places by anything from 0 to that.
    """
    shift = own_mm - measure_mm
    return max(shift - max(longer_mm, 0.0), min(longer_mm, 0.0) - shift, 0.0)


def _notches_apart(measure: Walk, own: Walk, tolerance_mm: float) -> list[Apart]:
    """Notches of either side that meet none of the other, each drawn notch once.

    Sides without any notch ask for none. Ends, and joints between edges, are places to meet too.
    """
    theirs, ours = _places(measure), _places(own)
    if not theirs or not ours:
        return []
    longer = own.length_mm - measure.length_mm
    for mine in list(ours):
        met = [p for p in theirs if _off_mm(p.at_mm, mine.at_mm, longer) <= tolerance_mm]
        if met:
            theirs.remove(met[0])  # in order, so that none is left without for another's sake
            ours.remove(mine)
    ours = [p for p in ours if _from_stops(p, measure, -longer) > tolerance_mm]
    theirs = [p for p in theirs if _from_stops(p, own, longer) > tolerance_mm]
    found: dict[tuple[str, str, float], Apart] = {}
    for apart in _paired(theirs, ours, own, longer):
        mark = apart.mark
        found.setdefault((mark.ref.piece, mark.ref.edge, mark.drawn_mm), apart)
    return list(found.values())


def _places(walk: Walk) -> list[Place]:
    places = [Place(at, mark) for mark in walk.marks for at in mark.at_mm]
    return sorted(places, key=lambda place: place.at_mm)


def _from_stops(place: Place, other: Walk, longer_mm: float) -> float:
    """How far from the nearest end or joint of the other side, by which that side is longer."""
    stops = (0.0, *other.joints_mm, other.length_mm)
    return min(_off_mm(place.at_mm, stop, longer_mm) for stop in stops)


def _paired(theirs: list[Place], ours: list[Place], own: Walk, longer_mm: float) -> Iterator[Apart]:
    """Each of ours with the nearest of theirs; what remains has no partner."""
    for mine in ours:
        if not theirs:
            yield Apart(mine.mark)
            continue
        partner = min(theirs, key=lambda p: _off_mm(p.at_mm, mine.at_mm, longer_mm))
        theirs.remove(partner)
        off = _off_mm(partner.at_mm, mine.at_mm, longer_mm)
        beyond = mine.at_mm - partner.at_mm > longer_mm
        target = mine.at_mm - off if beyond else mine.at_mm + off
        yield Apart(mine.mark, partner.mark, off, own.leg_at(mine.at_mm).drawn_at(target))
    yield from (Apart(place.mark) for place in theirs)


def _named(mark: Mark) -> str:
    name = f" {mark.name!r}" if mark.name else ""
    return f"the notch{name} of {mark.ref.piece}.{mark.ref.edge} at {cut_length(mark.drawn_mm)}"
