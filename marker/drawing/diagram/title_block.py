"""The title block: along the foot of a page, or beside the cloth. Paper mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from marker.canvas.lettering import fit_size, shorten, wrapped
from marker.canvas.pen import ACCENT, BLACK, DARK, GREY, PALE, PAPER_WHITE, Pen
from marker.drawing.diagram.key import draw_key
from marker.drawing.diagram.position_list import draw_list
from marker.drawing.diagram.sheets import (
    HEAD,
    HIGHEST_ROW,
    MARGIN,
    PAPER,
    ROW,
    TITLE_HEIGHT,
    ListColumn,
    Sheet,
)
from marker.drawing.in_little import draw_sketch
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.spread_sketch import profile
from marker.drawing.scene.title_facts import Fact
from marker.drawing.signs import check_bar, draw_bar
from marker.units import cut_length
from marker.words import BLADES

SMALL = 5.5
_FOOT_ROW = 4.6
_SKETCH = 15.0
_FACT_ROW = 10.4
_COLUMNS = (MARGIN, 62.0, 175.0, 241.0, PAPER[0] - MARGIN)
_TOP = MARGIN + TITLE_HEIGHT - 1.5
_BASE = MARGIN + _FOOT_ROW
_HEIGHT_OF_NAMES = 21.0
_HEIGHT_OF_KEY, _BELOW_LIST = 20.0, 43.5
_WIDE = 100.0  # room for three figures side by side
NO_ARROW = "A small piece without an arrow has its grain along the cloth."


@dataclass(frozen=True)
class PageNumber:
    """This page of so many."""

    number: int
    count: int

    def __str__(self) -> str:
        return f"page {self.number} of {self.count}"


def draw_title_block(pen: Pen, scene: Scene, sheet: Sheet | None, page: PageNumber) -> None:
    """Along the foot of a page: job and cloth, figures, key to the lines, scale and page.

    sheet : None on a page that holds the list only.
    """
    left, right = MARGIN, PAPER[0] - MARGIN
    pen.lines([np.array([[left, _TOP], [right, _TOP]])], 0.6, BLACK)
    pen.lines([np.array([[left, _BASE], [right, _BASE]])], 0.18, BLACK)
    pen.lines([np.array([[x, _BASE + 1.2], [x, _TOP - 1.6]]) for x in _COLUMNS[1:-1]], 0.18, GREY)
    _draw_names(pen, scene, MARGIN, _TOP, _COLUMNS[1] - MARGIN - 3.0)
    room = _COLUMNS[2] - _COLUMNS[1] - 2.0
    _draw_facts(pen, scene.facts, (_COLUMNS[1] + 2.5, _TOP), room, 4)
    draw_key(pen, _COLUMNS[2] + 2.5, _TOP - 3.6, scene)
    x, right = _COLUMNS[3] + 2.5, _COLUMNS[4]
    pen.text(right, _TOP - 4.4, str(page), 7.0, bold=True, align="right")
    if sheet is not None:
        _draw_scale(pen, x, _TOP - 4.4, _BASE + 2.4, sheet.scale)
        if sheet.count > 1:
            _draw_overview(pen.moved(x, _BASE + 8.0), scene, sheet, (right - x, 7.4))
    pen.text(left, MARGIN + 1.4, BLADES, SMALL, colour=DARK)
    pen.text(right, MARGIN + 1.4, NO_ARROW, SMALL, colour=DARK, align="right")


def draw_title_column(
    pen: Pen, scene: Scene, sheet: Sheet, frame: ListColumn, page: PageNumber
) -> None:
    """Beside the cloth, from the top: job and cloth, figures, the list, key and scale."""
    left, right, top = frame.left, frame.left + frame.width, PAPER[1] - MARGIN
    pen.text(right, top - 2.6, str(page), 7.0, bold=True, align="right")
    _draw_names(pen, scene, left, top, frame.width - 18.0)
    y = top - _HEIGHT_OF_NAMES
    pen.lines([np.array([[left, y], [right, y]])], 0.6, BLACK)
    across = 3 if frame.width > _WIDE else 2
    _draw_facts(pen, scene.facts, (left, y - 0.8), frame.width, across)
    y -= _FACT_ROW * math.ceil(len(scene.facts) / across) + 2.0
    room = y - HEAD - MARGIN - _BELOW_LIST
    row = min(HIGHEST_ROW, room / max(1, frame.rows))
    draw_list(pen, replace(frame, top=y, row=max(ROW, row)))
    lines = [line for words in (NO_ARROW, BLADES) for line in wrapped(words, frame.width, SMALL)]
    for k, line in enumerate(lines):
        pen.text(left, MARGIN + 2.5 * (len(lines) - 1 - k), line, SMALL, colour=DARK)
    y = MARGIN + 2.5 * len(lines) + 1.0
    _draw_scale(pen, left, y + 6.0, y, sheet.scale)
    draw_key(pen, left, y + 10.5 + _HEIGHT_OF_KEY - 3.6, scene)


def _draw_names(pen: Pen, scene: Scene, left: float, top: float, room: float) -> None:
    size = fit_size(scene.job_name, room, 15.0, bold=True)
    job = shorten(scene.job_name, room, size, bold=True)
    pen.text(left, top - 7.4, job, size, bold=True)
    cloth = shorten(f"cut from {scene.cloth_name}", room, 8.0)
    pen.text(left, top - 12.0, cloth, 8.0)
    words = scene.subtitle or "cutting diagram and list of pieces"
    if scene.spread.plies == 1:
        pen.text(left, top - 18.6, shorten(words, room, 6.0), 6.0, colour=DARK)
        return
    view = "side" if scene.spread.ends_meet else "end"
    pen.text(left, top - 15.4, shorten(words, room, 6.0), 6.0, colour=DARK)
    pen.text(left, top - 18.6, f"{scene.spread}, {view} view:", 6.0, colour=DARK)
    lines, _ = profile(scene.spread)
    draw_sketch(pen.moved(left + room - _SKETCH + 1.5, top - 18.9), lines, _SKETCH)


def _draw_facts(
    pen: Pen, facts: Sequence[Fact], corner: tuple[float, float], room: float, across: int
) -> None:
    """So many side by side, from an upper left corner; the last one has the rest of its row."""
    pitch = room / across
    for k, fact in enumerate(facts):
        row, column = divmod(k, across)
        x, top = corner[0] + column * pitch, corner[1] - 3.2 - row * _FACT_ROW
        own = pitch * (across - column if fact is facts[-1] else 1) - 1.5
        pen.text(x, top, shorten(fact.label, own, SMALL), SMALL, colour=DARK)
        size = fit_size(fact.value, own, 11.0 if k == 0 else 9.5, bold=True)
        value = shorten(fact.value, own, size, bold=True)
        pen.text(x, top - 3.8, value, size, bold=True, colour=BLACK if k else ACCENT)
        pen.text(x, top - 6.1, shorten(fact.detail, own, SMALL), SMALL, colour=DARK)


def _draw_scale(pen: Pen, x: float, y: float, bar_y: float, scale: int) -> None:
    """The scale, and a bar of a round length on paper, in four parts, to check the print by."""
    pen.text(x, y, f"1 : {scale}", 9.5, bold=True)
    bar = check_bar(small=True)
    draw_bar(pen.moved(x, bar_y), bar)
    words = f"{bar} on paper = {cut_length(bar.mm * scale)} of cloth"
    pen.text(x, bar_y + 2.2, words, SMALL, colour=DARK)


def _draw_overview(pen: Pen, scene: Scene, sheet: Sheet, room: tuple[float, float]) -> None:
    """The whole cloth in little, from (0, 0) on, this sheet's window framed."""
    long, wide = scene.length_mm, scene.width_mm
    share = min(room[0] / long, room[1] / wide)
    pen.fill(shapely.box(0.0, 0.0, long * share, wide * share), PALE)
    for piece in scene.pieces:
        pen.fill(shapely.Polygon(piece.outline * share), PAPER_WHITE, DARK, 0.08)
    low, high = max(0.0, sheet.start_mm), min(long, sheet.end_mm)
    corners = np.array([[low, 0.0], [high, 0.0], [high, wide], [low, wide], [low, 0.0]])
    pen.lines([corners * share], 0.5, ACCENT)
