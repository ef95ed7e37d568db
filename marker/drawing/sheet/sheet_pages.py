"""The cutting sheet on A4 pages (ISO 216, upright): blocks one under another. Paper mm."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from marker.canvas.fonts import text_width
from marker.canvas.lettering import fit_size, shorten, wrapped
from marker.canvas.page import Page
from marker.canvas.pen import ACCENT, BLACK, DARK, GREY, Pen
from marker.drawing.in_little import (
    AROUND,
    SmallLayout,
    draw_sketch,
    draw_small_layout,
    draw_thumbnail,
    layout_words,
)
from marker.drawing.scene.spread_sketch import SpreadSketch
from marker.drawing.scene.title_facts import Fact
from marker.drawing.sheet.cutting_sheet import CAUTIONS, BandTable, CuttingSheet
from marker.drawing.signs import BAR_MM, draw_bar
from marker.geometry.arrays import FloatArray

_SKETCH_WIDTH = 46.0


def draw_spread(pen: Pen, sketch: SpreadSketch, left: float, top: float, width: float) -> None:
    """The sketch with its names below, and the words beside it."""
    corner = np.array([left + 8.0, top - 7.5])
    draw_sketch(pen.moved(*corner), sketch.lines, _SKETCH_WIDTH)
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


PAPER = (210.0, 297.0)
MARGIN = 12.0
WIDTH = PAPER[0] - 2 * MARGIN
_HEAD, _FOOT = 15.0, 26.0
_TEXT, _SMALL, _STEP = 8.0, 6.5, 3.9
_ROW = 12.0
_BOX, _BOXES = 3.2, 8  # side, and how many in a line
_COLUMNS = (0.0, 18.0, 46.0, 82.0, 107.0)  # of the piece list: number, drawing, name, count, boxes
_TRANSFER = 146.0


@dataclass(frozen=True)
class Block:
    """What is never broken over pages.

    draw : given a pen and its upper edge. leads : never the last on a page.
    """

    height: float
    draw: Callable[[Pen, float], None]
    leads: bool = False


def draw_sheet(sheet: CuttingSheet) -> list[Page]:
    """All pages."""
    pages = _filled(list(_blocks(sheet)), PAPER[1] - 2 * MARGIN - _HEAD - _FOOT)
    drawn = []
    for number, blocks in enumerate(pages, start=1):
        pen = Pen(PAPER)
        _draw_head(pen, sheet, f"page {number} of {len(pages)}")
        _draw_foot(pen)
        y = PAPER[1] - MARGIN - _HEAD
        for block in blocks:
            block.draw(pen, y)
            y -= block.height
        drawn.append(pen.page)
    return drawn


def _filled(blocks: Sequence[Block], room: float) -> list[list[Block]]:
    """Pages of blocks in order, as many on each as have room."""
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


def _blocks(sheet: CuttingSheet) -> Iterator[Block]:
    yield Block(24.0, lambda pen, top: _draw_facts(pen, sheet.scene.facts, top))
    yield _paragraph(f"To buy: {sheet.buying}", indent=0.0)
    yield Block(16.0, lambda pen, top: draw_spread(pen, sheet.sketch, MARGIN, top, WIDTH))
    layout = sheet.picture
    high = layout.size[1] + 2 * AROUND + 3.0
    yield Block(high, lambda pen, top: _draw_layout(pen, layout, top))
    yield _heading("Order of cutting")
    yield from map(_step, range(1, len(sheet.steps) + 1), sheet.steps)
    yield _heading(f"Pieces to tick: {sheet.tally}")
    yield Block(5.0, _draw_columns, leads=True)
    for row in range(len(sheet.rows)):
        yield _piece_row(sheet, row)
    if sheet.bands:
        yield _heading("Bands: marks and sections, from the cut end of each")
    for band in sheet.bands:
        yield from _band(band)


def _draw_layout(pen: Pen, layout: SmallLayout, top: float) -> None:
    """In the middle of the page, with its words below."""
    foot = top - AROUND - layout.size[1]
    draw_small_layout(pen.moved(MARGIN + (WIDTH - layout.size[0]) / 2, foot), layout)
    words, middle = layout_words(layout), MARGIN + WIDTH / 2
    pen.text(middle, foot - AROUND - 1.0, words, _SMALL, align="center", colour=DARK)


def _heading(words: str) -> Block:
    def draw(pen: Pen, top: float) -> None:
        pen.text(MARGIN, top - 6.0, words, 10.0, bold=True)

    return Block(9.0, draw, leads=True)


def _paragraph(text: str, indent: float, size: float = _TEXT, tick: bool = False) -> Block:
    lines = wrapped(text, WIDTH - indent, size)

    def draw(pen: Pen, top: float) -> None:
        if tick:
            _draw_box(pen, MARGIN, top - 3.4)
        for k, line in enumerate(lines):
            pen.text(MARGIN + indent, top - 3.0 - k * _STEP, line, size)

    return Block(len(lines) * _STEP + 1.2, draw)


def _step(number: int, words: str) -> Block:
    return _paragraph(f"{number}. {words}", indent=6.0, tick=True)


def _draw_box(pen: Pen, x: float, y: float) -> None:
    box = shapely.get_coordinates(shapely.box(x, y, x + _BOX, y + _BOX))
    pen.lines([box], 0.2, BLACK)


def _draw_head(pen: Pen, sheet: CuttingSheet, page: str) -> None:
    scene, top = sheet.scene, PAPER[1] - MARGIN
    size = fit_size(scene.job_name, WIDTH * 0.6, 17.0, bold=True)
    pen.text(MARGIN, top - 6.5, shorten(scene.job_name, WIDTH * 0.6, size, bold=True), size,
             bold=True)  # fmt: skip
    right = PAPER[0] - MARGIN
    what = shorten(f"cutting sheet · {scene.cloth_name}, size {sheet.sizes}", WIDTH * 0.38, _TEXT)
    pen.text(right, top - 3.0, what, _TEXT, align="right")
    pen.text(right, top - 7.2, page, 7.0, bold=True, align="right")
    pen.lines([np.array([[MARGIN, top - 10.0], [right, top - 10.0]])], 0.6, BLACK)


def _draw_foot(pen: Pen) -> None:
    """The cautions and the bar to check, on every page."""
    top = MARGIN + _FOOT - 4.0
    pen.lines([np.array([[MARGIN, top], [PAPER[0] - MARGIN, top]])], 0.18, BLACK)
    y = top - 3.6
    for words in CAUTIONS:
        pen.text(MARGIN, y, shorten(words, WIDTH, _SMALL), _SMALL, colour=DARK)
        y -= 3.2
    y = MARGIN + 3.0
    draw_bar(pen.moved(MARGIN, y), BAR_MM)
    pen.text(MARGIN + BAR_MM + 3.0, y, "10 cm, printed at 100 %", _SMALL, colour=DARK)


def _draw_facts(pen: Pen, facts: Sequence[Fact], top: float) -> None:
    """Two rows of four."""
    pitch = WIDTH / 4
    for k, fact in enumerate(facts):
        row, column = divmod(k, 4)
        x, y = MARGIN + column * pitch, top - 1.0 - row * 11.5
        room = pitch - 3.0
        pen.text(x, y, shorten(fact.label, room, _SMALL), _SMALL, colour=DARK)
        size = fit_size(fact.value, room, 11.0, bold=True)
        colour = ACCENT if k == 0 else BLACK
        pen.text(x, y - 4.4, shorten(fact.value, room, size, bold=True), size, bold=True,
                 colour=colour)  # fmt: skip
        pen.text(x, y - 7.2, shorten(fact.detail, room, 6.0), 6.0, colour=DARK)


def _rule(y: float, width: float = 0.1) -> tuple[list[FloatArray], float, str]:
    return [np.array([[MARGIN, y], [PAPER[0] - MARGIN, y]])], width, GREY


def _draw_columns(pen: Pen, top: float) -> None:
    titles = ("number", "drawing", "piece", "to cut", "tick")
    for x, title in zip((*_COLUMNS, _TRANSFER), (*titles, "mark before lifting"), strict=True):
        pen.text(MARGIN + x, top - 2.6, title, _SMALL, colour=DARK)
    pen.lines(*_rule(top - 4.4, 0.3))


def _piece_row(sheet: CuttingSheet, number: int) -> Block:
    row = sheet.rows[number]
    x = [MARGIN + column for column in _COLUMNS]

    def draw(pen: Pen, top: float) -> None:
        base = top - _ROW / 2 - 1.0
        _draw_numbers(pen, row.numbers, x[0], base)
        draw_thumbnail(pen.moved(x[1], top - _ROW + 0.8), row.piece.drawing, (24.0, _ROW - 1.6))
        name = row.piece.drawing.name
        size = fit_size(name, _COLUMNS[3] - _COLUMNS[2] - 2.0, 8.5, bold=True)
        pen.text(
            x[2],
            base + 1.6,
            shorten(name, _COLUMNS[3] - _COLUMNS[2] - 2.0, size, bold=True),
            size,
            bold=True,
        )
        pen.text(x[2], base - 2.0, f"size {row.piece.drawing.size}", _SMALL, colour=DARK)
        pen.text(x[3], base, shorten(row.count, 23.0, _TEXT), _TEXT)
        for k in range(row.boxes):
            across, down = k % _BOXES, k // _BOXES
            _draw_box(pen, x[4] + across * (_BOX + 1.2), base + 1.0 - down * (_BOX + 1.2))
        for k, line in enumerate(wrapped(row.transfer, WIDTH - _TRANSFER, _SMALL)[:3]):
            pen.text(MARGIN + _TRANSFER, base + 2.6 - k * 3.0, line, _SMALL)
        pen.lines(*_rule(top - _ROW))

    return Block(_ROW, draw)


def _draw_numbers(pen: Pen, numbers: str, x: float, base: float) -> None:
    """In one line, or smaller in up to three."""
    room = _COLUMNS[1] - 1.0
    if text_width(numbers, 8.5, bold=True) <= room:
        pen.text(x, base, numbers, 8.5, bold=True)
        return
    *lines, last = wrapped(numbers, room, _SMALL, bold=True)[:3]
    for k, line in enumerate([*lines, shorten(last, room, _SMALL, bold=True)]):
        pen.text(x, base + 2.6 - k * 3.0, line, _SMALL, bold=True)


def _band(band: BandTable) -> Iterator[Block]:
    """Name and size, then marks on the left and sections on the right, row by row."""
    yield _band_heading(band)
    if band.marks:
        yield _table_row(("mark at", "name", "meets on the garment"),
                         ("section", "opening", "how"), DARK)  # fmt: skip
    for k in range(max(len(band.marks), len(band.sections))):
        mark = band.marks[k] if k < len(band.marks) else ("", "", "")
        section = band.sections[k] if k < len(band.sections) else ("", "", "")
        yield _table_row(mark, section, BLACK)


def _band_heading(band: BandTable) -> Block:
    def draw(pen: Pen, top: float) -> None:
        name = shorten(band.name, 50.0, _TEXT, bold=True)
        pen.text(MARGIN, top - 4.4, name, _TEXT, bold=True)
        x = text_width(name, _TEXT, bold=True) + 2.5
        size = fit_size(band.cut, WIDTH - x, 7.5)
        pen.text(MARGIN + x, top - 4.4, shorten(band.cut, WIDTH - x, size), size)

    return Block(6.2, draw, leads=bool(band.marks))


def _table_row(mark: Sequence[str], section: Sequence[str], colour: str) -> Block:
    xs, rooms = (4.0, 19.0, 60.0, 114.0, 142.0, 158.0), (14.0, 40.0, 53.0, 27.0, 15.0, 28.0)

    def draw(pen: Pen, top: float) -> None:
        for x, room, words in zip(xs, rooms, (*mark, *section), strict=True):
            pen.text(MARGIN + x, top - 2.6, shorten(words, room, _SMALL), _SMALL, colour=colour)

    return Block(3.4, draw)
