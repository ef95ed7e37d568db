"""Pieces at full size on one PDF page."""

from __future__ import annotations

import numpy as np
import shapely

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.canvas.page import Page
from marker.canvas.pen import BLACK, GREY, Pen
from marker.canvas.to_pdf import pdf_bytes
from marker.exchange.cloth_facts import cloth_line
from marker.exchange.flat_piece import FlatPiece
from marker.exchange.label_place import LETTER_WIDTH, Label, labels
from marker.exchange.laid_flat import Sheet, notch_ticks, ring
from marker.exchange.strokes import MARK_LAYERS, Layer
from marker.geometry.arrays import FloatArray
from marker.pattern.inner_marks import InnerMark, MarkKind
from marker.pattern.piece import Line

MARGIN_MM = 10.0
_CUT, _THIN = 0.6, 0.35  # line widths, mm
_STITCHING, _INNER = (4.0, 2.5), (8.0, 3.0)  # dashes mm on, mm off
_HEAD = np.array([[-8.0, 2.5], [0.0, 0.0], [-8.0, -2.5]])
_DRILL_MM, _TEXT_MM = 1.0, 5.0


def pattern_pdf(sheet: Sheet) -> bytes:
    """The file; the same sheet gives the same bytes."""
    layers = {layer.value: layer.value for layer in Layer}
    return pdf_bytes([_page(sheet)], sheet.title, layers, "\n".join(map(cloth_line, sheet.cloths)))


def _page(sheet: Sheet) -> Page:
    pen = Pen((sheet.width_mm + 2 * MARGIN_MM, sheet.height_mm + 2 * MARGIN_MM))
    pen = pen.moved(MARGIN_MM, MARGIN_MM)
    if sheet.cloth:
        cloth = shapely.box(0.0, 0.0, sheet.width_mm, sheet.height_mm)
        pen.lines([shapely.get_coordinates(cloth)], _THIN, GREY, name="cloth")
    for piece in sheet.pieces:
        _draw_piece(pen, piece)
    for label in labels(sheet):
        _write(pen, label)
    return pen.page


def _draw_piece(pen: Pen, piece: FlatPiece) -> None:
    """One path for each line, so that whoever reads the file finds lines and not heaps of them."""
    if len(piece.stitching):
        pen.lines([ring(piece.stitching)], _THIN, BLACK, _STITCHING, name=Layer.STITCHING)
    if piece.fold is not None:
        pen.lines([piece.fold], _THIN, BLACK, _INNER, name=Layer.FOLD)
    for mark in piece.inner_marks:
        _draw_mark(pen, mark)
    if piece.grain is not None:
        pen.lines([piece.grain], _THIN, name=Layer.GRAIN)
        pen.lines([_arrow_head(piece.grain)], _THIN)
    for line in notch_ticks(piece):
        pen.lines([line], _CUT, name=Layer.NOTCHES)
    own = Layer.CUT if piece.line is Line.CUT else Layer.STITCHING
    for line in (*map(ring, piece.cutouts), ring(piece.outline)):
        pen.lines([line], _CUT, name=own)


def _draw_mark(pen: Pen, mark: InnerMark) -> None:
    layer = MARK_LAYERS[mark.kind]
    if mark.kind is MarkKind.TEXT:
        x, y = mark.points[0]
        pen.text(x, y, mark.name, _TEXT_MM / MM_PER_PT)
    elif mark.kind.is_point:
        circle = shapely.Point(mark.points[0]).buffer(_DRILL_MM)
        pen.lines([shapely.get_coordinates(circle)], _THIN, name=layer)
    else:
        pen.lines([mark.points], _THIN, BLACK, _INNER, name=layer)


def _arrow_head(grain: FloatArray) -> FloatArray:
    tail, head = grain
    along = (head - tail) / np.hypot(*(head - tail))
    turn = np.array([along, [-along[1], along[0]]])
    return np.asarray(head + _HEAD @ turn)


def _write(pen: Pen, label: Label) -> None:
    """The lines of a label, each centred on the place where it is planned."""
    turn = np.radians(label.angle_deg)
    along = np.array([np.cos(turn), np.sin(turn)])
    up = np.array([-along[1], along[0]])
    size = label.size_mm / MM_PER_PT
    for line in label.lines:
        room = LETTER_WIDTH * len(line.text) * label.size_mm
        x, y = label.centre + line.right_mm * along + line.up_mm * up
        fitting = size * min(1.0, room / text_width(line.text, size))
        pen.text(x, y, line.text, fitting, angle=label.angle_deg, align="center")
    if label.leader is not None:
        pen.lines([label.leader], _THIN, name=Layer.LABELS)
