"""The pictures of a cutting sheet: how the cloth is spread, the layout in little, each piece."""

from __future__ import annotations

import numpy as np
import shapely

from marker.canvas.fonts import text_width
from marker.canvas.lettering import wrapped
from marker.canvas.pen import ACCENT, BLACK, DARK, PALE, PAPER_WHITE, Pen
from marker.drawing.diagram.cloth_view import CUT, FOLD_DASHES
from marker.drawing.diagram.piece_drawing import PieceDrawing
from marker.drawing.diagram.small_layout import AROUND, NUMBER_PT, SmallLayout, layout_words
from marker.drawing.diagram.spread_sketch import SpreadSketch
from marker.drawing.diagram.thumbnail import Thumbnail, thumbnail

_SKETCH_WIDTH = 46.0
_SMALL = 6.5


def draw_spread(pen: Pen, sketch: SpreadSketch, left: float, top: float, width: float) -> None:
    """The sketch with its names below, and the words beside it."""
    corner = np.array([left + 8.0, top - 7.5])
    pen.lines([line * _SKETCH_WIDTH + corner for line in sketch.lines], 0.5, BLACK)
    for at, name in sketch.names:
        x = corner[0] + at * _SKETCH_WIDTH
        pen.text(x, corner[1] - 3.4, name, _SMALL, align="center", colour=DARK)
    x = corner[0] + _SKETCH_WIDTH + 14.0
    words = f"Spread the cloth {sketch.words}."
    lines = wrapped(words, left + width - x, 8.0)
    for k, line in enumerate(lines):
        pen.text(x, top - 3.4 - 3.7 * k, line, 8.0)
    y = top - 3.6 - 3.7 * len(lines)
    pen.text(x, y, f"On the left as seen from {sketch.seen}.", _SMALL, colour=DARK)


def draw_small_layout(pen: Pen, layout: SmallLayout, left: float, top: float, width: float) -> None:
    """The layout in the middle of the width, start of the cloth on the left."""
    corner = np.array([left + (width - layout.size[0]) / 2, top - AROUND - layout.size[1]])
    for part in layout.cloth:
        pen.fill(shapely.transform(part, lambda points: points + corner), PALE, DARK, 0.2)
    for piece in layout.pieces:
        moved = shapely.transform(piece, lambda points: points + corner)
        pen.fill(moved, PAPER_WHITE, BLACK, 0.2)
    for spot in layout.numbers:
        x, y = corner + np.array(spot.at)
        if spot.leader:
            pen.lines([np.array([corner + np.array(spot.leader), (x, y)])], 0.18, BLACK)
        pen.badge(x, y, spot.number, spot.diameter, NUMBER_PT)
    words = layout_words(layout)
    wide = text_width(words, _SMALL)
    pen.text(left + (width - wide) / 2, corner[1] - AROUND - 1.0, words, _SMALL, colour=DARK)


def draw_thumbnail(
    pen: Pen, piece: PieceDrawing, corner: tuple[float, float], room: tuple[float, float]
) -> None:
    """The piece as large as it fits, with its fold, its notches and its grain."""
    small: Thumbnail = thumbnail(piece, room)
    at = np.array(corner)
    pen.fill(shapely.transform(small.outline, lambda points: points + at), PAPER_WHITE, BLACK,
             CUT / 2)  # fmt: skip
    if small.fold is not None:
        pen.lines([small.fold + at], 0.15, BLACK, [dash / 2 for dash in FOLD_DASHES])
    pen.lines([tick + at for tick in small.notches], 0.3, BLACK)
    pen.lines([run + at for run in small.grain], 0.25, ACCENT)
