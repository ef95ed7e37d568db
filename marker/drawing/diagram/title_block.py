"""The title block along the foot of every sheet, with the key to lines and signs."""

from __future__ import annotations

import numpy as np
import shapely

from marker.canvas.lettering import fit_size, shorten
from marker.canvas.pen import ACCENT, BLACK, DARK, GREY, PALE, PAPER_WHITE, Pen
from marker.drawing.diagram.fitting import Shaft
from marker.drawing.diagram.sheets import MARGIN, PAPER, TITLE_HEIGHT, Sheet
from marker.drawing.diagram.wording import ACROSS, ALONG
from marker.drawing.in_little import draw_sketch
from marker.drawing.scene.layout_scene import RepeatLines, Scene
from marker.drawing.scene.piece_drawing import Grain
from marker.drawing.scene.spread_sketch import profile
from marker.drawing.scene.title_facts import Fact
from marker.drawing.signs import (
    CORNER_LENGTH,
    CUT,
    FOLD,
    FOLD_DASHES,
    STITCH,
    STITCH_DASHES,
    draw_bar,
    draw_grain,
)
from marker.geometry.arrays import FloatArray
from marker.words import BLADES

SMALL = 5.5
BAR = 40.0  # the printed length to check, mm
_FOOT_ROW = 4.6
_SKETCH = 15.0
_COLUMNS = (MARGIN, 62.0, 179.0, 241.0, PAPER[0] - MARGIN)
_TOP = MARGIN + TITLE_HEIGHT - 1.5
_BASE = MARGIN + _FOOT_ROW
NO_ARROW = "A small piece without an arrow has its grain along the cloth, either way."


def draw_title_block(pen: Pen, scene: Scene, sheet: Sheet | None, page: int, pages: int) -> None:
    """Job and cloth, figures, key to the lines, scale and page; `sheet` None on a list page."""
    left, right = MARGIN, PAPER[0] - MARGIN
    pen.lines([np.array([[left, _TOP], [right, _TOP]])], 0.6, BLACK)
    pen.lines([np.array([[left, _BASE], [right, _BASE]])], 0.18, BLACK)
    pen.lines([np.array([[x, _BASE + 1.2], [x, _TOP - 1.6]]) for x in _COLUMNS[1:-1]], 0.18, GREY)
    _draw_names(pen, scene)
    for k, fact in enumerate(scene.facts):
        column, row = k % 4, k // 4
        pitch = (_COLUMNS[2] - _COLUMNS[1] - 2.0) / 4
        _draw_fact(pen, fact, _COLUMNS[1] + 2.5 + column * pitch, row, pitch - 1.5, k == 0)
    draw_key(pen, _COLUMNS[2] + 2.5, _TOP - 3.6, scene.near_edge)
    _draw_scale(pen, scene, sheet, page, pages)
    pen.text(left, MARGIN + 1.4, BLADES, SMALL, colour=DARK)
    pen.text(right, MARGIN + 1.4, NO_ARROW, SMALL, colour=DARK, align="right")


def _draw_names(pen: Pen, scene: Scene) -> None:
    room = _COLUMNS[1] - MARGIN - 3.0
    size = fit_size(scene.job_name, room, 15.0, bold=True)
    job = shorten(scene.job_name, room, size, bold=True)
    pen.text(MARGIN, _TOP - 7.4, job, size, bold=True)
    cloth = shorten(f"cut from {scene.cloth_name}", room, 8.0)
    pen.text(MARGIN, _TOP - 12.0, cloth, 8.0)
    if scene.repeat != RepeatLines():
        words = "dotted: repeats begin; letters: points that match"
        pen.text(MARGIN, _TOP - 15.3, shorten(words, room, SMALL), SMALL, colour=DARK)
    view = "side" if scene.spread.ends_meet else "end"
    if scene.spread.plies == 1:
        pen.text(MARGIN, _TOP - 18.6, "cutting diagram and list of pieces", 6.0, colour=DARK)
        return
    pen.text(MARGIN, _TOP - 18.6, f"{scene.spread}, {view} view:", 6.0, colour=DARK)
    lines, _ = profile(scene.spread)
    draw_sketch(pen.moved(_COLUMNS[1] - 16.5, _TOP - 18.9), lines, _SKETCH)


def _draw_fact(pen: Pen, fact: Fact, x: float, row: int, room: float, first: bool) -> None:
    top = _TOP - 3.2 - row * 10.4
    pen.text(x, top, shorten(fact.label, room, SMALL), SMALL, colour=DARK)
    size = fit_size(fact.value, room, 11.0 if first else 9.5, bold=True)
    value = shorten(fact.value, room, size, bold=True)
    pen.text(x, top - 3.8, value, size, bold=True, colour=ACCENT if first else BLACK)
    pen.text(x, top - 6.1, shorten(fact.detail, room, SMALL), SMALL, colour=DARK)


def _draw_scale(pen: Pen, scene: Scene, sheet: Sheet | None, page: int, pages: int) -> None:
    x, right = _COLUMNS[3] + 2.5, _COLUMNS[4]
    pen.text(right, _TOP - 4.4, f"page {page} of {pages}", 7.0, bold=True, align="right")
    if sheet is None:
        return
    pen.text(x, _TOP - 4.4, f"1 : {sheet.scale}", 9.5, bold=True)
    _draw_bar(pen, x, _BASE + 2.4, sheet.scale)
    if sheet.count > 1:
        _draw_overview(pen, scene, sheet, x, _BASE + 8.0, right - x, 7.4)


def _draw_bar(pen: Pen, x: float, y: float, scale: int) -> None:
    """A bar of a round length on paper, in four parts, to check the print by."""
    draw_bar(pen.moved(x, y), BAR, parts=4)
    words = f"{BAR:.0f} mm on paper = {BAR * scale / 10:.0f} cm of cloth"
    pen.text(x, y + 2.2, words, SMALL, colour=DARK)


def _draw_overview(
    pen: Pen, scene: Scene, sheet: Sheet, x: float, y: float, width: float, height: float
) -> None:
    """The whole cloth in little, this sheet's window framed."""
    long, wide = scene.length_mm, scene.width_mm
    share = min(width / long, height / wide)

    def small(points: FloatArray) -> FloatArray:
        return points * share + np.array([x, y], dtype=np.float64)

    pen.fill(shapely.box(x, y, x + long * share, y + wide * share), PALE)
    for piece in scene.pieces:
        pen.fill(shapely.Polygon(small(piece.outline)), PAPER_WHITE, DARK, 0.08)
    low, high = max(0.0, sheet.start_mm), min(long, sheet.end_mm)
    frame = small(np.array([[low, 0.0], [high, 0.0], [high, wide], [low, wide], [low, 0.0]]))
    pen.lines([frame], 0.5, ACCENT)


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
