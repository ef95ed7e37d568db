"""What one who sews needs of a job, for the cutting sheet: allowances edge by edge, seams in order.

Which words stand on the sheet; how it is set is told elsewhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from marker.cloth.fabric import Cloth
from marker.geometry.outline import chords
from marker.job import Job, Making
from marker.layout import CheckedLayout
from marker.pattern.bands.strip import Fold
from marker.pattern.bands.strip_plan import StripPlan
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.seams.seam_report import SeamReport, SideReport, seam_reports
from marker.units import cut_length


@dataclass(frozen=True)
class SeamRow:
    """A seam to sew.

    sides : what is sewn to what. length : of the finished seam, size by size where there are
    several. ease : what is eased in or stretched, '' for nothing.
    """

    name: str
    sides: str
    length: str
    ease: str

    @property
    def words(self) -> str:
        """All but its name."""
        return " · ".join(filter(None, [self.length, self.sides, self.ease]))


@dataclass(frozen=True)
class Sewing:
    """What a job says of how the pieces of one cloth are sewn.

    strips : size and plan of each strip that is cut from the cloth. usual : the seam allowance of
    all edges that say no other. edges : piece and size -> allowances and hems that differ from it.
    ties : a strip of it finishes nothing, and may be a tie; or the job's notions have cords.
    """

    making: Making = field(default_factory=Making)
    strips: tuple[tuple[str, StripPlan], ...] = ()
    usual: str = ""
    edges: Mapping[tuple[str, str], str] = field(default_factory=dict)
    seams: tuple[SeamRow, ...] = ()
    ties: bool = False


def sewing_of(checked: CheckedLayout, job: Job) -> Sewing:
    """What the job says for one of its cloths, or for a remnant of it, laid."""
    laid = {(place.size, place.piece) for place in checked.layout.placements}
    cloth, sizes = checked.layout.cloth.name, dict.fromkeys(checked.garments)
    patterns = [job.in_size(size) for size in sizes]
    drawn = [
        (pattern.size, piece)
        for pattern in patterns
        for piece in pattern.pieces
        if piece.cloth == cloth
    ]
    strips = [
        (size, plan)
        for size in sizes
        for plan in job.strip_plans(size)
        if plan.cloth.name == cloth and (size, plan.strip.name) in laid
    ]
    usual = _usual_mm(piece for _, piece in drawn)
    edges = {
        (" ".join(piece.name.split()), size): "; ".join(_edges(piece, usual))
        for size, piece in drawn
    }
    edges |= {(plan.strip.name, size): _strip_words(plan) for size, plan in strips}
    return Sewing(
        making=job.making,
        strips=tuple(strips),
        usual=_usual_words(usual, checked.layout.cloth) if drawn else "",
        edges=edges,
        seams=tuple(_seams(patterns, cloth, job)),
        ties=job.making.has_cords
        or any(
            not plan.strip.finishes and plan.strip in job.in_size(size).strips
            for size, plan in strips
        ),
    )


def _usual_mm(pieces: Iterable[Piece]) -> float:
    """The allowance that most pieces have."""
    (found,) = Counter(piece.allowance_mm for piece in pieces).most_common(1) or [(0.0, 0)]
    return found[0]


def _usual_words(mm: float, cloth: Cloth) -> str:
    said = f"seam allowance {cut_length(mm)}" if mm else "no seam allowance"
    washed = ", once washed" if mm and cloth.shrinkage.grows else ""
    return f"{said}{washed}, unless {'another' if mm else 'one'} is listed"


def _edges(piece: Piece, usual: float) -> Iterator[str]:
    """Its hems, then its allowances that are not the usual one: 'neck, armhole 12.7 mm'."""
    for name, edge in piece.edges.items():
        if edge.hem:
            under = f", {cut_length(edge.hem.under_mm)} of it under" if edge.hem.under_mm else ""
            yield f"{name} {cut_length(edge.hem.allowance_mm)}, {edge.hem.kind}{under}"
    named: dict[float, list[str]] = {}
    for name, edge in piece.edges.items():
        if not edge.hem:
            own = piece.allowance_mm if edge.allowance_mm is None else edge.allowance_mm
            named.setdefault(own, []).append(name)
    for mm, names in named.items():
        if mm != usual:
            yield f"{', '.join(names)} {cut_length(mm) if mm else 'without allowance'}"
    if piece.allowance_mm != usual and _has_unnamed(piece):
        rest = cut_length(piece.allowance_mm) if piece.allowance_mm else "without allowance"
        yield f"{'all else' if piece.edges else 'all round'} {rest}"


def _has_unnamed(piece: Piece) -> bool:
    """Whether an edge without a name is sewn with the piece's own allowance."""
    count = len(piece.outline)
    left = np.ones(count, dtype=bool)
    for stretch in (*piece.edges.values(), *([piece.fold] if piece.fold else [])):
        left[chords(stretch.start, stretch.end, count)] = False
    return bool(left.any())


