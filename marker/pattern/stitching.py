"""Where the stitching line runs, and its named edges."""

from __future__ import annotations

import numpy as np

from marker.errors import CannotBeDone, Part
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import point_along, polyline_length
from marker.pattern.allowances import stitching_ring
from marker.pattern.edge import Notch
from marker.pattern.piece import Piece
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length


def edge_line(piece: Piece, edge: str) -> FloatArray:
    """The named edge along the stitching line, from its first corner as written, (k, 2) mm."""
    if edge not in piece.edges:
        known = ", ".join(piece.edges) or "none"
        raise CannotBeDone(
            f"piece {piece.name!r} has no edge {edge!r} (it has: {known}). "
            f"Add it to the piece's `edges`, or name one that is there."
        )
    line = stitching_ring(piece).line(piece.edges[edge])
    return line[::-1] if piece.drawn_clockwise else line


def edge_length_mm(piece: Piece, edge: str) -> float:
    """Length of the named edge on the stitching line as drawn, mm (one half if it meets a fold)."""
    return polyline_length(edge_line(piece, edge))


def meets_fold_at_end(piece: Piece, edge: str) -> bool | None:
    """Whether the edge's last corner as written lies on the fold, None if no end does."""
    if piece.fold is None:
        return None
    stretch, on_fold = piece.edges[edge], {piece.fold.start, piece.fold.end}
    ends = (stretch.start, stretch.end)[:: -1 if piece.drawn_clockwise else 1]
    if ends[1] in on_fold:
        return True
    return False if ends[0] in on_fold else None


def notch_point(piece: Piece, notch: Notch) -> FloatArray:
    """Where a notch meets the stitching line, (2,) mm; raises CannotBeDone beyond its edge."""
    line = edge_line(piece, notch.edge)
    length = polyline_length(line)
    if not 0 <= notch.at_mm <= length + SAME_POINT_MM:
        raise CannotBeDone(
            f"piece {piece.name!r}: a notch stands at {cut_length(notch.at_mm)} of edge "
            f"{notch.edge!r}, whose stitching line is only {cut_length(length)} long. "
            f"Move the notch onto the edge.",
            [(Part.PIECE, piece.name)],
        )
    return point_along(line, notch.at_mm)


def square_out(piece: Piece, notch: Notch) -> FloatArray:
    """Direction (2,) square to the stitching line, out of the piece, at a notch."""
    side = -1 if piece.drawn_clockwise else 1
    return side * right_of(edge_line(piece, notch.edge), notch.at_mm)


def right_of(line: FloatArray, at_mm: float) -> FloatArray:
    """Direction (2,) square to a polyline, to its right, at a distance along it."""
    steps = np.diff(line, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    steps, lengths = steps[lengths > 0], lengths[lengths > 0]  # moved edges may shrink to nothing
    chord = min(int(np.searchsorted(np.cumsum(lengths), at_mm)), len(steps) - 1)
    along = steps[chord] / lengths[chord]
    return np.array([along[1], -along[0]])
