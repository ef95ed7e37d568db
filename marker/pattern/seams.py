"""Seams: where the stitching line runs and how long it is."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.geometry.inset import CollapsedError, inset
from marker.geometry.outline import polyline_length, stretch_points
from marker.pattern.piece import Line, Piece
from marker.units import metric


def stitching_line(piece: Piece) -> FloatArray:
    """The outline along which the piece is sewn, (n, 2) mm, vertex i for vertex i as drawn.

    The drawn outline itself unless that is a cut line with allowance, whose edges then move inward
    by it; a side on the fold carries none. Vertices of edges too short for that share a point.
    Raises CannotBeDone when nothing, or no single outline, is left inside the allowance.
    """
    if piece.line is Line.STITCHING or piece.allowance_mm == 0:
        return piece.outline
    distances = np.full(len(piece.outline), piece.allowance_mm)
    if piece.fold:
        count = len(piece.outline)
        on_fold = (piece.fold.end - piece.fold.start) % count
        distances[(piece.fold.start + np.arange(on_fold)) % count] = 0.0
    try:
        return inset(piece.outline, distances)
    except CollapsedError:
        raise CannotBeDone(
            f"piece {piece.name!r}: no stitching line fits {metric(piece.allowance_mm)} inside its "
            f"cut line, the piece is narrower than two allowances somewhere. Lower `allowance`, or "
            f'say line = "stitching line" if that is what was drawn.'
        ) from None


def seam_line(piece: Piece, seam: str) -> FloatArray:
    """The named seam along the stitching line from its start to its end, (k, 2) mm."""
    if seam not in piece.seams:
        known = ", ".join(piece.seams) or "none"
        raise CannotBeDone(
            f"piece {piece.name!r} has no seam {seam!r} (it has: {known}). "
            f"Add it to the piece's `seams`, or name one that is there."
        )
    stretch = piece.seams[seam]
    return stretch_points(stitching_line(piece), stretch.start, stretch.end)


def seam_length_mm(piece: Piece, seam: str) -> float:
    """Length of the named seam on the stitching line as drawn, mm (one half if it meets a fold)."""
    return polyline_length(seam_line(piece, seam))


def opening_length_mm(pieces: Iterable[Piece], finishes: Iterable[tuple[str, str]]) -> float:
    """Length of the opening that the ('piece', 'seam') pairs make together, mm.

    A seam with an end on a fold goes on in the other half and counts twice.
    """
    by_name = {piece.name: piece for piece in pieces}
    return sum(_whole_seam_length(by_name, name, seam) for name, seam in finishes)


def _whole_seam_length(by_name: dict[str, Piece], name: str, seam: str) -> float:
    if name not in by_name:
        raise CannotBeDone(
            f"there is no piece {name!r} with a seam {seam!r} to finish. "
            f"Name one of: {', '.join(by_name)}."
        )
    piece = by_name[name]
    length = seam_length_mm(piece, seam)
    stretch = piece.seams[seam]
    fold_ends = {piece.fold.start, piece.fold.end} if piece.fold else set()
    return 2 * length if fold_ends & {stretch.start, stretch.end} else length
