"""One piece in little: outline, fold, notches, and a grain line with its heads. Paper mm."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.drawing.diagram.fitting import arrow_in
from marker.drawing.diagram.piece_drawing import PieceDrawing
from marker.geometry.arrays import FloatArray

_NOTCH, _HEAD = 0.9, 0.9
_LONGEST_ARROW = 9.0


@dataclass(frozen=True)
class Thumbnail:
    """Lower left corner of the room at (0, 0). notches, grain : (n, 2) each."""

    outline: shapely.Polygon
    fold: FloatArray | None
    notches: tuple[FloatArray, ...]
    grain: tuple[FloatArray, ...]


def thumbnail(piece: PieceDrawing, room: tuple[float, float]) -> Thumbnail:
    """The piece as large as it fits, in the room's middle; a tall one lies on its side."""
    tall = np.ptp(piece.outline, axis=0)[1] > np.ptp(piece.outline, axis=0)[0]
    turn = np.array([[0.0, 1.0], [-1.0, 0.0]]) if tall else np.eye(2)
    outline = piece.outline @ turn
    low, size = outline.min(axis=0), np.ptp(outline, axis=0)
    share = float(min(np.array(room) / size))
    corner = (np.array(room) - size * share) / 2

    def small(points: FloatArray) -> FloatArray:
        placed: FloatArray = (points @ turn - low) * share + corner
        return placed

    shape = shapely.Polygon(small(piece.outline), [small(hole) for hole in piece.cutouts])
    return Thumbnail(
        outline=shape,
        fold=None if piece.fold_line is None else small(piece.fold_line),
        notches=tuple(
            small(np.array([notch.point])) + np.outer([0.0, _NOTCH], np.array(notch.inward) @ turn)
            for notch in piece.notches
        ),
        grain=_grain(piece, shape, turn),
    )


def _grain(piece: PieceDrawing, shape: BaseGeometry, turn: FloatArray) -> tuple[FloatArray, ...]:
    """A line along the grain, a head at each end that the piece may point to."""
    way = np.array(piece.grain.direction) @ turn
    grain = replace(piece.grain, direction=(float(way[0]), float(way[1])))
    middle = shape.representative_point()
    arrow = arrow_in(shape.buffer(-0.3), grain, (middle.x, middle.y), _LONGEST_ARROW)
    if arrow is None:
        return ()
    tail, head = np.array(arrow.tail), np.array(arrow.head)
    runs = [np.array([tail, head]), _barbs(head, way)]
    return (*runs, _barbs(tail, -way)) if piece.grain.either_way else tuple(runs)


def _barbs(tip: FloatArray, way: FloatArray) -> FloatArray:
    side = np.array([-way[1], way[0]])
    return np.array([tip - _HEAD * (way - 0.5 * side), tip, tip - _HEAD * (way + 0.5 * side)])
