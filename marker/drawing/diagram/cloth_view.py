"""The cloth on one sheet: ground, selvages, pieces and their labels."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.hatching import hatching
from marker.canvas.lettering import SMALLEST_PT
from marker.canvas.pen import ACCENT, BLACK, DARK, DEEPER, PALE, PAPER_WHITE, Pen
from marker.drawing.diagram.arrows import draw_grain, draw_nap
from marker.drawing.diagram.fitting import Spot
from marker.drawing.diagram.flaws import draw_flaws, name_flaws
from marker.drawing.diagram.fold_view import draw_folds
from marker.drawing.diagram.halves import off_fold
from marker.drawing.diagram.labels import Label, place_labels
from marker.drawing.diagram.leftovers import draw_leftovers
from marker.drawing.diagram.paper_piece import cut_polygon, fold_stroke, notch_ticks, window
from marker.drawing.diagram.piece_drawing import PieceDrawing
from marker.drawing.diagram.remnant import draw_lacking
from marker.drawing.diagram.repeat import draw_matches, draw_repeat
from marker.drawing.diagram.rulers import draw_rulers
from marker.drawing.diagram.scene import Scene
from marker.drawing.diagram.sheets import MARGIN, OVERLAP_MM, RULER, Sheet
from marker.drawing.diagram.spread_cloth import Area, Ground
from marker.drawing.diagram.wording import BADGE_GAP, Block, badge_size
from marker.geometry.arrays import FloatArray
from marker.tolerances import JUDGED_MM

CUT, STITCH, FOLD = 0.38, 0.16, 0.18
STITCH_DASHES, FOLD_DASHES, BREAK_DASHES = (0.9, 0.6), (3.2, 0.7, 0.5, 0.7), (1.6, 1.0)
CORNER_LENGTH = 1.6
_HATCH = {  # spacing mm, slope
    Ground.SELVAGE: (1.1, 1.0),
    Ground.END: (2.2, -1.0),
    Ground.CREASE: (1.1, -1.0),
}
_GROUND = {Ground.CLOTH: PALE, Ground.TWO_PLIES: DEEPER}


def draw_cloth(pen: Pen, scene: Scene, sheet: Sheet) -> None:
    """Everything inside the rulers, and the rulers."""
    shown = window(sheet)
    for area in scene.areas:
        _draw_area(pen, area, sheet, shown)
    draw_lacking(pen, scene, sheet)
    draw_leftovers(pen, scene, sheet)
    draw_flaws(pen, scene, sheet)
    for piece in scene.pieces:
        _draw_piece(pen, piece, sheet, shown)
    draw_repeat(pen, scene, sheet)
    for piece in scene.pieces:
        draw_matches(pen, piece, sheet)
    draw_rulers(pen, sheet, scene.width_mm, scene.length_mm)
    _draw_ends(pen, scene, sheet)
    draw_folds(pen, scene, sheet)
    labels = place_labels(scene, sheet)
    for label in labels:
        draw_label(pen, label)
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


def _draw_piece(pen: Pen, piece: PieceDrawing, sheet: Sheet, shown: BaseGeometry) -> None:
    polygon = cut_polygon(piece, sheet)
    seen = polygon.intersection(shown)
    if seen.area == 0:
        return
    pen.fill(seen, PAPER_WHITE)
    if len(piece.stitching):
        stitching = _strokes([piece.stitching], piece, sheet).intersection(shown)
        pen.lines(_runs(stitching), STITCH, DARK, STITCH_DASHES)
    if piece.fold_line is not None:
        fold = fold_stroke(piece, sheet).intersection(shown)
        pen.lines(_runs(fold), FOLD, BLACK, FOLD_DASHES)
    pen.lines(notch_ticks(piece, sheet), CUT, BLACK)
    cut = _strokes([piece.outline, *piece.cutouts], piece, sheet).intersection(shown)
    pen.lines(_runs(cut), CUT, BLACK)
    corner = sheet.to_paper(np.array([piece.reference]))[0]
    if shapely.covers(shown, shapely.Point(corner)):
        low_x, low_y, high_x, high_y = polygon.bounds
        arm = min(CORNER_LENGTH, 0.3 * (high_x - low_x), 0.3 * (high_y - low_y))
        arms = np.array([[0.0, arm], [0.0, 0.0], [arm, 0.0]])
        pen.lines([corner + arms], 0.5, ACCENT)


def _strokes(rings: list[FloatArray], piece: PieceDrawing, sheet: Sheet) -> BaseGeometry:
    """Rings on paper, without what of them lies on the cloth's fold."""
    runs = [run for ring in rings for run in off_fold(ring, piece.fold_y)]
    lines: BaseGeometry = shapely.MultiLineString([sheet.to_paper(run) for run in runs])
    return lines


def _runs(line: BaseGeometry) -> list[FloatArray]:
    """Coordinates of each stretch of a line that may have been cut into several."""
    merged = shapely.line_merge(line)
    return [shapely.get_coordinates(part) for part in shapely.get_parts(merged) if part.length > 0]


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


def _letter(pen: Pen, block: Block, spot: Spot) -> None:
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
        words = f"CONTINUES ON PAGE {sheet.number + 1}, {OVERLAP_MM / 10:.0f} CM ON BOTH"
        pen.lines([np.array([[right, low], [right, high]])], 0.3, BLACK, BREAK_DASHES)
        pen.text(right + RULER + 1.5, middle, words, 6.0, bold=True, angle=90, align="center")


def _draw_too_short(pen: Pen, x: float, low: float, high: float) -> None:
    """Where the cloth there is ends, before the layout does."""
    pen.lines([np.array([[x, low], [x, high]])], 0.5, ACCENT, BREAK_DASHES)
    pen.text(
        x, high + RULER + 1.0, "THE CLOTH ENDS HERE", 6.0, bold=True, align="center", colour=ACCENT
    )
