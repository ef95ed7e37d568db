"""The cloth on one sheet: ground, selvages, pieces and their labels."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.pen import ACCENT, BLACK, DARK, DEEPER, PALE, Pen
from marker.drawing.diagram.cloth_lines import (
    draw_lacking,
    draw_leftovers,
    draw_repeat,
)
from marker.drawing.diagram.flaws import draw_flaws, name_flaws
from marker.drawing.diagram.fold_view import draw_folds
from marker.drawing.diagram.labels import place_labels
from marker.drawing.diagram.paper_piece import window
from marker.drawing.diagram.piece_view import (
    draw_label,
    draw_matches,
    draw_notch_letters,
    draw_piece,
)
from marker.drawing.diagram.rulers import draw_rulers
from marker.drawing.diagram.sheets import MARGIN, OVERLAP_MM, RULER, Sheet
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.spread_cloth import Area, Ground
from marker.drawing.signs import BREAK_DASHES, draw_nap, hatching
from marker.tolerances import JUDGED_MM
from marker.units import cut_length

_HATCH = {  # spacing mm, slope
    Ground.SELVAGE: (1.1, 1.0),
    Ground.END: (2.2, -1.0),
    Ground.CREASE: (1.1, -1.0),
}
_TEXT_CLEAR = 0.4
_GROUND = {Ground.CLOTH: PALE, Ground.TWO_PLIES: DEEPER}


def draw_cloth(pen: Pen, scene: Scene, sheet: Sheet) -> None:
    """Everything inside the rulers, and the rulers."""
    shown = window(sheet)
    for area in scene.areas:
        _draw_area(pen, area, sheet, shown)
    draw_lacking(pen, scene, sheet)
    draw_leftovers(pen, scene, sheet)
    draw_flaws(pen, scene, sheet)
    labels = place_labels(scene, sheet)
    texts = {label.piece.number: label.box for label in labels if label.leader is None}
    for piece in scene.pieces:
        draw_piece(pen, piece, sheet, shown, texts.get(piece.number, shapely.Polygon()))
    written = [label.box.buffer(_TEXT_CLEAR) for label in labels]
    draw_repeat(pen, scene, sheet, shapely.union_all(written))
    for piece in scene.pieces:
        draw_matches(pen, piece, sheet)
        draw_notch_letters(pen.on(str(piece.number)), piece, sheet)
    draw_rulers(pen, sheet, scene.width_mm, scene.length_mm)
    _draw_ends(pen, scene, sheet)
    draw_folds(pen, scene, sheet)
    for label in labels:
        draw_label(pen.on(str(label.piece.number)), label)
    name_flaws(pen, scene, sheet, labels)


def _draw_area(pen: Pen, area: Area, sheet: Sheet, shown: BaseGeometry) -> None:
    (low_x, low_y), (high_x, high_y) = sheet.to_paper(np.array([area.low, area.high]))
    part = shapely.box(low_x, low_y, high_x, high_y).intersection(shown)
    if part.area == 0:
        return
    if area.ground in _GROUND:
        pen.fill(part, _GROUND[area.ground], DARK, 0.2, name="cloth")
    else:
        pen.lines(hatching(part, *_HATCH[area.ground]), 0.12, DARK)
        pen.lines([shapely.get_coordinates(part)], 0.15, DARK)


def _draw_ends(pen: Pen, scene: Scene, sheet: Sheet) -> None:
    """Start line with its nap arrow, or the words that lead to the sheets before and after."""
    low, high = sheet.y(-scene.selvage_mm), sheet.y(scene.width_mm + scene.selvage_mm)
    middle = (low + high) / 2
    left, right = sheet.x(sheet.start_mm), sheet.x(sheet.end_mm)
    grounds = [area for area in scene.areas if area.ground in _GROUND]
    for at, area in ((0.0, grounds[0]), (scene.length_mm, grounds[-1])):
        if sheet.start_mm <= at <= sheet.end_mm:
            ends = sheet.to_paper(np.array([[at, area.low[1]], [at, area.high[1]]]))
            pen.lines([ends], 0.3, BLACK)
    if scene.room_mm < min(scene.length_mm - JUDGED_MM, sheet.end_mm):
        _draw_too_short(pen, sheet.x(scene.room_mm), low, high)
    if sheet.number == 1:
        words = scene.start
    else:
        words = f"CONTINUED FROM PAGE {sheet.number - 1}"
        pen.lines([np.array([[left, low], [left, high]])], 0.3, BLACK, BREAK_DASHES)
    pen.text(MARGIN + 2.0, middle, words, 6.0, bold=True, angle=90, align="center", colour=DARK)
    if scene.nap:
        draw_nap(pen, MARGIN + 1.0, high + 1.5)
    if sheet.number < sheet.count:
        words = f"CONTINUES ON PAGE {sheet.number + 1}, {cut_length(OVERLAP_MM).upper()} ON BOTH"
        pen.lines([np.array([[right, low], [right, high]])], 0.3, BLACK, BREAK_DASHES)
        pen.text(right + RULER + 1.5, middle, words, 6.0, bold=True, angle=90, align="center")


def _draw_too_short(pen: Pen, x: float, low: float, high: float) -> None:
    """Where the cloth there is ends, before the layout does."""
    pen.lines([np.array([[x, low], [x, high]])], 0.5, ACCENT, BREAK_DASHES)
    pen.text(
        x, high + RULER + 1.0, "THE CLOTH ENDS HERE", 6.0, bold=True, align="center", colour=ACCENT
    )
