"""The lines of full-size pages: of cutting, stitching and folding, with their signs. Cloth mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing, off_fold
from marker.drawing.scene.spread_cloth import Area, Ground
from marker.drawing.signs import SIZE_DASHES
from marker.geometry.arrays import FloatArray

NOTCH_MM = 5.0
BRACKET_MM = 9.0  # from the edge to place on the fold to the sign beside it
_BRACKET_ENDS_MM, _BARB_MM = 15.0, 3.0


@dataclass(frozen=True)
class Stroke:
    """One kind of line, all over the cloth.

    kind : 'cut', 'stitching', 'fold', 'notch', 'to fold' for the edge to place on the fold and
        'bracket' for the sign at it, or 'cloth' for the cloth's own edges.
    dashes : by which a size is told from others; None where one size is drawn.
    """

    kind: str
    lines: tuple[BaseGeometry, ...]
    dashes: tuple[float, ...] | None = None

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
    """All lines that there are, those of the cloth first, cut lines last."""
    every = [each for piece in scene.pieces for each in piece.in_all_sizes]
    stitched = [] if scene.sizes else [p for p in scene.pieces if len(p.stitching)]
    to_fold = [each.to_fold for each in every if each.to_fold is not None]
    folds = [p.fold_line for p in every if p.fold_line is not None]
    by_size = ([p for p in every if p.size == size] for size in scene.sizes)
    cut = [Stroke("cut", tuple(_cut_runs(pieces)), dashes)
           for pieces, dashes in zip(by_size, SIZE_DASHES, strict=False)]  # fmt: skip
    found = (
        Stroke("cloth", tuple(_cloth_edges(scene))),
        Stroke("stitching", tuple(run for p in stitched for run in _runs(p.stitching, p))),
        Stroke("fold", tuple(_apart(folds))),
        Stroke("to fold", tuple(_apart(to_fold))),
        Stroke("bracket", tuple(line for piece in scene.pieces for line in _brackets(piece))),
        Stroke(
            "notch", tuple(shapely.LineString(tick) for p in every for tick in p.ticks(NOTCH_MM))
        ),
        *(cut if scene.sizes else [Stroke("cut", tuple(_cut_runs(every)))]),
    )
    return tuple(stroke for stroke in found if stroke.lines)


def _cloth_edges(scene: Scene) -> Iterator[BaseGeometry]:
    """The cloth's outer edges, and inside them the usable width from the start to the end line."""
    grounds = (Ground.CLOTH, Ground.TWO_PLIES)
    cloth: Sequence[Area] = [area for area in scene.areas if area.ground in grounds]
    for area in cloth:
        yield shapely.box(*area.low, *area.high).exterior
        if (scene.end_mm, scene.selvage_mm) != (0.0, 0.0):
            yield shapely.box(0.0, 0.0, scene.length_mm, scene.width_mm).exterior


def _cut_runs(pieces: Sequence[PieceDrawing]) -> Iterator[BaseGeometry]:
    for piece in pieces:
        for ring in (piece.outline, *piece.cutouts):
            yield from _runs(ring, piece)


def _runs(ring: FloatArray, piece: PieceDrawing) -> list[BaseGeometry]:
    return [shapely.LineString(run) for run in off_fold(ring, piece.uncut)]


def _apart(lines: Sequence[FloatArray]) -> list[BaseGeometry]:
    """Lines (2, 2), what lies on one another once, so that no dashes fill the gaps of others."""
    if not lines:
        return []
    return list(shapely.get_parts(shapely.line_merge(shapely.union_all(
        [shapely.LineString(line) for line in lines]
    ))))  # fmt: skip


def _length(line: FloatArray) -> float:
    return float(np.hypot(*(line[1] - line[0])))


def _brackets(piece: PieceDrawing) -> Iterator[BaseGeometry]:
    """The sign at the longest of its sizes' edges to place on the fold."""
    edges = [each.to_fold for each in piece.in_all_sizes if each.to_fold is not None]
    if edges:
        yield from _bracket(max(edges, key=_length))


def _bracket(edge: FloatArray) -> Iterator[BaseGeometry]:
    """The sign of an edge (2, 2) to place on the fold: a line beside it, bent to it at both ends,
    with arrow heads. The piece lies below the edge, or to its right as it is walked."""
    along = (edge[1] - edge[0]) / _length(edge)
    inward = np.array([along[1], -along[0]])
    short = min(_BRACKET_ENDS_MM, _length(edge) / 4)
    feet = np.array([edge[0] + short * along, edge[1] - short * along])
    heads = feet + BRACKET_MM * inward
    yield shapely.LineString([feet[0], heads[0], heads[1], feet[1]])
    for foot in feet:
        barbs = [foot + _BARB_MM * (inward + side * along / 2) for side in (-1, 1)]
        yield shapely.LineString([barbs[0], foot, barbs[1]])
