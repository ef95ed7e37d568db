"""Sheets of paper filled with blocks, one under another: A4 upright (ISO 216). Paper mm."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from marker.canvas.fonts import text_width
from marker.canvas.lettering import fit_size, shorten, wrapped
from marker.canvas.page import Page
from marker.canvas.pen import ACCENT, BLACK, DARK, GREY, Pen
from marker.drawing.in_little import (
    SmallLayout,
    draw_sketch,
    draw_small_layout,
    layout_words,
)
from marker.drawing.scene.spread_sketch import SpreadSketch
from marker.drawing.scene.title_facts import Fact
from marker.drawing.signs import BREAK_DASHES, check_bar, draw_bar

PAPER = (210.0, 297.0)
MARGIN = 12.0
WIDTH = PAPER[0] - 2 * MARGIN
HEAD, FOOT = 13.0, 18.0
ROOM = PAPER[1] - 2 * MARGIN - HEAD - FOOT
TEXT, SMALL, STEP = 8.0, 6.5, 3.8
BOX = 3.2  # side of a box to tick
_FACT_ROW = 11.5
_SKETCH_WIDTH = 40.0
_INDENT = 5.5
_SWATCH = (32.0, 23.0)


@dataclass(frozen=True)
class Block:
    """What is never broken over pages.

    draw : given a pen and its upper edge. leads : never the last on a page.
    """

    height: float
    draw: Callable[[Pen, float], None]
    leads: bool = False


@dataclass(frozen=True)
class Column:
    """A stretch of the page's width."""

    left: float = MARGIN
    width: float = WIDTH


@dataclass(frozen=True)
class Frame:
    """What stands on every page. title : on the left of its head, what : on the right, pattern :
    below that. cautions : at its foot, above the bar to check the print by."""

    title: str
    what: str
    cautions: Sequence[str]
    pattern: str = ""


def paged(blocks: Sequence[Block], apart: Sequence[Block]) -> list[list[Block]]:
    """The blocks in order, as many on each page as have room. Nothing is drawn.

    apart : blocks after them that begin a page of their own, unless all have room where they end.
    """
    pages = _filled(blocks)
    if apart and _high([*pages[-1], *apart]) > ROOM:
        pages += _filled(apart)
    else:
        pages[-1] += apart
    return pages


def draw_pages(pages: Sequence[Sequence[Block]], frame: Frame) -> list[Page]:
    """The blocks of each page, one under another, within its frame."""
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


def _high(blocks: Sequence[Block]) -> float:
    return sum(block.height for block in blocks)


def _filled(blocks: Sequence[Block]) -> list[list[Block]]:
    pages: list[list[Block]] = [[]]
    left = ROOM
    for k, block in enumerate(blocks):
        need = block.height
        for before, after in pairwise(blocks[k:]):
            if not before.leads:
                break
            need += after.height
        if pages[-1] and need > left:
            pages.append([])
            left = ROOM
        pages[-1].append(block)
        left -= block.height
    return pages


def beside(first: Sequence[Block], second: Sequence[Block]) -> Block:
    """Two columns of blocks as one."""

    def draw(pen: Pen, top: float) -> None:
        for blocks in (first, second):
            y = top
            for block in blocks:
                block.draw(pen, y)
                y -= block.height

    return Block(max(_high(first), _high(second)), draw)


def heading(words: str, note: str = "") -> Block:
    """A heading, with whatever follows it. note : what is to be said beside it."""

    def draw(pen: Pen, top: float) -> None:
        pen.text(MARGIN, top - 5.2, words, 10.0, bold=True)
        x = MARGIN + text_width(words, 10.0, bold=True) + 3.0
        pen.text(x, top - 5.2, shorten(note, MARGIN + WIDTH - x, 7.0), 7.0)

    return Block(6.9, draw, leads=True)


def paragraph(text: str, column: Column = Column(), tick: bool = False) -> Block:
    """Text over the width of a column. tick : a box to tick stands before it."""
    return entry("", text, column, tick=tick)


def entry(
    name: str,
    text: str,
    column: Column = Column(),
    *,
    tick: bool = False,
    hang: float = 0.0,
    above: float = 0.0,
) -> Block:
    """A name in bold, and what is said of it.

    hang : from where on that stands, at least. above : left free.
    """
    indent = _INDENT * tick
    at = indent + max(hang, text_width(name, TEXT, bold=True) + 2.0 if name else 0.0)
    lines = wrapped(text, column.width - at, TEXT)

    def draw(pen: Pen, top: float) -> None:
        base = top - above - 3.0
        if tick:
            draw_box(pen, column.left, base - 0.4)
        pen.text(column.left + indent, base, name, TEXT, bold=True)
        for k, line in enumerate(lines):
            pen.text(column.left + at, base - k * STEP, line, TEXT)

    return Block(max(1, len(lines)) * STEP + 0.5 + above, draw)