def _strip_words(plan: StripPlan) -> str:
    """How a strip is folded, and what its ends are sewn with; its size, where no table of a band
    says that."""
    strip = plan.strip
    said = [] if plan.band else [" × ".join(map(cut_length, plan.as_cut_mm))]
    if strip.fold is not None and strip.finished_mm is not None:
        fold = "flat" if strip.fold is Fold.FLAT else f"{strip.fold} fold"
        said.append(f"{fold}, {cut_length(strip.finished_mm)} finished")
    if strip.join_allowance_mm:
        said.append(f"ends {cut_length(strip.join_allowance_mm)}")
    return "; ".join(said)


def _seams(patterns: Iterable[Pattern], cloth: str, job: Job) -> Iterator[SeamRow]:
    """Each seam on the sheet of the first cloth that any of its edges is cut from, in the order of
    the job file."""
    by_name: dict[str, list[SeamReport]] = {}
    for pattern in patterns:
        order = [each.name for each in job.cloths]
        cloths = {piece.name: piece.cloth for piece in pattern.pieces}
        cloths |= {strip.name: strip.cloth for strip in pattern.strips}
        for report in seam_reports(pattern):
            own = {cloths[ref.piece] for side in report.seam.sides for ref in side.edges}
            if min(own, key=order.index) == cloth:
                by_name.setdefault(report.seam.name, []).append(report)
    return map(_seam, by_name.values())


def _seam(reports: list[SeamReport]) -> SeamRow:
    first, several = reports[0], len(reports) > 1
    lengths = [
        f"{report.size}: {length}" if several else length
        for report in reports
        for length in [cut_length(report.sides[report.measure].sewn_mm)]
    ]
    eases = [
        f"{report.size}: {ease}" if several else ease
        for report in reports
        for ease in [", ".join(_eases(report))]
        if ease
    ]
    same = len({ease.partition(": ")[2] for ease in eases}) == 1 and len(eases) == len(reports)
    return SeamRow(
        first.seam.name,
        " to ".join(str(side.side) for side in first.sides),
        ", ".join(lengths),
        eases[0].partition(": ")[2] if several and same else ", ".join(eases),
    )


def _eases(report: SeamReport) -> Iterator[str]:
    """What is eased in or stretched, and what does not meet."""
    for side in report.sides:
        ease, pieces = side.side.ease_mm, _pieces(side)
        if ease:
            verb = "eased in by" if ease > 0 else "stretched by"
            yield f"{pieces} {verb} {cut_length(abs(ease))}"
        off = side.difference_mm
        if abs(off) > report.seam.tolerance_mm:
            yield f"{pieces} {cut_length(abs(off))} too {'long' if off > 0 else 'short'}"


def _pieces(side: SideReport) -> str:
    return " and ".join(dict.fromkeys(ref.piece for ref in side.side.edges))
