"""Key to the lines and signs of the diagram."""

from __future__ import annotations

import numpy as np

from marker.canvas.pen import ACCENT, BLACK, DARK, Pen
from marker.drawing.diagram.arrows import draw_grain
from marker.drawing.diagram.cloth_view import (
    CORNER_LENGTH,
    CUT,
    FOLD,
    FOLD_DASHES,
    STITCH,
    STITCH_DASHES,
)
from marker.drawing.diagram.fitting import Shaft
from marker.drawing.diagram.piece_drawing import Grain
from marker.drawing.diagram.wording import ACROSS, ALONG

_SIZE, _STEP, _SIGN, _COLUMN = 5.5, 3.05, 7.0, 27.5


def draw_key(pen: Pen, x: float, y: float, near_edge: str) -> None:
    """Two columns of signs with their names, the first baseline at y; 58 mm wide, 19 mm tall."""
    second = x + _COLUMN
    levels = [y - k * _STEP for k in range(5)]
    for level, (name, width, colour, dashes) in zip(
        levels,
        (
            ("cut line", CUT, BLACK, None),
            ("stitching line", STITCH, DARK, STITCH_DASHES),
            ("centre fold", FOLD, BLACK, FOLD_DASHES),
        ),
        strict=False,
    ):
        run = np.array([[x, level + 0.7], [x + _SIGN, level + 0.7]])
        pen.lines([run], width, colour, dashes)
        _name(pen, x, level, name)
    at = np.array([x + 1.0, levels[3]])
    pen.lines([at + np.array([[-1.0, 0.0], [_SIGN - 1.0, 0.0]])], CUT, BLACK)
    pen.lines([at + np.array([[2.5, 0.0], [2.5, 1.7]])], CUT, BLACK)
    _name(pen, x, levels[3], "notch")
    for level, name, grain in zip(
        levels,
        ("grain, either way", "grain, this way only", "grain, nap this way"),
        (Grain((1, 0), True, False), Grain((1, 0), False, False), Grain((1, 0), False, True)),
        strict=False,
    ):
        draw_grain(pen, Shaft((second, level + 0.7), (second + _SIGN, level + 0.7)), grain)
        _name(pen, second, level, name)
    corner = np.array([second + 3.0, levels[3]])
    arms = np.array([[0.0, CORNER_LENGTH], [0.0, 0.0], [CORNER_LENGTH, 0.0]])
    pen.lines([corner + arms], 0.5, ACCENT)
    _name(pen, second, levels[3], "corner measured to")
    pen.text(x, levels[4], f"{ALONG} from the start line", _SIZE, colour=DARK)
    pen.text(second, levels[4], f"{ACROSS} from the near {near_edge}", _SIZE, colour=DARK)
    last = levels[4] - _STEP
    pen.text(x, last, "Mirrored pieces say so: turn the pattern over.", _SIZE, colour=DARK)


def _name(pen: Pen, x: float, y: float, name: str) -> None:
    pen.text(x + _SIGN + 1.5, y, name, _SIZE, colour=DARK)
