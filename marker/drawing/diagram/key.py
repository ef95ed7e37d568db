"""Key to the lines and signs of the diagram. Paper mm."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

import numpy as np
import shapely

from marker.canvas.lettering import SMALLEST_PT
from marker.canvas.page import Colour
from marker.canvas.pen import ACCENT, BLACK, DARK, Pen
from marker.drawing.diagram.cloth_lines import REPEAT, REPEAT_DASHES, fill_lacking
from marker.drawing.diagram.paper_piece import EDGE_MARK
from marker.drawing.diagram.piece_view import draw_match_letter
from marker.drawing.diagram.wording import ACROSS, ALONG
from marker.drawing.scene.layout_scene import RepeatLines, Scene
from marker.drawing.scene.piece_drawing import Grain
from marker.drawing.signs import (
    CUT,
    FOLD,
    FOLD_DASHES,
    STITCH,
    STITCH_DASHES,
    Shaft,
    draw_grain,
    draw_inner_mark,
)
from marker.pattern.inner_marks import MarkKind

_STEP, _SIGN, _COLUMN, _ROWS = 3.05, 7.0, 27.5, 6
NO_CLOTH = "no cloth"
MATCHED = "same letter: they match"
_GRAINS = (
    ("grain, either way", Grain((1, 0), either_way=True, nap=False)),
    ("grain, this way only", Grain((1, 0), either_way=False, nap=False)),
    ("grain, nap this way", Grain((1, 0), either_way=False, nap=True)),
)


Sign = tuple[str, Callable[[Pen, float, float], None]]
"""A name, and what draws the sign before it from x on at a baseline; '' for words alone."""


def draw_key(pen: Pen, x: float, y: float, scene: Scene) -> None:
    """Two columns of signs with their names, the first baseline at y; 62 mm wide, 19 mm tall."""
    columns = [list(_lines(scene)), list(_arrows(scene))]
    marks: list[Sign] = [(str(kind), partial(_draw_mark, kind)) for kind in _kinds(scene)]
    if any(piece.matches for piece in scene.pieces):
        marks.insert(0, (MATCHED, _draw_match))
    for signs in columns:
        while marks and len(signs) < _ROWS:
            signs.append(marks.pop(0))
    for column, signs in enumerate(columns):
        left = x + column * _COLUMN
        for row, (name, draw) in enumerate(signs[:_ROWS]):
            level = y - row * _STEP
            draw(pen, left, level)
            after = 0.0 if draw is _draw_nothing else _SIGN + 1.5
            pen.text(left + after, level, name, SMALLEST_PT, colour=DARK)


def _lines(scene: Scene) -> Iterator[Sign]:
    yield "cut line", partial(_draw_line, CUT, BLACK, None)
    yield "stitching line", partial(_draw_line, STITCH, DARK, STITCH_DASHES)
    yield "fold", partial(_draw_line, FOLD, BLACK, FOLD_DASHES)
    if scene.repeat != RepeatLines():
        yield "repeat begins", partial(_draw_line, REPEAT, DARK, REPEAT_DASHES)
    yield "notch", _draw_notch
    if any(notch.letter for piece in scene.pieces for notch in piece.notches):
        yield "mark of a band", _draw_letter
    if scene.lacking:
        yield NO_CLOTH, _draw_no_cloth


def _arrows(scene: Scene) -> Iterator[Sign]:
    """Grain and nap, and what is measured."""
    for name, grain in _GRAINS:
        if _is_used(grain, scene):
            yield name, partial(_draw_arrow, grain)
    yield "edge measured to", _draw_edge_mark
    yield f"{ALONG} start line to it", _draw_nothing
    yield f"{ACROSS} near {scene.near_edge} to grain line or fold", _draw_nothing


def _kinds(scene: Scene) -> list[MarkKind]:
    """Kinds of marks inside the pieces that no other line of the key explains."""
    found = dict.fromkeys(mark.kind for piece in scene.pieces for mark in piece.inner_marks)
    told = (MarkKind.TEXT, MarkKind.LINE, MarkKind.FOLD_LINE)
    return [kind for kind in found if kind not in told]


def _draw_line(
    width: float, colour: Colour, dashes: Sequence[float] | None, pen: Pen, x: float, level: float
) -> None:
    pen.lines([_run(x, level)], width, colour, dashes)


def _draw_notch(pen: Pen, x: float, level: float) -> None:
    pen.lines([_run(x, level), np.array([[x + 3.5, level + 0.7], [x + 3.5, level + 2.2]])], CUT)


def _draw_letter(pen: Pen, x: float, level: float) -> None:
    pen.text(x + _SIGN / 2, level, "a", SMALLEST_PT, align="center")


def _draw_match(pen: Pen, x: float, level: float) -> None:
    draw_match_letter(pen, np.array([x + _SIGN / 2, level + 0.9]), "A")


def _draw_no_cloth(pen: Pen, x: float, level: float) -> None:
    fill_lacking(pen, shapely.box(x, level - 0.2, x + _SIGN, level + 1.9), spacing=1.5)


def _draw_arrow(grain: Grain, pen: Pen, x: float, level: float) -> None:
    draw_grain(pen, Shaft((x, level + 0.7), (x + _SIGN, level + 0.7)), grain)


def _draw_mark(kind: MarkKind, pen: Pen, x: float, level: float) -> None:
    run = _run(x, level)
    points = run.mean(axis=0)[np.newaxis] if kind.is_point else run
    draw_inner_mark(pen, kind, points, shapely.box(x, level - 2.0, x + _SIGN, level + 3.0))


def _draw_nothing(_pen: Pen, _x: float, _level: float) -> None:
    """Words that bring their own sign."""


def _is_used(grain: Grain, scene: Scene) -> bool:
    return any(
        (piece.grain.either_way, piece.grain.nap) == (grain.either_way, grain.nap)
        for piece in scene.pieces
    )


def _run(x: float, level: float) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.array([[x, level + 0.7], [x + _SIGN, level + 0.7]])


def _draw_edge_mark(pen: Pen, x: float, level: float) -> None:
    """The half disc inside an edge."""
    x, y = x + 2.0, level + 0.7
    disc = shapely.Point(x, y).buffer(EDGE_MARK / 2)
    pen.fill(disc.intersection(shapely.box(x, y - 2.0, x + 2.0, y + 2.0)), ACCENT)
    pen.lines([np.array([[x, y - 1.2], [x, y + 1.2]])], CUT, BLACK)
