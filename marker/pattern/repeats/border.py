"""The edge of a piece that lies on a border print."""

from __future__ import annotations

import numpy as np

from marker.cloth.repeat import Side
from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.pattern.piece import CutPiece, Piece
from marker.pattern.stitching import edge_line
from marker.pattern.unfolding import reflect
from marker.tolerances import STRAIGHT_MM
from marker.units import metric


def border_edge(piece: Piece) -> FloatArray | None:
    """Both ends of the stitching line of the border edge, (2, 2) as drawn, with the piece on the
    left of the way from the first to the second; None if the piece has none.

    Raises CannotBeDone if it is not straight, both halves of it if it ends on the fold.
    """
    if not piece.border:
        return None
    line = edge_line(piece, piece.border)
    line = line[::-1] if piece.drawn_clockwise else line
    along = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
    left = np.array([-along[1], along[0]])
    points = line
    if piece.fold and {piece.edges[piece.border].start, piece.edges[piece.border].end} & {
        piece.fold.start,
        piece.fold.end,
    }:
        fold = piece.outline[[piece.fold.start, piece.fold.end]]
        points = np.concatenate([line, reflect(line, fold)])
    bend = float(np.ptp((points - line[0]) @ left))
    if bend > STRAIGHT_MM:
        raise CannotBeDone(
            f"piece {piece.name!r}: its edge {piece.border!r} cannot lie on a border print, for it "
            f"bends by {metric(bend)}. Draw it straight to {STRAIGHT_MM} mm, on the fold "
            f"square to it, or name another edge."
        )
    return line[[0, -1]]


def border_turn(piece: CutPiece, mirrored: bool, side: Side) -> float:
    """Degrees in [0, 360) by which a copy is turned so that its border edge lies along the cloth
    with the piece on the inner side of it."""
    assert piece.border is not None
    dx, dy = piece.border[1] - piece.border[0]
    # reflected, the piece lies on the left of the way back: (-dx, dy)
    heading = float(np.degrees(np.arctan2(dy, -dx if mirrored else dx)))
    wanted = 0.0 if side is Side.NEAR else 180.0
    return float(np.round(wanted - heading, 9) % 360)
