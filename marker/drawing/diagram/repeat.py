"""The cloth's repeat and border as faint lines over the pieces, match points with their letters.

Paper mm.
"""

from __future__ import annotations

import numpy as np
import shapely

from marker.canvas.fonts import MM_PER_PT
from marker.canvas.lettering import FIGURE_RISE, SMALLEST_PT
from marker.canvas.pen import ACCENT, DARK, PAPER_WHITE, Pen
from marker.drawing.diagram.paper_piece import DISC, match_discs
from marker.drawing.diagram.piece_drawing import PieceDrawing
from marker.drawing.diagram.scene import Scene
from marker.drawing.diagram.sheets import Sheet

LINE = 0.1
LINE_DASHES = (0.5, 0.9)
BORDER = 0.22
_DOT = 0.45
_CLOSEST = 1.2  # lines nearer than this on paper would be a grey ground


def draw_repeat(pen: Pen, scene: Scene, sheet: Sheet) -> None:
    """Where repeats begin, on the stretch of cloth that the sheet shows, and the border's line."""
    lines = scene.repeat
    near, far = sheet.y(-scene.selvage_mm), sheet.y(scene.width_mm + scene.selvage_mm)
    left, right = sheet.x(sheet.start_mm), sheet.x(sheet.end_mm)
    runs = [
        np.array([[sheet.x(x), near], [sheet.x(x), far]])
        for x in shown_lines(lines.along_mm, sheet.scale)
        if sheet.start_mm <= x <= sheet.end_mm
    ]
    across = [sheet.y(y) for y in shown_lines(lines.across_mm, sheet.scale)]
    runs += [np.array([[left, y], [right, y]]) for y in across]
    if runs:
        pen.lines(runs, LINE, DARK, LINE_DASHES, name="repeat")
    if lines.border_mm is not None:
        y = sheet.y(lines.border_mm)
        pen.lines([np.array([[left, y], [right, y]])], BORDER, ACCENT, LINE_DASHES, name="border")


def shown_lines(places: tuple[float, ...], scale: int) -> tuple[float, ...]:
    """Every line, or every second, fifth or so of them where all would stand too close on paper.

    scale : mm of cloth for each mm of paper.
    """
    if len(places) < 2:
        return places
    apart = (places[1] - places[0]) / scale
    step = next((step for step in (1, 2, 5, 10, 20, 50) if step * apart >= _CLOSEST), 100)
    return places[::step]


def draw_matches(pen: Pen, piece: PieceDrawing, sheet: Sheet) -> None:
    """A dot on each match point that the sheet shows, and its letter just inside the piece."""
    for at, centre, letter in match_discs(piece, sheet):
        pen.lines([np.array([at, centre])], LINE, ACCENT)
        pen.fill(shapely.Point(at).buffer(_DOT), ACCENT)
        pen.fill(shapely.Point(centre).buffer(DISC / 2), PAPER_WHITE, ACCENT, LINE)
        drop = FIGURE_RISE / 2 * SMALLEST_PT * MM_PER_PT
        pen.text(
            centre[0], centre[1] - drop, letter, SMALLEST_PT, bold=True, colour=ACCENT,
            align="center",
        )  # fmt: skip
