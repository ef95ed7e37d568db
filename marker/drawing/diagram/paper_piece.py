"""A piece's lines on one sheet's paper, mm; shapely geometry."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.drawing.diagram.sheets import Sheet
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.geometry.arrays import FloatArray

NOTCH_LENGTH = 1.7
EDGE_MARK, POINT_MARK = 1.8, 1.2  # across
LETTER = 2.0  # across a letter of a band mark, and room around it
DISC = 2.3
"""Across the disc that holds the letter of a match point."""


def window(sheet: Sheet) -> BaseGeometry:
    """The stretch of cloth the sheet shows, without end across the cloth."""
    return shapely.box(sheet.x(sheet.start_mm), -1e5, sheet.x(sheet.end_mm), 1e5)


def pieces_on(sheet: Sheet, pieces: Sequence[PieceDrawing]) -> tuple[PieceDrawing, ...]:
    """Those that reach into the stretch of cloth the sheet shows."""
    return tuple(
        piece
        for piece in pieces
        if piece.outline[:, 0].min() <= sheet.end_mm and piece.outline[:, 0].max() >= sheet.start_mm
    )


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


def notch_letters(piece: PieceDrawing, sheet: Sheet) -> list[tuple[FloatArray, str]]:
    """The letters of band marks and where each stands on the sheet, behind its notch; none on a
    piece too narrow for them, and of two too near each other one."""
    reach = NOTCH_LENGTH + LETTER / 2
    if float(np.ptp(piece.outline, axis=0).min()) / sheet.scale < 4 * reach:
        return []
    found: list[tuple[FloatArray, str]] = []
    for mark in piece.notches:
        if mark.letter and sheet.start_mm <= mark.point[0] <= sheet.end_mm:
            at = sheet.to_paper(np.array([mark.point]))[0] + reach * np.array(mark.inward)
            if all(np.hypot(*(at - other)) > LETTER for other, _ in found):
                found.append((at, mark.letter))
    return found


def edge_mark(piece: PieceDrawing, sheet: Sheet) -> BaseGeometry:
    """The half disc inside the cut line at the edge that is measured to; empty if not seen.

    Smaller on a narrow piece, as its notches are.
    """
    at = piece.placing.line[0]
    if not sheet.start_mm <= at[0] <= sheet.end_mm:
        return shapely.Polygon()
    narrow = float(np.ptp(piece.outline, axis=0).min()) / sheet.scale
    across = min(EDGE_MARK, narrow / 6)
    disc = shapely.Point(sheet.to_paper(at[np.newaxis])[0]).buffer(across / 2)
    mark: BaseGeometry = disc.intersection(cut_polygon(piece, sheet))
    return mark


def inner_strokes(piece: PieceDrawing, sheet: Sheet) -> list[BaseGeometry]:
    """The fold and all lines that are marked inside the piece."""
    lines = [mark.points for mark in piece.inner_marks if not mark.kind.is_point]
    fold = [] if piece.fold_line is None else [piece.fold_line]
    return [shapely.LineString(sheet.to_paper(line)) for line in (*fold, *lines)]


def sharp_marks(piece: PieceDrawing, sheet: Sheet) -> BaseGeometry:
    """What no text may ever cover: notches, letters of match points, points marked inside, and the
    mark on the edge that is measured to."""
    ticks = [shapely.LineString(tick) for tick in notch_ticks(piece, sheet)]
    discs = [shapely.Point(centre).buffer(DISC / 2) for _, centre, _ in match_discs(piece, sheet)]
    points = [
        shapely.Point(sheet.to_paper(mark.points)[0]).buffer(POINT_MARK / 2)
        for mark in piece.inner_marks
        if mark.kind.is_point
    ]
    letters = [shapely.Point(at).buffer(LETTER / 2) for at, _ in notch_letters(piece, sheet)]
    marks: BaseGeometry = shapely.union_all(
        [*ticks, *discs, *points, *letters, edge_mark(piece, sheet)]
    )
    return marks


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
    if isinstance(region, shapely.Polygon):  # as nearly all are
        return region if region.area > 0 else shapely.Polygon()
    parts = [part for part in shapely.get_parts(region) if part.area > 0]
    return max(parts, key=lambda part: part.area, default=shapely.Polygon())
