"""Edges as they are sewn: how long they are, and the marks for what is taken in along them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from marker.errors import CannotBeDone, Part
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import nearest_along, point_along
from marker.geometry.polygons import reflect
from marker.pattern.edge import Notch
from marker.pattern.fullness import Dart, Gather, Pleat, PleatKind, TakenIn
from marker.pattern.inner_marks import InnerMark, MarkKind
from marker.pattern.piece import Piece
from marker.pattern.stitching import edge_length_mm, edge_line, notch_point, square_out
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length


@dataclass(frozen=True)
class SewnScale:
    """Where the places of an edge lie once all that is taken in along it is sewn.

    drawn, sewn : (k,) mm from the edge's first corner, ascending; straight between.
    """

    drawn: tuple[float, ...]
    sewn: tuple[float, ...]

    @property
    def length_mm(self) -> float:
        """Of the edge, sewn."""
        return self.sewn[-1]

    def sewn_at(self, drawn_mm: float) -> float:
        """Where a place of the drawn edge lies on the sewn one."""
        return float(np.interp(drawn_mm, self.drawn, self.sewn))

    def drawn_at(self, sewn_mm: float) -> float:
        """The first place of the drawn edge that lies there on the sewn one."""
        at = min(sewn_mm, self.sewn[-1])
        k = int(np.searchsorted(self.sewn, at))
        if k == 0:
            return self.drawn[0]
        share = (at - self.sewn[k - 1]) / (self.sewn[k] - self.sewn[k - 1])
        return self.drawn[k - 1] + share * (self.drawn[k] - self.drawn[k - 1])


def sewn_scale(piece: Piece, edge: str) -> SewnScale:
    """The scale of a named edge; what is taken in along an edge that overlaps it counts, too.

    Raises CannotBeDone for what is taken in beyond its edge, or twice.
    """
    length = edge_length_mm(piece, edge)
    drawn, sewn = [0.0], [0.0]
    for taken, start, end in sorted(taken_along(piece, edge), key=lambda each: each[1:]):
        if start < drawn[-1] - SAME_POINT_MM:
            raise CannotBeDone(
                f"piece {piece.name!r}: {taken} of edge {taken.edge!r} begins "
                f"{cut_length(start)} from "
                f"its first corner, where {cut_length(drawn[-1])} of it are taken in already. Move "
                f"one of the two along the edge.",
                [(Part.PIECE, piece.name)],
            )
        for at, more in ((start, start - drawn[-1]), (end, taken.sewn_mm)):
            drawn.append(at)
            sewn.append(sewn[-1] + more)
    drawn.append(length)
    sewn.append(sewn[-1] + length - drawn[-2])
    return SewnScale(tuple(drawn), tuple(sewn))


def taken_along(piece: Piece, edge: str) -> Iterator[tuple[TakenIn, float, float]]:
    """All that is taken in along an edge, with its start and end, mm from the first corner."""
    line = edge_line(piece, edge)
    for taken in piece.fullness:
        ends = [nearest_along(line, point) for point in ends_of(piece, taken)]
        if taken.edge == edge or all(gap < SAME_POINT_MM for _, gap in ends):
            (start, _), (end, _) = sorted(ends)
            yield taken, start, end


def ends_of(piece: Piece, taken: TakenIn) -> tuple[FloatArray, FloatArray]:
    """Both ends on the stitching line, (2,) mm as drawn; raises CannotBeDone beyond its edge."""
    start, end = (
        notch_point(piece, Notch(taken.edge, at)) for at in (taken.start_mm, taken.end_mm)
    )
    return start, end


def dart_tip(piece: Piece, dart: Dart) -> FloatArray:
    """Where the dart ends inside the piece, (2,) mm as drawn."""
    if dart.tip is not None:
        return dart.tip
    return _square_in(piece, dart, dart.depth_mm)[1]


def taken_in_marks(piece: Piece) -> tuple[InnerMark, ...]:
    """What is drawn for all that is taken in: a dart's legs to its tip, the lines of a pleat or a
    tuck, the stretch that is gathered."""
    return tuple(mark for taken in piece.fullness for mark in _marks(piece, taken))


def taken_in_notches(piece: Piece) -> tuple[Notch, ...]:
    """A notch at either end of all that is taken in, where the seam meets it."""
    return tuple(
        Notch(taken.edge, at) for taken in piece.fullness for at in (taken.start_mm, taken.end_mm)
    )


def _marks(piece: Piece, taken: TakenIn) -> Iterator[InnerMark]:
    start, end = ends_of(piece, taken)
    if isinstance(taken, Dart):
        yield InnerMark(MarkKind.DART, np.array([start, dart_tip(piece, taken), end]), "dart")
    elif isinstance(taken, Pleat):
        kind = MarkKind.TUCK if taken.kind is PleatKind.TUCK else MarkKind.PLEAT
        foot, inside = _square_in(piece, taken, taken.length_mm)
        for point, name in ((start, taken.kind.value), (end, "")):
            yield InnerMark(kind, np.array([point, point + inside - foot]), name)
    elif isinstance(taken, Gather):
        line = _between(edge_line(piece, taken.edge), taken.start_mm, taken.end_mm)
        yield InnerMark(MarkKind.GATHER, line, f"gather into {cut_length(taken.into_mm)}")


def _square_in(piece: Piece, taken: TakenIn, depth_mm: float) -> tuple[FloatArray, FloatArray]:
    """The middle of the mouth, or the fold where its end is on it, and so far square in from it."""
    start, end = ends_of(piece, taken)
    if piece.fold is not None:
        fold = piece.outline[[piece.fold.start, piece.fold.end]]
        for point in (start, end):
            if np.hypot(*(reflect(point[np.newaxis], fold)[0] - point)) < SAME_POINT_MM:
                along = fold.mean(axis=0) - point
                return point, point + depth_mm * along / np.hypot(*along)
    foot = (start + end) / 2
    out = square_out(piece, Notch(taken.edge, (taken.start_mm + taken.end_mm) / 2))
    return foot, foot - depth_mm * out


def _between(line: FloatArray, start_mm: float, end_mm: float) -> FloatArray:
    """The part of a polyline between two distances along it."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    reached = np.concatenate([[0.0], np.cumsum(steps)])
    inner = line[(reached > start_mm) & (reached < end_mm)]
    return np.vstack([point_along(line, start_mm), inner, point_along(line, end_mm)])
