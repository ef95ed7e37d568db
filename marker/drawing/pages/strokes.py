"""The lines of a scene at full size, cloth mm, ready to be cut up for pages."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.drawing.diagram.halves import off_fold
from marker.drawing.diagram.piece_drawing import PieceDrawing
from marker.drawing.diagram.scene import Scene
from marker.drawing.diagram.spread_cloth import Area, Ground
from marker.geometry.arrays import FloatArray

NOTCH_MM = 5.0


@dataclass(frozen=True)
class Stroke:
    """One kind of line, all over the cloth.

    kind : 'cut', 'stitching', 'fold', 'notch', or 'cloth' for its own edges.
    """

    kind: str
    lines: tuple[BaseGeometry, ...]

    def within(self, low: FloatArray, high: FloatArray) -> list[FloatArray]:
        """What a rectangle shows of it, as polylines; one that was not cut ends where it began."""
        found: list[FloatArray] = []
        for part in shapely.clip_by_rect(list(self.lines), *low, *high):
            merged = shapely.line_merge(part)
            found += [
                shapely.get_coordinates(run) for run in shapely.get_parts(merged) if run.length > 0
            ]
        return found


def strokes(scene: Scene) -> tuple[Stroke, ...]:
    """All lines, those of the cloth first, cut lines last."""
    return (
        Stroke("cloth", tuple(_cloth_edges(scene))),
        Stroke(
            "stitching",
            tuple(run for p in scene.pieces if len(p.stitching) for run in _runs(p.stitching, p)),
        ),
        Stroke(
            "fold",
            tuple(shapely.LineString(p.fold_line) for p in scene.pieces if p.fold_line is not None),
        ),
        Stroke("notch", tuple(tick for piece in scene.pieces for tick in _notches(piece))),
        Stroke(
            "cut",
            tuple(
                run
                for p in scene.pieces
                for ring in (p.outline, *p.cutouts)
                for run in _runs(ring, p)
            ),
        ),
    )


def _cloth_edges(scene: Scene) -> Iterator[BaseGeometry]:
    """The cloth's outer edges, and inside them the usable width from the start to the end line."""
    grounds = (Ground.CLOTH, Ground.TWO_PLIES)
    cloth: Sequence[Area] = [area for area in scene.areas if area.ground in grounds]
    for area in cloth:
        yield shapely.box(*area.low, *area.high).exterior
        if (scene.end_mm, scene.selvage_mm) != (0.0, 0.0):
            yield shapely.box(0.0, 0.0, scene.length_mm, scene.width_mm).exterior


def _runs(ring: FloatArray, piece: PieceDrawing) -> list[BaseGeometry]:
    return [shapely.LineString(run) for run in off_fold(ring, piece.fold_y)]


def _notches(piece: PieceDrawing) -> Iterator[BaseGeometry]:
    """A short line inward at each notch, shorter on a narrow piece."""
    length = min(NOTCH_MM, float(np.ptp(piece.outline, axis=0).min()) / 8)
    for notch in piece.notches:
        foot = np.array(notch.point)
        yield shapely.LineString([foot, foot + length * np.array(notch.inward)])
