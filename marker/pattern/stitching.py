"""Where the stitching line runs, and its named edges."""

from __future__ import annotations

import numpy as np

from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.geometry.inset import CollapsedError, inset
from marker.geometry.outline import point_along, polyline_length, stretch_points
from marker.pattern.edge import Notch
from marker.pattern.piece import Line, Piece
from marker.units import metric

_HAIR_MM = 1e-6


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


def edge_line(piece: Piece, edge: str) -> FloatArray:
    """The named edge along the stitching line, from its first corner as written, (k, 2) mm."""
    if edge not in piece.edges:
        known = ", ".join(piece.edges) or "none"
        raise CannotBeDone(
            f"piece {piece.name!r} has no edge {edge!r} (it has: {known}). "
            f"Add it to the piece's `edges`, or name one that is there."
        )
    stretch = piece.edges[edge]
    line = stretch_points(stitching_line(piece), stretch.start, stretch.end)
    return line[::-1] if piece.drawn_clockwise else line


def edge_length_mm(piece: Piece, edge: str) -> float:
    """Length of the named edge on the stitching line as drawn, mm (one half if it meets a fold)."""
    return polyline_length(edge_line(piece, edge))


def notch_point(piece: Piece, notch: Notch) -> FloatArray:
    """Where a notch meets the stitching line, (2,) mm; raises CannotBeDone beyond its edge."""
    line = edge_line(piece, notch.edge)
    length = polyline_length(line)
    if not 0 <= notch.at_mm <= length + _HAIR_MM:
        raise CannotBeDone(
            f"piece {piece.name!r}: a notch stands at {metric(notch.at_mm)} of edge "
            f"{notch.edge!r}, whose stitching line is only {metric(length)} long. "
            f"Move the notch onto the edge."
        )
    return point_along(line, notch.at_mm)
