"""Strips as they are cut, and where the marks of bands stand on the pieces."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import count

import numpy as np

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.geometry.polygons import turned
from marker.pattern.bands.band import Band, fitted
from marker.pattern.bands.band_length import (
    Parts,
    ends_mm,
    fewest_parts,
    point_fault,
    seam_length_mm,
)
from marker.pattern.bands.marks import SAME_PLACE_MM, BandMark
from marker.pattern.bands.opening_line import EdgePlace, OpeningLine, measured
from marker.pattern.bands.strip import (
    CutLength,
    Fold,
    Interfacing,
    Strip,
    interfacing_name,
    lengthwise,
)
from marker.pattern.edge import Edge, Notch
from marker.pattern.inner_marks import InnerMark, MarkKind
from marker.pattern.pattern import Pattern
from marker.pattern.piece import CutPiece, Line, Piece
from marker.pattern.stitching import meets_fold_at_end
from marker.pattern.washing import as_cut
from marker.tolerances import HAIR_MM
from marker.units import cut_length
from marker.words import lettered

LONG_EDGE = "long edge"  # what seams call the long side of a strip
_ALONG_DEG = {Direction.CROSSGRAIN: 90.0, Direction.LENGTHGRAIN: 0.0, Direction.BIAS: 45.0}


@dataclass(frozen=True)
class StripPlan:
    """How one strip is cut in one size from its cloth, lengths in mm.

    cut_length_mm : the whole strip before its ends are closed, parts already joined.
    band : how it meets the opening it finishes, None for a strip cut to a given length.
    unwashed_mm : length and width of the whole strip where it is cut before the cloth is washed;
        all else is what washing leaves of them. None where it is cut after washing.
    """

    size: str
    cloth: Cloth
    strip: Strip
    cut_length_mm: float
    parts: Parts
    band: Band | None
    unwashed_mm: tuple[float, float] | None = None

    @property
    def as_cut_mm(self) -> tuple[float, float]:
        """Length and width of the whole strip on the table."""
        return self.unwashed_mm or (self.cut_length_mm, self.strip.width_mm)

    @property
    def seam_start_mm(self) -> float:
        """From the cut end to where the seam line of a band starts."""
        if self.band is None:
            return 0.0
        start, end = self.strip.laps_mm
        return (self.cut_length_mm - self.band.seam_mm - start - end) / 2 + start

    @property
    def marked(self) -> tuple[tuple[float, BandMark], ...]:
        """The marks of a band, each with its place from the cut end; that of the join of a ring is
        at both ends."""
        if self.band is None:
            return ()
        places = [(mark.band_mm, mark) for mark in self.band.marks]
        if self.band.opening.closed:
            places.append((self.band.seam_mm, self.band.marks[0]))
        return tuple((self.seam_start_mm + at, mark) for at, mark in places)

    @property
    def joins_mm(self) -> tuple[float, ...]:
        """Where parts are joined, from the cut end of the whole strip, measured at mid width."""
        loss = self.strip.lost_in_join_mm
        pitch = self.parts.length_mm - loss
        return tuple(k * pitch + loss / 2 for k in range(1, self.parts.count))


def strip_plans(pattern: Pattern, cloths: Iterable[Cloth]) -> tuple[StripPlan, ...]:
    """How every strip that is cut from these cloths is cut, cloth by cloth, in the pattern's order.

    Raises CannotBeDone when a derived length is not positive or the cloth is too narrow.
    """
    by_name = {cloth.name: cloth for cloth in cloths}
    planned: list[StripPlan] = []
    lettering = count(1)
    for strip in pattern.strips:
        if strip.cloth not in by_name:
            continue
        planned.append(_lettered(_plan(strip, pattern, by_name[strip.cloth]), lettering))
        if strip.interfacing is not None:
            planned.append(_interfacing(planned[-1], strip.interfacing, by_name))
    return tuple(plan for name in by_name for plan in planned if plan.cloth.name == name)


def _lettered(plan: StripPlan, numbers: Iterator[int]) -> StripPlan:
    """The plan with a small letter for each mark of its band; capitals stand for matches."""
    if plan.band is None:
        return plan
    marks = [replace(each, letter=lettered(next(numbers)).lower()) for each in plan.band.marks]
    return replace(plan, band=replace(plan.band, marks=tuple(marks)))


def _interfacing(
    plan: StripPlan, interfacing: Interfacing, cloths: Mapping[str, Cloth]
) -> StripPlan:
    """The strip that stiffens another one, as wide and long as that is cut, less the trim."""
    less, strip = 2 * interfacing.trim_mm, plan.strip
    stiffening = Strip(
        name=interfacing_name(strip.name),
        cloth=interfacing.cloth,
        width_mm=strip.width_mm - less,
        length=(length := CutLength(plan.cut_length_mm - less)),
        direction=strip.direction,
        join=strip.join,
        join_allowance_mm=0.0,  # its parts are butted, for two layers would show
        cut=strip.cut,
    )
    return _given_length(stiffening, length.mm, plan.size, cloths[interfacing.cloth])


def cut_strip(plan: StripPlan) -> CutPiece:
    """The parts of a strip as one outline, not yet grown, and its number of copies."""
    strip, parts, cloth = plan.strip, plan.parts, plan.cloth
    note = ""
    if parts.count > 1:
        part, _ = as_cut(strip.direction, parts.length_mm, strip.width_mm, cloth)
        loss, _ = as_cut(strip.direction, strip.lost_in_join_mm, strip.width_mm, cloth)
        note = (
            f"joined from {parts.count} parts, {cut_length(part)} each; "
            f"{cut_length(loss)} lost in each {strip.join} join"
        )
    # the other bias is this one's mirror image, which grows into another shape
    either_bias = strip.direction is Direction.BIAS and cloth.shrinkage.keeps_shape
    corners = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    marks = _lengthwise_marks(plan)
    drawn = [corners * [parts.length_mm, strip.width_mm], *(mark.points for mark in marks)]
    lies = turned(np.vstack([*drawn, _notches(plan)]), _ALONG_DEG[strip.direction], mirrored=False)
    lies = lies - lies[:4].min(axis=0)
    lined = 4 + 2 * len(marks)
    return CutPiece(
        name=strip.name,
        size=plan.size,
        cloth=cloth.name,
        outline=lies[:4],
        turns=(0.0, 90.0, 180.0, 270.0) if either_bias else (0.0, 180.0),
        copies=parts.count * strip.cut,
        notches=lies[lined:],
        notch_letters=_notch_letters(plan),
        note=note,
        inner_marks=tuple(
            replace(mark, points=lies[4 + 2 * k : 6 + 2 * k]) for k, mark in enumerate(marks)
        ),
    )


def _lengthwise_marks(plan: StripPlan) -> list[InnerMark]:
    """Where each part is folded and stitched, as lines from end to end."""
    lines, length = lengthwise(plan.strip), plan.parts.length_mm
    kinds = [(MarkKind.FOLD_LINE, at) for at in lines.folds]
    kinds += [(MarkKind.LINE, at) for at in lines.stitching if at not in lines.folds]
    return [InnerMark(kind, np.array([[0.0, at], [length, at]])) for kind, at in kinds]


def strip_as_piece(strip: Strip) -> Piece:
    """A strip of given length as a piece, so that its long edge can be sewn into seams.

    Drawn on the stitching line: the long edge runs from join allowance to join allowance.
    """
    assert isinstance(strip.length, CutLength), f"the length of {strip.name} is derived"
    length = max(strip.length.mm - 2 * strip.join_allowance_mm, HAIR_MM)
    outline = np.array([[0.0, 0.0], [length, 0.0], [length, strip.width_mm], [0.0, strip.width_mm]])
    edges = {LONG_EDGE: Edge(0, 1)}
    return Piece(strip.name, strip.cloth, outline, line=Line.STITCHING, edges=edges)


def _notches(plan: StripPlan) -> FloatArray:
    """Marks along the edges that go into the seam; none on parts that differ in theirs."""
    if plan.band is None or plan.parts.count > 1:
        return np.empty((0, 2))
    edges = (0.0, plan.strip.width_mm) if plan.strip.fold is Fold.SINGLE else (0.0,)
    along = [at for at, _ in plan.marked]
    return np.array([(at, edge) for at in along for edge in edges]).reshape(-1, 2)


def _notch_letters(plan: StripPlan) -> tuple[str, ...]:
    """The letter of each of those."""
    each = len(_notches(plan)) // len(plan.marked) if plan.marked else 0
    return tuple(mark.letter for _, mark in plan.marked for _ in range(each))


def _given_length(strip: Strip, total: float, size: str, cloth: Cloth) -> StripPlan:
    parts = fewest_parts(strip, total, cloth)
    return StripPlan(size, cloth, strip, total, parts, None, _unwashed(strip, total, cloth))


def _plan(strip: Strip, pattern: Pattern, cloth: Cloth) -> StripPlan:
    size = pattern.size
    if isinstance(strip.length, CutLength):
        return _given_length(strip, strip.length.mm, size, cloth)
    opening = measured(
        pattern.pieces, next(each for each in pattern.openings if each.name == strip.finishes)
    )
    seam = seam_length_mm(strip, opening)
    _demand_point(strip, opening)
    total = seam + ends_mm(strip, opening)
    parts = fewest_parts(strip, total, cloth)
    band = fitted(strip, opening, seam, parts.count)
    return StripPlan(size, cloth, strip, total, parts, band, _unwashed(strip, total, cloth))


def _demand_point(strip: Strip, opening: OpeningLine) -> None:
    fault = point_fault(strip, opening)
    if fault:
        raise CannotBeDone(f"strip {strip.name!r}: {fault[0]}. {fault[1]}.")


def _unwashed(strip: Strip, total: float, cloth: Cloth) -> tuple[float, float] | None:
    if not cloth.shrinkage.grows:
        return None
    return as_cut(strip.direction, total, strip.width_mm, cloth)


@dataclass(frozen=True)
class Halves:
    """On which halves of a piece opened along its fold a notch is cut."""

    drawn: bool = True
    other: bool = True


def band_marks(plans: Iterable[StripPlan]) -> dict[str, list[BandMark]]:
    """Piece name -> the marks of a pattern's bands that meet it."""
    found: dict[str, list[BandMark]] = {}
    for plan in plans:
        for mark in plan.band.marks if plan.band else ():
            found.setdefault(mark.garment.edge.piece, []).append(mark)
    return found


def band_notches(piece: Piece, marks: Iterable[BandMark]) -> list[tuple[Notch, Halves]]:
    """The notches for them, named by their letters; none at the ends of an edge, where the seam
    itself is the mark.

    Every place is a notch of its own: marks of several bands may share one.
    """
    return [
        (Notch(place.edge.edge, place.drawn_mm, mark.letter), _halves(piece, place))
        for mark in marks
        for place in [mark.garment]
        if place.on_fold or SAME_PLACE_MM < place.drawn_mm < place.edge_mm - SAME_PLACE_MM
    ]


def _halves(piece: Piece, place: EdgePlace) -> Halves:
    """Both halves for an edge that is on both, unless this place is on one of them. An edge that
    reaches the fold is walked with the piece on its left, so that the half drawn comes first if it
    runs to the fold."""
    if place.on_drawn is not None:
        return Halves(drawn=place.on_drawn, other=not place.on_drawn)
    at_end = meets_fold_at_end(piece, place.edge.edge)
    if at_end is None:
        return Halves()
    drawn_first = at_end != piece.drawn_clockwise
    drawn = drawn_first != place.second_half
    return Halves(drawn=drawn, other=not drawn)
