"""A piece's lines on one sheet's paper, mm; shapely geometry."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.drawing.diagram.sheets import Sheet
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.geometry.arrays import FloatArray

NOTCH_LENGTH = 1.7
DISC = 2.3
"""Across the disc that holds the letter of a match point."""


def window(sheet: Sheet) -> BaseGeometry:
    """The stretch of cloth the sheet shows, without end across the cloth."""
    return shapely.box(sheet.x(sheet.start_mm), -1e5, sheet.x(sheet.end_mm), 1e5)


def cut_polygon(piece: PieceDrawing, sheet: Sheet) -> BaseGeometry:
    """The whole cut outline, cut-outs left out."""
    holes = [sheet.to_paper(hole) for hole in piece.cutouts]
    polygon: BaseGeometry = shapely.Polygon(sheet.to_paper(piece.outline), holes)
    return polygon


def stitching_ring(piece: PieceDrawing, sheet: Sheet) -> shapely.LinearRing:
    """The stitching line, closed; empty if it is the cut line."""
    return shapely.LinearRing(sheet.to_paper(piece.stitching))


def fold_stroke(piece: PieceDrawing, sheet: Sheet) -> BaseGeometry:
    """The centre fold; empty if there is none."""
    if piece.fold_line is None:
        return shapely.LineString()
    stroke: BaseGeometry = shapely.LineString(sheet.to_paper(piece.fold_line))
    return stroke


def notch_ticks(piece: PieceDrawing, sheet: Sheet) -> list[FloatArray]:
    """The tick of each notch the sheet shows, each (2, 2)."""
    ticks = piece.ticks(NOTCH_LENGTH * sheet.scale)
    return [sheet.to_paper(tick) for tick in ticks if sheet.start_mm <= tick[0, 0] <= sheet.end_mm]


def match_discs(piece: PieceDrawing, sheet: Sheet) -> list[tuple[FloatArray, FloatArray, str]]:
    """Each match point the sheet shows, the centre of its letter's disc, and the letter."""
    found = []
    for mark in piece.matches:
        if sheet.start_mm <= mark.point[0] <= sheet.end_mm:
            at = sheet.to_paper(np.array([mark.point]))[0]
            found.append((at, at + DISC * np.array(mark.inward), mark.letter))
    return found


def largest(region: BaseGeometry) -> BaseGeometry:
    """The largest polygon of a region that may have fallen apart; empty if there is none."""
    parts = [part for part in shapely.get_parts(region) if part.area > 0]
    return max(parts, key=lambda part: part.area, default=shapely.Polygon())
