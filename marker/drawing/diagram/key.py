"""Key to the lines and signs of the diagram. Paper mm."""

from __future__ import annotations

import numpy as np
import shapely

from marker.canvas.lettering import SMALLEST_PT
from marker.canvas.pen import ACCENT, BLACK, DARK, Pen
from marker.drawing.diagram.cloth_lines import REPEAT, REPEAT_DASHES
from marker.drawing.diagram.fitting import Shaft
from marker.drawing.diagram.paper_piece import EDGE_MARK
from marker.drawing.diagram.wording import ACROSS, ALONG
from marker.drawing.scene.layout_scene import RepeatLines, Scene
from marker.drawing.scene.piece_drawing import Grain
from marker.drawing.signs import CUT, FOLD, FOLD_DASHES, STITCH, STITCH_DASHES, draw_grain

_STEP, _SIGN, _COLUMN = 3.05, 7.0, 27.5
_GRAINS = (
    ("grain, either way", Grain((1, 0), either_way=True, nap=False)),
    ("grain, this way only", Grain((1, 0), either_way=False, nap=False)),
    ("grain, nap this way", Grain((1, 0), either_way=False, nap=True)),
)


def draw_key(pen: Pen, x: float, y: float, scene: Scene) -> None:
    """Two columns of signs with their names, the first baseline at y; 62 mm wide, 19 mm tall."""
    second, levels = x + _COLUMN, [y - k * _STEP for k in range(6)]
    lines = [
        ("cut line", CUT, BLACK, None),
        ("stitching line", STITCH, DARK, STITCH_DASHES),
        ("fold", FOLD, BLACK, FOLD_DASHES),
    ]
    if scene.repeat != RepeatLines():
        lines.append(("repeat begins", REPEAT, DARK, REPEAT_DASHES))
    for level, (name, width, colour, dashes) in zip(levels, lines, strict=False):
        pen.lines([_run(x, level)], width, colour, dashes)
        _name(pen, x, level, name)
    level = levels[len(lines)]
    pen.lines([_run(x, level), np.array([[x + 3.5, level + 0.7], [x + 3.5, level + 2.2]])], CUT)
    lettered = any(notch.letter for piece in scene.pieces for notch in piece.notches)
    _name(pen, x, level, "notch")
    if lettered:
        level = levels[len(lines) + 1]
        pen.text(x + _SIGN / 2, level, "a", SMALLEST_PT, align="center")
        _name(pen, x, level, "mark of a band")
    used = [each for each in _GRAINS if _is_used(each[1], scene)]
    for level, (name, grain) in zip(levels, used, strict=False):
        draw_grain(pen, Shaft((second, level + 0.7), (second + _SIGN, level + 0.7)), grain)
        _name(pen, second, level, name)
    level = levels[len(used)]
    _draw_edge_mark(pen, second + 2.0, level + 0.7)
    _name(pen, second, level, "edge measured to")
    edge = scene.near_edge
    words = (f"{ALONG} start line to it", f"{ACROSS} near {edge} to grain line or fold")
    for level, said in zip(levels[len(used) + 1 :], words, strict=False):
        pen.text(second, level, said, SMALLEST_PT, colour=DARK)


def _is_used(grain: Grain, scene: Scene) -> bool:
    return any(
        (piece.grain.either_way, piece.grain.nap) == (grain.either_way, grain.nap)
        for piece in scene.pieces
    )


def _run(x: float, level: float) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.array([[x, level + 0.7], [x + _SIGN, level + 0.7]])


def _draw_edge_mark(pen: Pen, x: float, y: float) -> None:
    """The half disc inside an edge."""
    disc = shapely.Point(x, y).buffer(EDGE_MARK / 2)
    pen.fill(disc.intersection(shapely.box(x, y - 2.0, x + 2.0, y + 2.0)), ACCENT)
    pen.lines([np.array([[x, y - 1.2], [x, y + 1.2]])], CUT, BLACK)


def _name(pen: Pen, x: float, y: float, name: str) -> None:
    pen.text(x + _SIGN + 1.5, y, name, SMALLEST_PT, colour=DARK)
