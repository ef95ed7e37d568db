"""A piece on one sheet: its lines and marks, its label. Paper mm."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.fonts import MM_PER_PT
from marker.canvas.lettering import FIGURE_RISE, SMALLEST_PT
from marker.canvas.pen import ACCENT, BLACK, DARK, PAPER_WHITE, Pen
from marker.drawing.diagram.labels import Label
from marker.drawing.diagram.paper_piece import (
    DISC,
    LETTER,
    cut_polygon,
    edge_mark,
    fold_stroke,
    match_discs,
    notch_letters,
    notch_ticks,
)
from marker.drawing.diagram.sheets import Sheet
from marker.drawing.diagram.wording import BADGE_GAP, Block, badge_size
from marker.drawing.scene.piece_drawing import PieceDrawing, off_fold
from marker.drawing.signs import (
    CUT,
    FOLD,
    FOLD_DASHES,
    STITCH,
    STITCH_DASHES,
    draw_grain,
    draw_inner_mark,
)
from marker.geometry.arrays import FloatArray
from marker.geometry.rectangles import RectanglePlace

_LINE, _DOT = 0.1, 0.45  # of match points
_TEXT_CLEAR = 0.3


def draw_piece(
    pen: Pen, piece: PieceDrawing, sheet: Sheet, shown: BaseGeometry, text: BaseGeometry
) -> None:
    """Its lines and marks, those inside it without what its text covers."""
    pen = pen.on(str(piece.number))
    polygon = cut_polygon(piece, sheet)
    seen = polygon.intersection(shown)
    if seen.area == 0:
        return
    pen.fill(seen, PAPER_WHITE)
    bare = shown if text.is_empty else shown.difference(text.buffer(_TEXT_CLEAR))
    if len(piece.stitching):
        stitching = _strokes([piece.stitching], piece, sheet).intersection(bare)
        pen.lines(_runs(stitching), STITCH, DARK, STITCH_DASHES, name="stitching")
    if piece.fold_line is not None:
        fold = fold_stroke(piece, sheet).intersection(bare)
        pen.lines(_runs(fold), FOLD, BLACK, FOLD_DASHES, name="fold")
    for mark in piece.inner_marks:
        if mark.kind.is_point and not sheet.start_mm <= mark.points[0, 0] <= sheet.end_mm:
            continue
        draw_inner_mark(pen, mark.kind, sheet.to_paper(mark.points), bare)
    pen.lines(notch_ticks(piece, sheet), CUT, BLACK, name="notch")
    cut = _strokes([piece.outline, *piece.cutouts], piece, sheet).intersection(shown)
    pen.lines(_runs(cut), CUT, BLACK, name="cut")
    edge = edge_mark(piece, sheet)
    if not edge.is_empty:
        pen.fill(edge, ACCENT, name="edge measured to")


def _strokes(rings: list[FloatArray], piece: PieceDrawing, sheet: Sheet) -> BaseGeometry:
    """Rings on paper, without what of them lies on the cloth's fold."""
    runs = [run for ring in rings for run in off_fold(ring, piece.uncut)]
    lines: BaseGeometry = shapely.MultiLineString([sheet.to_paper(run) for run in runs])
    return lines


def _runs(line: BaseGeometry) -> list[FloatArray]:
    """Coordinates of each stretch of a line that may have been cut into several."""
    merged = shapely.line_merge(line)
    return [shapely.get_coordinates(part) for part in shapely.get_parts(merged) if part.length > 0]


def draw_matches(pen: Pen, piece: PieceDrawing, sheet: Sheet) -> None:
    """A dot on each match point that the sheet shows, and its letter just inside the piece."""
    for at, centre, letter in match_discs(piece, sheet):
        pen.lines([np.array([at, centre])], _LINE, ACCENT)
        pen.fill(shapely.Point(at).buffer(_DOT), ACCENT)
        draw_match_letter(pen, centre, letter)


def draw_match_letter(pen: Pen, centre: FloatArray, letter: str) -> None:
    """The letter of a match in its disc; its places show the same place of the repeat."""
    pen.fill(shapely.Point(centre).buffer(DISC / 2), PAPER_WHITE, ACCENT, _LINE)
    drop = FIGURE_RISE / 2 * SMALLEST_PT * MM_PER_PT
    at = (centre[0], centre[1] - drop)
    pen.text(*at, letter, SMALLEST_PT, bold=True, colour=ACCENT, align="center")


def draw_notch_letters(pen: Pen, piece: PieceDrawing, sheet: Sheet) -> None:
    """The letter of each band mark, by which the cutting sheet names it."""
    drop = FIGURE_RISE / 2 * SMALLEST_PT * MM_PER_PT * 0.75  # low letters
    for (x, y), letter in notch_letters(piece, sheet):
        pen.fill(shapely.Point(x, y).buffer(LETTER / 2), PAPER_WHITE)
        pen.text(x, y - drop, letter, SMALLEST_PT, align="center")


def draw_label(pen: Pen, label: Label) -> None:
    """A piece's grain arrow and its text, or its number at the end of a leader."""
    if label.arrow:
        draw_grain(pen, label.arrow, label.piece.grain)
    block, (x, y) = label.block, label.spot.centre
    if label.leader:
        pen.lines([np.array([label.leader, (x, y)])], 0.18, BLACK)
        pen.fill(shapely.Point(label.leader).buffer(0.3), BLACK)
    if block.bare:
        low = y - block.height_mm / 2
        pen.text(x, low, str(block.number), SMALLEST_PT, bold=True, align="center")
        return
    if not block.lines:
        pen.badge(x, y, block.number, block.badge_mm, badge_size(0.0))
        return
    _letter(pen, block, label.spot)


def _letter(pen: Pen, block: Block, spot: RectanglePlace) -> None:
    """The number's disc and the lines of a block, turned about the block's centre."""
    turn = spot.angle_deg
    angle = np.radians(turn)
    right = np.array([np.cos(angle), np.sin(angle)])
    up = np.array([-right[1], right[0]])
    base = np.array(spot.centre) - right * block.width_mm / 2
    base = base + up * (block.height_mm / 2 - block.rise_mm)
    disc = base + right * block.badge_mm / 2 + up * block.badge_lift_mm
    size = badge_size(block.lines[0].size_pt)
    pen.badge(disc[0], disc[1], block.number, block.badge_mm, size, turn)
    for k, (line, step) in enumerate(zip(block.lines, (0.0, *block.steps_mm), strict=True)):
        base = base - up * step
        at = base if k else base + right * (block.badge_mm + BADGE_GAP)
        pen.text(at[0], at[1], line.text, line.size_pt, bold=line.bold, angle=turn)
