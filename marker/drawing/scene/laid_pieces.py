"""The pieces of a layout as seen on the table: each outline to cut once, halves at a fold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from marker.cloth.fabric import Nap
from marker.drawing.scene.piece_drawing import (
    NotchMark,
    PieceDrawing,
    folded,
    half,
    laid,
    piece_drawing,
    placing,
)
from marker.geometry.arrays import FloatArray
from marker.geometry.grain import grain_chord, shortened
from marker.geometry.outline import inward_at
from marker.layout import CheckedLayout, Placement
from marker.layout.on_table import OnTable, on_table
from marker.pattern.piece import CutPiece

SPARE = " and a spare"
_AT_FOLD_MM = 0.01


def table_pieces(
    checked: CheckedLayout, near_mm: float, patterns: Sequence[CutPiece]
) -> tuple[PieceDrawing, ...]:
    """The pieces in the order of their numbers.

    near_mm : from the near selvage to the near edge on the table. patterns : the pieces as they are
    drawn, those of the layout or the same with finer curves; the numbers are the same with both.
    """
    by_name = {(piece.name, piece.size): piece for piece in patterns}
    nap = checked.layout.cloth.nap is not Nap.EITHER_WAY
    several = len(checked.garments) > 1
    drawn: list[PieceDrawing] = []
    for each in on_table(checked):
        pattern = by_name[each.upper.piece, each.upper.size]
        upper = each.upper
        if patterns is not checked.cut_pieces:
            upper = replace(upper, outline_mm=laid(pattern.outline, upper))
        place = _moved(upper, -each.along_mm, -near_mm)
        drawing = piece_drawing(place, pattern, nap, several)
        if each.fold is not None:
            drawing = _half(drawing, each.fold - near_mm, each.above_fold)
        drawn.append(replace(drawing, plies=_plies(each, drawing), number=each.number))
    return tuple(drawn)


def _moved(place: Placement, dx: float, dy: float) -> Placement:
    outline = place.outline_mm + np.array([dx, dy])
    return replace(place, x_mm=place.x_mm + dx, y_mm=place.y_mm + dy, outline_mm=outline)


def _half(drawing: PieceDrawing, fold_y: float, above: bool) -> PieceDrawing:
    """The half that is seen, with the notches of both."""
    outline = half(drawing.outline, fold_y, above)
    side = 1.0 if above else -1.0
    points = [
        ((each.point[0], fold_y + side * abs(each.point[1] - fold_y)), each.letter)
        for each in drawing.notches
    ]
    line = _on_fold(outline, fold_y)
    holes = [half(hole, fold_y, above) for hole in drawing.cutouts]
    holes = [hole for hole in holes if len(hole)]
    return replace(
        drawing,
        outline=outline,
        grain_line=_turned_as(drawing.grain_line, shortened(grain_chord(outline, holes))),
        placing=placing(line),
        cutouts=tuple(holes),
        stitching=half(drawing.stitching, fold_y, above),
        notches=tuple(
            NotchMark(at, inward_at(drawing.outline, np.array(at)), letter) for at, letter in points
        ),
        fold_y=fold_y,
        inner_marks=tuple(
            mark.mapped(lambda points: folded(points, fold_y, side)) for mark in drawing.inner_marks
        ),
    )


def _on_fold(outline: FloatArray, fold_y: float) -> FloatArray:
    """(2, 2) the stretch of the cloth's fold that the half lies at."""
    xs = outline[np.abs(outline[:, 1] - fold_y) < _AT_FOLD_MM, 0]
    return np.array([[xs.min(), fold_y], [xs.max(), fold_y]])


def _turned_as(line: FloatArray, other: FloatArray) -> FloatArray:
    """The other line, its head at the end where the line has it."""
    same = (line[1, 0] - line[0, 0]) * (other[1, 0] - other[0, 0]) >= 0
    return other if same else other[::-1]


def _plies(each: OnTable, drawing: PieceDrawing) -> str:
    """What comes of a cut, in words; nothing to say of one ply."""
    of = f"of {drawing.copies}"
    if each.fold is not None:
        return f"{drawing.copy} {of} · on the fold"
    if each.lower is None:
        return ""
    if each.unwanted is not None:
        return f"{drawing.copy} {of}{SPARE} · two plies"
    if each.lower.garment != each.upper.garment:
        garments = sorted((each.lower.garment, each.upper.garment))
        return f"garments {garments[0]} and {garments[1]} · two plies"
    copies = sorted((each.lower.copy, each.upper.copy))
    return f"{copies[0]} and {copies[1]} {of} · two plies"
