"""The cutting sheet on paper: what its blocks show. Paper mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from marker.canvas.fonts import text_width
from marker.canvas.lettering import fit_size, shorten, wrapped
from marker.canvas.page import Page
from marker.canvas.pen import BLACK, DARK, Pen
from marker.drawing.in_little import draw_thumbnail
from marker.drawing.sheet.blocks import (
    BOX,
    MARGIN,
    SMALL,
    TEXT,
    WIDTH,
    Block,
    Frame,
    draw_box,
    draw_rule,
    facts_block,
    heading,
    pages_of,
    paragraph,
    picture_block,
    spread_block,
    step,
)
from marker.drawing.sheet.cutting_sheet import CAUTIONS, BandTable, CuttingSheet

_ROW = 12.0
_BOXES = 8  # in a line
_COLUMNS = (0.0, 18.0, 46.0, 82.0, 107.0)  # of the piece list: number, drawing, name, count, boxes
_TRANSFER = 146.0


def draw_sheet(sheet: CuttingSheet) -> list[Page]:
    """All pages."""
    scene = sheet.scene
    what = f"cutting sheet · {scene.cloth_name}, size {sheet.sizes}"
    return pages_of(list(_blocks(sheet)), Frame(scene.job_name, what, CAUTIONS))


def _blocks(sheet: CuttingSheet) -> Iterator[Block]:
    yield facts_block(sheet.scene.facts)
    yield paragraph(f"To buy: {sheet.buying}")
    yield spread_block(sheet.sketch)
    yield picture_block(sheet.picture)
    yield heading("Order of cutting")
    yield from map(step, range(1, len(sheet.steps) + 1), sheet.steps)
    yield heading(f"Pieces to tick: {sheet.tally}")
    yield Block(5.0, _draw_columns, leads=True)
    for row in range(len(sheet.rows)):
        yield _piece_row(sheet, row)
    if sheet.bands:
        yield heading("Bands: marks and sections, from the cut end of each")
    for band in sheet.bands:
        yield from _band(band)


def _draw_columns(pen: Pen, top: float) -> None:
    titles = ("number", "drawing", "piece", "to cut", "tick")
    for x, title in zip((*_COLUMNS, _TRANSFER), (*titles, "mark before lifting"), strict=True):
        pen.text(MARGIN + x, top - 2.6, title, SMALL, colour=DARK)
    draw_rule(pen, top - 4.4, 0.3)


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
        pen.text(x[2], base - 2.0, f"size {row.piece.drawing.size}", SMALL, colour=DARK)
        pen.text(x[3], base, shorten(row.count, 23.0, TEXT), TEXT)
        for k in range(row.boxes):
            across, down = k % _BOXES, k // _BOXES
            draw_box(pen, x[4] + across * (BOX + 1.2), base + 1.0 - down * (BOX + 1.2))
        for k, line in enumerate(wrapped(row.transfer, WIDTH - _TRANSFER, SMALL)[:3]):
            pen.text(MARGIN + _TRANSFER, base + 2.6 - k * 3.0, line, SMALL)
        draw_rule(pen, top - _ROW)

    return Block(_ROW, draw)


def _draw_numbers(pen: Pen, numbers: str, x: float, base: float) -> None:
    """In one line, or smaller in up to three."""
    room = _COLUMNS[1] - 1.0
    if text_width(numbers, 8.5, bold=True) <= room:
        pen.text(x, base, numbers, 8.5, bold=True)
        return
    *lines, last = wrapped(numbers, room, SMALL, bold=True)[:3]
    for k, line in enumerate([*lines, shorten(last, room, SMALL, bold=True)]):
        pen.text(x, base + 2.6 - k * 3.0, line, SMALL, bold=True)


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
        name = shorten(band.name, 50.0, TEXT, bold=True)
        pen.text(MARGIN, top - 4.4, name, TEXT, bold=True)
        x = text_width(name, TEXT, bold=True) + 2.5
        size = fit_size(band.cut, WIDTH - x, 7.5)
        pen.text(MARGIN + x, top - 4.4, shorten(band.cut, WIDTH - x, size), size)

    return Block(6.2, draw, leads=bool(band.marks))


def _table_row(mark: Sequence[str], section: Sequence[str], colour: str) -> Block:
    xs, rooms = (4.0, 19.0, 60.0, 114.0, 142.0, 158.0), (14.0, 40.0, 53.0, 27.0, 15.0, 28.0)

    def draw(pen: Pen, top: float) -> None:
        for x, room, words in zip(xs, rooms, (*mark, *section), strict=True):
            pen.text(MARGIN + x, top - 2.6, shorten(words, room, SMALL), SMALL, colour=colour)

    return Block(3.4, draw)
