"""What the lines and signs of full-size pages stand for: those that are used, and no others."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import shapely

from marker.canvas.lettering import wrapped
from marker.canvas.pen import ACCENT, DARK, GREY, PALE, Pen
from marker.drawing.pages.full_size import FullSize
from marker.drawing.pages.tile_page import (
    JOIN_DASHES,
    LINE_STYLES,
    THICKER,
    TO_FOLD,
    cross,
    size_lines,
)
from marker.drawing.scene.piece_drawing import Grain
from marker.drawing.signs import Shaft, draw_grain, draw_inner_mark
from marker.pattern.inner_marks import MarkKind

KEY_MM = 66.0  # wide, the gap before it included
_SIGN, _STEP, _LINE, _WORDS_PT = 14.0, 4.3, 3.0, 7.5
_ROOM = KEY_MM - 6.0 - _SIGN - 3.0

Draw = Callable[[Pen, float], None]
"""Draws a sign from x = 0 to _SIGN at a height."""

_NAMES = {
    "stitching": "stitching line",
    "fold": "centre fold",
    "to fold": f"edge to {TO_FOLD}; not cut",
    "bracket": f"sign at it: {TO_FOLD}",
    "notch": "notch",
    "cloth": "edges of the cloth and of its usable part",
}
_GRAINS = {
    (True, False): "grain, either way up",
    (False, False): "grain, this way up only",
    (False, True): "grain, the nap runs this way",
    (True, True): "grain, the nap runs this way",
}


def draw_key(pen: Pen, full: FullSize, left: float, top: float, larger: float = 1.0) -> None:
    """One row for each sign; the first baseline at `top`."""
    pen = pen.enlarged(
        larger, np.array([left, top]), np.zeros(2), np.array([pen.width, pen.height])
    )
    y = 0.0
    for draw, words in _entries(full):
        draw(pen, y + 0.9)
        for k, line in enumerate(wrapped(words, _ROOM, _WORDS_PT)):
            y -= _LINE if k else 0.0
            pen.text(_SIGN + 3.0, y, line, _WORDS_PT)
        y -= _STEP


def _entries(full: FullSize) -> Iterator[tuple[Draw, str]]:
    drawn = {stroke.kind for stroke in full.strokes}
    sizes = size_lines(full)
    for size, dashes in sizes:
        width, colour, _ = LINE_STYLES["cut"]
        yield _line(width, colour, [dash / THICKER for dash in dashes]), f"cut line, size {size}"
    if not sizes:
        yield _line(*LINE_STYLES["cut"]), "cut line"
    lettered = any(notch.letter for piece in full.scene.pieces for notch in piece.notches)
    for kind, words in _NAMES.items():
        if kind in drawn:
            said = f"{words}; letter: mark of a band" if kind == "notch" and lettered else words
            yield _notch if kind == "notch" else _line(*LINE_STYLES[kind]), said
    yield from _marks(full)
    arrows = {
        (p.piece.grain.either_way, p.piece.grain.nap) for p in full.labels if p.arrow is not None
    }
    for either_way, nap in sorted(arrows):
        yield _grain(Grain((1.0, 0.0), either_way, nap)), _GRAINS[either_way, nap]
    yield _disc, "number of the piece, as in the layout"
    if len(full.tiling.tiles) > 1:
        yield _line(0.2 / THICKER, DARK, JOIN_DASHES), "trim on the right and at the foot"
        yield _cross, "join mark: crosses of neighbours meet"
    if full.empty:
        yield _grey, "no page here: nothing is on it"


def _marks(full: FullSize) -> Iterator[tuple[Draw, str]]:
    """Kinds of marks inside the pieces; a text explains itself."""
    pieces = (each for piece in full.scene.pieces for each in piece.in_all_sizes)
    kinds = dict.fromkeys(mark.kind for piece in pieces for mark in piece.inner_marks)
    for kind in kinds:
        if kind is not MarkKind.TEXT:
            yield _mark(kind), f"{kind.value}: to mark, not to cut"


def _line(width: float, colour: str, dashes: Sequence[float] | None) -> Draw:
    def draw(pen: Pen, y: float) -> None:
        spaced = [dash * THICKER for dash in dashes] if dashes else None
        pen.lines([np.array([[0.0, y], [_SIGN, y]])], width * THICKER, colour, spaced)

    return draw


def _notch(pen: Pen, y: float) -> None:
    width, colour, _ = LINE_STYLES["cut"]
    runs = [np.array([[0.0, y], [_SIGN, y]]), np.array([[_SIGN / 2, y], [_SIGN / 2, y + 2.2]])]
    pen.lines(runs, width * THICKER, colour)


def _mark(kind: MarkKind) -> Draw:
    def draw(pen: Pen, y: float) -> None:
        line = np.array([[0.0, y], [_SIGN, y]])
        if kind.is_point:
            line = np.array([[_SIGN / 2, y]])
        everywhere = shapely.box(-1.0, y - 5.0, _SIGN + 1.0, y + 5.0)
        draw_inner_mark(pen, kind, line, everywhere, THICKER)

    return draw


def _grain(grain: Grain) -> Draw:
    return lambda pen, y: draw_grain(pen, Shaft((0.0, y), (_SIGN, y)), grain)


def _disc(pen: Pen, y: float) -> None:
    pen.badge(_SIGN / 2, y, 1, 3.4, 7.0)


def _cross(pen: Pen, y: float) -> None:
    pen.lines(cross(np.array([_SIGN / 2, y]), 1.8), 0.3, ACCENT)


def _grey(pen: Pen, y: float) -> None:
    pen.fill(shapely.box(_SIGN / 2 - 3.0, y - 1.5, _SIGN / 2 + 3.0, y + 1.5), PALE, GREY, 0.15)
