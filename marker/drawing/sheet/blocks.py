"""Sheets of paper filled with blocks, one under another: A4 upright (ISO 216). Paper mm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from marker.canvas.lettering import fit_size, shorten, wrapped
from marker.canvas.page import Page
from marker.canvas.pen import ACCENT, BLACK, DARK, GREY, Pen
from marker.drawing.in_little import (
    AROUND,
    SmallLayout,
    draw_sketch,
    draw_small_layout,
    layout_words,
)
from marker.drawing.scene.spread_sketch import SpreadSketch
from marker.drawing.scene.title_facts import Fact
from marker.drawing.signs import BAR_MM, draw_bar

PAPER = (210.0, 297.0)
MARGIN = 12.0
WIDTH = PAPER[0] - 2 * MARGIN
HEAD, FOOT = 15.0, 26.0
TEXT, SMALL, STEP = 8.0, 6.5, 3.9
BOX = 3.2  # side of a box to tick
_FACT_ROW = 11.5
_SKETCH_WIDTH = 46.0


@dataclass(frozen=True)
class Block:
    """What is never broken over pages.

    draw : given a pen and its upper edge. leads : never the last on a page.
    """

    height: float
    draw: Callable[[Pen, float], None]
    leads: bool = False


@dataclass(frozen=True)
class Frame:
    """What stands on every page. title : on the left of its head, what : on the right. cautions :
    at its foot, above the bar to check the print by."""

    title: str
    what: str
    cautions: Sequence[str]


def pages_of(blocks: Sequence[Block], frame: Frame) -> list[Page]:
    """The blocks in order, as many on each page as have room."""
    pages = _filled(blocks, PAPER[1] - 2 * MARGIN - HEAD - FOOT)
    drawn = []
    for number, of_page in enumerate(pages, start=1):
        pen = Pen(PAPER)
        _draw_head(pen, frame, f"page {number} of {len(pages)}")
        _draw_foot(pen, frame.cautions)
        y = PAPER[1] - MARGIN - HEAD
        for block in of_page:
            block.draw(pen, y)
            y -= block.height
        drawn.append(pen.page)
    return drawn


def _filled(blocks: Sequence[Block], room: float) -> list[list[Block]]:
    pages: list[list[Block]] = [[]]
    left = room
    for k, block in enumerate(blocks):
        need = block.height
        for before, after in pairwise(blocks[k:]):
            if not before.leads:
                break
            need += after.height
        if pages[-1] and need > left:
            pages.append([])
            left = room
        pages[-1].append(block)
        left -= block.height
    return pages


def heading(words: str) -> Block:
    """A heading, with whatever follows it."""

    def draw(pen: Pen, top: float) -> None:
        pen.text(MARGIN, top - 6.0, words, 10.0, bold=True)

    return Block(9.0, draw, leads=True)


def paragraph(text: str, indent: float = 0.0, size: float = TEXT, tick: bool = False) -> Block:
    """Text over the width of the page. tick : a box to tick stands before it."""
    lines = wrapped(text, WIDTH - indent, size)

    def draw(pen: Pen, top: float) -> None:
        if tick:
            draw_box(pen, MARGIN, top - 3.4)
        for k, line in enumerate(lines):
            pen.text(MARGIN + indent, top - 3.0 - k * STEP, line, size)

    return Block(len(lines) * STEP + 1.2, draw)


def step(number: int, words: str) -> Block:
    """A numbered step of work, to tick."""
    return paragraph(f"{number}. {words}", indent=6.0, tick=True)


def facts_block(facts: Sequence[Fact]) -> Block:
    """Figures with their names, four in a row."""
    rows = -(-len(facts) // 4)
    return Block(1.0 + _FACT_ROW * rows, lambda pen, top: _draw_facts(pen, facts, top))


def spread_block(sketch: SpreadSketch) -> Block:
    """How the cloth lies."""
    return Block(16.0, lambda pen, top: _draw_spread(pen, sketch, MARGIN, top, WIDTH))


def picture_block(layout: SmallLayout) -> Block:
    """The layout in the middle of the page, with its words below."""

    def draw(pen: Pen, top: float) -> None:
        foot = top - AROUND - layout.size[1]
        draw_small_layout(pen.moved(MARGIN + (WIDTH - layout.size[0]) / 2, foot), layout)
        words, middle = layout_words(layout), MARGIN + WIDTH / 2
        pen.text(middle, foot - AROUND - 1.0, words, SMALL, align="center", colour=DARK)

    return Block(layout.size[1] + 2 * AROUND + 3.0, draw)


def _draw_spread(pen: Pen, sketch: SpreadSketch, left: float, top: float, width: float) -> None:
    """The sketch with its names below, and the words beside it."""
    corner = np.array([left + 8.0, top - 7.5])
    draw_sketch(pen.moved(*corner), sketch.lines, _SKETCH_WIDTH)
    for at, name in sketch.names:
        x = corner[0] + at * _SKETCH_WIDTH
        pen.text(x, corner[1] - 3.4, name, SMALL, align="center", colour=DARK)
    x = corner[0] + _SKETCH_WIDTH + 14.0
    words = f"Spread the cloth {sketch.words}."
    lines = wrapped(words, left + width - x, 8.0)
    for k, line in enumerate(lines):
        pen.text(x, top - 3.4 - 3.7 * k, line, 8.0)
    y = top - 3.6 - 3.7 * len(lines)
    pen.text(x, y, f"On the left as seen from {sketch.seen}.", SMALL, colour=DARK)


def draw_box(pen: Pen, x: float, y: float) -> None:
    """A box to tick, its lower left corner at (x, y)."""
    box = shapely.get_coordinates(shapely.box(x, y, x + BOX, y + BOX))
    pen.lines([box], 0.2, BLACK)


def draw_rule(pen: Pen, y: float, width: float = 0.1) -> None:
    """A grey line over the width of the page."""
    pen.lines([np.array([[MARGIN, y], [PAPER[0] - MARGIN, y]])], width, GREY)


def _draw_head(pen: Pen, frame: Frame, page: str) -> None:
    top = PAPER[1] - MARGIN
    size = fit_size(frame.title, WIDTH * 0.6, 17.0, bold=True)
    title = shorten(frame.title, WIDTH * 0.6, size, bold=True)
    pen.text(MARGIN, top - 6.5, title, size, bold=True)
    right = PAPER[0] - MARGIN
    what = shorten(frame.what, WIDTH * 0.38, TEXT)
    pen.text(right, top - 3.0, what, TEXT, align="right")
    pen.text(right, top - 7.2, page, 7.0, bold=True, align="right")
    pen.lines([np.array([[MARGIN, top - 10.0], [right, top - 10.0]])], 0.6, BLACK)


def _draw_foot(pen: Pen, cautions: Sequence[str]) -> None:
    """The cautions and the bar to check, on every page."""
    top = MARGIN + FOOT - 4.0
    pen.lines([np.array([[MARGIN, top], [PAPER[0] - MARGIN, top]])], 0.18, BLACK)
    y = top - 3.6
    for words in cautions:
        pen.text(MARGIN, y, shorten(words, WIDTH, SMALL), SMALL, colour=DARK)
        y -= 3.2
    y = MARGIN + 3.0
    draw_bar(pen.moved(MARGIN, y), BAR_MM)
    pen.text(MARGIN + BAR_MM + 3.0, y, "10 cm, printed at 100 %", SMALL, colour=DARK)


def _draw_facts(pen: Pen, facts: Sequence[Fact], top: float) -> None:
    pitch = WIDTH / 4
    for k, fact in enumerate(facts):
        row, column = divmod(k, 4)
        x, y = MARGIN + column * pitch, top - 1.0 - row * _FACT_ROW
        room = pitch - 3.0
        pen.text(x, y, shorten(fact.label, room, SMALL), SMALL, colour=DARK)
        size = fit_size(fact.value, room, 11.0, bold=True)
        colour = ACCENT if k == 0 else BLACK
        pen.text(x, y - 4.4, shorten(fact.value, room, size, bold=True), size, bold=True,
                 colour=colour)  # fmt: skip
        pen.text(x, y - 7.2, shorten(fact.detail, room, 6.0), 6.0, colour=DARK)
