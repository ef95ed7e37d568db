"""From pieces as drawn to outlines as cut: unfolded, allowances added, grain along the cloth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, Part
from marker.geometry.arrays import FloatArray
from marker.geometry.inset import CollapsedError, inset
from marker.geometry.outline import is_ccw, polyline_length, stretch_points
from marker.geometry.polygons import reflect, turned
from marker.pattern.allowances import Ring, allowances, cut_ring, stitching_ring
from marker.pattern.bands.marks import SAME_PLACE_MM, BandMark
from marker.pattern.bands.strip_plan import Halves, StripPlan, band_marks, band_notches, cut_strip
from marker.pattern.edge import Notch, Stretch
from marker.pattern.inner_marks import Hand, InnerMark
from marker.pattern.pattern import Pattern
from marker.pattern.piece import CutPiece, Line, Piece
from marker.pattern.piecing import pieced
from marker.pattern.repeats.match import CannotMatch, MatchPoint
from marker.pattern.repeats.matching import border_edge, match_points
from marker.pattern.sewn_edges import taken_in_marks, taken_in_notches
from marker.pattern.stitching import notch_point, square_out
from marker.pattern.washing import grown
from marker.tolerances import HAIR_MM, SAME_POINT_MM
from marker.units import cut_length


def cut_pieces(pattern: Pattern, plans: Sequence[StripPlan], cloth: Cloth) -> tuple[CutPiece, ...]:
    """Everything one garment of this size needs from this cloth, grown where it is cut before it
    is washed: pieces in the pattern's order, then strips.

    plans : all the pattern's strips, those of other cloths too: their marks stand on the pieces.
    Raises CannotBeDone, naming the piece or strip, its fault and the remedy.
    """
    bands, matched = band_marks(plans), match_points(pattern.pieces, pattern.matches)
    drawn = [
        part
        for piece in pattern.pieces
        if piece.cloth == cloth.name
        for part in _parts(
            piece,
            _cut_piece(piece, pattern.size, bands.get(piece.name, ()), matched.get(piece.name, ())),
        )
    ]
    strips = [cut_strip(plan) for plan in plans if plan.strip.cloth == cloth.name]
    return tuple(grown(piece, cloth) for piece in (*drawn, *strips))


def _parts(piece: Piece, whole: CutPiece) -> tuple[CutPiece, ...]:
    joined = piece.pieced_mm is not None or piece.fold_seam_mm is not None
    if joined and (whole.match_points or whole.border is not None):
        raise CannotMatch(
            f"piece {piece.name!r} is matched or lies on a border, and can't be cut in two as well",
            "Take out `pieced` and `fold_seam`",
            piece=piece.name,
        )
    return (whole,) if piece.pieced_mm is None else pieced(whole, piece.pieced_mm)


def _cut_piece(
    piece: Piece, size: str, bands: Sequence[BandMark], matched: tuple[MatchPoint, ...]
) -> CutPiece:
    cut = _opened(piece, cut_ring(piece))
    fold = piece.opened_along
    fold_line = piece.outline[[fold.start, fold.end]] if fold else None
    copies, mirrored = _hands(piece)
    notches = _cut_notches(piece, bands, cut, fold_line)
    lines = CutPiece(
        name=piece.name,
        size=size,
        cloth=piece.cloth,
        outline=cut,
        turns=piece.turns,
        grain_tolerance_deg=piece.grain_tolerance_deg,
        copies=copies,
        mirrored_copies=mirrored,
        stitching=_stitching(piece),
        cutouts=_cut_cutouts(piece, fold_line),
        notches=np.array([each.point for each in notches]).reshape(-1, 2),
        notch_letters=tuple(each.letter for each in notches),
        fold_line=fold_line,
        match_points=matched,
        border=border_edge(piece),
        inner_marks=_inner_marks(piece, fold_line),
        note=_note(piece),
    )
    return _with_grain_along_x(lines, piece.grain_deg)


def _hands(piece: Piece) -> tuple[int, int]:
    """How many are cut as drawn and mirrored; two halves with a seam for the fold are one each."""
    if piece.fold_seam_mm is not None:
        return piece.cut, piece.cut
    mirrored = piece.cut // 2 if piece.pair else 0
    return piece.cut - mirrored, mirrored


def _note(piece: Piece) -> str:
    if piece.fold_seam_mm is None:
        return ""
    return f"two halves, {cut_length(piece.fold_seam_mm)} seam in place of the fold"


def _opened(piece: Piece, ring: Ring) -> FloatArray:
    """The whole piece as one simple outline without repeated points."""
    points, fold = ring.points, piece.opened_along
    if fold and polyline_length(ring.line(fold)) < SAME_POINT_MM:
        raise CannotBeDone(
            f"piece {piece.name!r}: its allowances leave nothing of its fold. Lower `allowance` or "
            f"draw a longer fold.",
            [(Part.PIECE, piece.name)],
        )
    whole = _without_repeats(unfold(points, ring.ends(fold)) if fold else points)
    if not shapely.Polygon(whole).is_valid:
        raise CannotBeDone(
            f"piece {piece.name!r}: opened along its fold its outline meets itself. The whole half "
            f"must lie on one side of the fold, and touch it only along the `fold` edge.",
            [(Part.PIECE, piece.name)],
        )
    return whole


def unfold(outline: FloatArray, fold: Stretch) -> FloatArray:
    """The whole outline of a half: (n, 2) counter-clockwise, symmetric about the fold.

    The ends of the fold stay as single vertices, unless the edge runs straight across the fold
    there; vertices along the fold go.
    """
    drawn = stretch_points(outline, fold.end, fold.start)
    line = drawn[[-1, 0]]
    mirrored = reflect(drawn[1:-1], line)[::-1]
    along = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    first = 1 if abs((drawn[1] - drawn[0]) @ along) < HAIR_MM else 0
    last = -1 if abs((drawn[-2] - drawn[-1]) @ along) < HAIR_MM else len(drawn)
    return np.concatenate([drawn[first:last], mirrored])


def _stitching(piece: Piece) -> FloatArray:
    if not allowances(piece).any() and piece.fold_seam_mm is None:
        return np.empty((0, 2))
    return _opened(piece, stitching_ring(piece))


def _without_repeats(outline: FloatArray) -> FloatArray:
    steps = np.roll(outline, -1, axis=0) - outline
    return outline[np.hypot(steps[:, 0], steps[:, 1]) > HAIR_MM]


def _cut_cutouts(piece: Piece, fold_line: FloatArray | None) -> tuple[FloatArray, ...]:
    holes = [hole if is_ccw(hole) else hole[::-1] for hole in piece.cutouts]
    if piece.line is Line.STITCHING and piece.allowance_mm > 0:
        try:
            smaller = [inset(hole, np.full(len(hole), piece.allowance_mm)) for hole in holes]
        except CollapsedError:
            raise CannotBeDone(
                f"piece {piece.name!r}: a cut-out is too small to hold its allowance of "
                f"{cut_length(piece.allowance_mm)}. Lower `allowance`, or leave the cut-out "
                "undrawn.",
                [(Part.PIECE, piece.name)],
            ) from None
        holes = [_without_repeats(hole) for hole in smaller]
    if fold_line is not None:
        holes += [reflect(hole, fold_line)[::-1] for hole in holes]
    return tuple(holes)


@dataclass
class _CutNotch:
    """A notch on the cut outline, (2,), and the letters of the band marks that meet it."""

    point: FloatArray
    letter: str


def _cut_notches(
    piece: Piece, bands: Sequence[BandMark], cut: FloatArray, fold_line: FloatArray | None
) -> list[_CutNotch]:
    """Notches on the cut outline, square out from the stitching line. The piece's own are on both
    halves, those where bands meet it on the halves where they do. Where several meet there is
    one."""
    edge = shapely.LinearRing(cut)
    found: list[_CutNotch] = []
    for notch, halves in [
        *((replace(notch, name=""), Halves())
          for notch in (*piece.notches, *taken_in_notches(piece))),
        *band_notches(piece, bands),
    ]:  # fmt: skip
        point = on_cut_line(piece, notch, edge)
        points = [point] if halves.drawn or fold_line is None else []
        if halves.other and fold_line is not None:
            points.append(reflect(point[np.newaxis], fold_line)[0])
        for each in points:
            _add_notch(_CutNotch(each, notch.name), found)
    return found


def _add_notch(new: _CutNotch, found: list[_CutNotch]) -> None:
    """Another notch, unless one stands there: then that has its letter, too."""
    for there in found:
        if np.hypot(*(new.point - there.point)) < SAME_PLACE_MM:
            letters = dict.fromkeys([*there.letter.split(), *new.letter.split()])
            there.letter = " ".join(letters)
            return
    found.append(new)


def _inner_marks(piece: Piece, fold_line: FloatArray | None) -> tuple[InnerMark, ...]:
    """All that is marked inside; on a piece opened along its fold on the halves that have it."""
    marks = (*taken_in_marks(piece), *piece.inner_marks)
    if fold_line is None:
        return marks
    found: list[InnerMark] = []
    for mark in marks:
        other = reflect(mark.points, fold_line)
        if mark.hand is not Hand.MIRRORED:
            found.append(replace(mark, hand=Hand.BOTH))
        apart = float(np.abs(other - mark.points).max()) > SAME_POINT_MM
        if mark.hand is Hand.MIRRORED or (mark.hand is Hand.BOTH and apart):
            found.append(replace(mark, points=other, hand=Hand.BOTH))
    return tuple(found)


def on_cut_line(piece: Piece, notch: Notch, edge: shapely.LinearRing) -> FloatArray:
    """The nearest place on the cut line that lies square out, or else the nearest of all."""
    start = notch_point(piece, notch)
    return out_to(edge, start, square_out(piece, notch), float(allowances(piece).max()))


def out_to(
    edge: shapely.LinearRing, start: FloatArray, out: FloatArray, widest_mm: float
) -> FloatArray:
    """`on_cut_line` of a place on the stitching line and the direction square out of it.

    widest_mm : of the allowances.
    """
    reach = 2 * widest_mm + HAIR_MM
    ray = shapely.LineString([start, start + reach * out])
    place, met = shapely.Point(start), shapely.intersection(ray, edge)
    if not met.is_empty:
        place = shapely.Point(shapely.shortest_line(place, met).coords[1])
    nearest = edge.interpolate(edge.project(place))
    return np.array([nearest.x, nearest.y])


def _with_grain_along_x(piece: CutPiece, grain_deg: float) -> CutPiece:
    """The piece turned so that its grain lies along +x and moved so that its box starts at 0, 0."""
    corner = turned(piece.outline, -grain_deg, mirrored=False).min(axis=0)

    def move(points: FloatArray) -> FloatArray:
        return np.asarray(turned(points, -grain_deg, mirrored=False) - corner)

    return piece.mapped(move)