def step(number: int, words: str, column: Column = Column()) -> Block:
    """A numbered step of work, to tick."""
    return paragraph(f"{number}. {words}", column, tick=True)


def facts_block(facts: Sequence[Fact], *, swatch: bool = False) -> Block:
    """Figures with their names, four in a row. swatch : beside a place for the cloth itself."""
    rows, room = -(-len(facts) // 4), WIDTH - _SWATCH[0] * swatch

    def draw(pen: Pen, top: float) -> None:
        _draw_facts(pen, facts, top, room / 4)
        if swatch:
            _draw_swatch(pen, top + 2.0)

    return Block(max(1.0 + _FACT_ROW * rows, (_SWATCH[1] - 1.0) * swatch), draw)


def _draw_swatch(pen: Pen, top: float) -> None:
    right, (width, height) = MARGIN + WIDTH, _SWATCH
    box = shapely.box(right - width, top - height, right, top)
    pen.lines([shapely.get_coordinates(box)], 0.2, DARK, BREAK_DASHES, name="swatch")
    for k, words in enumerate(("staple a swatch here,", "right side up")):
        y = top - height / 2 + 1.0 - 3.0 * k
        pen.text(right - width / 2, y, words, SMALL, align="center", colour=DARK)


def spread_block(sketch: SpreadSketch, column: Column = Column()) -> Block:
    """How the cloth lies, seen from one side."""

    def draw(pen: Pen, top: float) -> None:
        x, y = column.left + 8.0, top - 8.0
        draw_sketch(pen.moved(x, y), sketch.lines, _SKETCH_WIDTH)
        for at, name in sketch.names:
            pen.text(x + at * _SKETCH_WIDTH, y - 3.2, name, SMALL, align="center", colour=DARK)
        right = x + _SKETCH_WIDTH + 10.0
        words = f"Spread {sketch.words}; as seen from {sketch.seen}."
        for k, line in enumerate(wrapped(words, column.left + column.width - right, SMALL)):
            pen.text(right, top - 3.4 - 2.9 * k, line, SMALL, colour=DARK)

    return Block(16.0, draw)


def picture_block(layout: SmallLayout, column: Column = Column()) -> Block:
    """The layout in the middle of a column, with its words below."""
    words = wrapped(layout_words(layout), column.width, SMALL)
    (left, low), (right, high) = layout.extent

    def draw(pen: Pen, top: float) -> None:
        foot, middle = top - 1.0 - high, column.left + column.width / 2
        draw_small_layout(pen.moved(middle - (left + right) / 2, foot), layout)
        for k, line in enumerate(words):
            y = foot + low - 3.6 - 2.9 * k
            pen.text(middle, y, line, SMALL, align="center", colour=DARK)

    return Block(high - low + 2.9 * len(words) + 3.0, draw)


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
    what_size = fit_size(frame.what, WIDTH * 0.38, TEXT)
    what = shorten(frame.what, WIDTH * 0.38, what_size)
    pen.text(right, top - 2.4, what, what_size, align="right")
    said = " · ".join(filter(None, [shorten(frame.pattern, WIDTH * 0.28, 7.0), page]))
    pen.text(right, top - 7.0, said, 7.0, bold=True, align="right")
    pen.lines([np.array([[MARGIN, top - 10.0], [right, top - 10.0]])], 0.6, BLACK)


def _draw_foot(pen: Pen, cautions: Sequence[str]) -> None:
    """The cautions and the bar to check, on every page."""
    top = MARGIN + FOOT - 3.2
    pen.lines([np.array([[MARGIN, top], [PAPER[0] - MARGIN, top]])], 0.18, BLACK)
    for k, words in enumerate(cautions):
        size = fit_size(words, WIDTH, SMALL)
        pen.text(MARGIN, top - 3.4 - 3.0 * k, shorten(words, WIDTH, size), size, colour=DARK)
    y = MARGIN + 0.5
    bar = check_bar()
    draw_bar(pen.moved(MARGIN, y), bar)
    pen.text(MARGIN + bar.mm + 3.0, y, f"{bar}, printed at 100 %", SMALL, colour=DARK)


def _draw_facts(pen: Pen, facts: Sequence[Fact], top: float, pitch: float) -> None:
    for k, fact in enumerate(facts):
        row, column = divmod(k, 4)
        x, y = MARGIN + column * pitch, top - 1.0 - row * _FACT_ROW
        room = pitch - 3.0
        pen.text(x, y, shorten(fact.label, room, SMALL), SMALL, colour=DARK)
        size = fit_size(fact.value, room, 11.0, bold=True)
        colour = ACCENT if k == 0 else BLACK
        pen.text(x, y - 4.4, shorten(fact.value, room, size, bold=True), size, bold=True,
                 colour=colour)  # fmt: skip
        small = fit_size(fact.detail, room, 6.0)
        pen.text(x, y - 7.2, shorten(fact.detail, room, small), small, colour=DARK)
