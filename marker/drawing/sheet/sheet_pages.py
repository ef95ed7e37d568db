"""The cutting sheet on paper: what its blocks show. Paper mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from marker.canvas.lettering import fit_size, shorten, wrapped
from marker.canvas.page import Page
from marker.canvas.pen import BLACK, DARK, Pen
from marker.drawing.in_little import AROUND, draw_thumbnail
from marker.drawing.sheet.blocks import (
    BOX,
    MARGIN,
    SMALL,
    TEXT,
    WIDTH,
    Block,
    Column,
    Frame,
    beside,
    draw_box,
    draw_rule,
    entry,
    facts_block,
    heading,
    pages_of,
    paragraph,
    picture_block,
    spread_block,
    step,
)
from marker.drawing.sheet.cutting_sheet import BandTable, CuttingSheet, PieceRow

_LEFT = Column(MARGIN, 99.0)
_RIGHT = Column(MARGIN + 103.0, WIDTH - 103.0)
_COLUMNS = (0.0, 15.0, 40.0, 74.0, 100.0, 145.0)  # of the list: number, drawing, name, cut, ...
_TITLES = ("number", "drawing", "piece", "cut", "hems, other allowances", "mark before lifting")
_BOXES = 5  # in a line
_ROW = 9.8
_NAMES = 42.0  # of seams
_MOST_ROWS = 40


def draw_sheet(sheet: CuttingSheet) -> list[Page]:
    """All pages."""
    scene = sheet.scene
    what = f"cutting sheet · {scene.cloth_name}, size {sheet.sizes}"
    frame = Frame(scene.job_name, what, sheet.cautions, sheet.pattern)
    return pages_of(list(_to_cut(sheet)), frame, list(_to_sew(sheet)))


def _to_cut(sheet: CuttingSheet) -> Iterator[Block]:
    yield facts_block(sheet.facts, swatch=True)
    yield entry("to buy", sheet.buying)
    long = sheet.picture.size[0] + 2 * AROUND > _LEFT.width
    column = Column() if long else _RIGHT
    said = [step(k, words, column) for k, words in enumerate(sheet.steps, start=1)]
    if sheet.sketch:
        said.insert(0, spread_block(sheet.sketch, column))
    if long:
        yield picture_block(sheet.picture)
        yield from said
    else:
        yield beside([picture_block(sheet.picture, _LEFT)], said)
    yield heading(f"Pieces: {sheet.tally}", sheet.usual)
    yield Block(5.0, _draw_columns, leads=True)
    yield from map(_piece_row, sheet.rows)
    if sheet.bands:
        yield heading("Bands", "marks and sections from the cut end, unstretched")
    for band in sheet.bands:
        yield from _band(band)


def _to_sew(sheet: CuttingSheet) -> Iterator[Block]:
    making = sheet.making
    if sheet.seams:
        yield heading("Seams in order", "stitching line, length once sewn")
    for number, seam in enumerate(sheet.seams, start=1):
        name = f"{number}. {shorten(seam.name, _NAMES - 8.0, TEXT, bold=True)}"
        yield entry(name, seam.words, tick=True, hang=_NAMES)
    if making.notions:
        yield heading("Notions")
    yield from (paragraph(each, tick=True) for each in making.notions)
    if making.notes:
        yield heading("Notes")
    yield from map(paragraph, making.notes)


def _draw_columns(pen: Pen, top: float) -> None:
    for x, title in zip(_COLUMNS, _TITLES, strict=True):
        pen.text(MARGIN + x, top - 2.6, title, SMALL, colour=DARK)
    draw_rule(pen, top - 4.2, 0.3)


def _piece_row(row: PieceRow) -> Block:
    x, drawing = [MARGIN + column for column in _COLUMNS], row.piece.drawing
    ends = (*_COLUMNS[1:], WIDTH)
    rooms = [end - start - 2.0 for start, end in zip(_COLUMNS, ends, strict=True)]
    texts = [wrapped(row.edges, rooms[4], SMALL), wrapped(row.transfer, rooms[5], SMALL)]
    numbers = wrapped(row.numbers, rooms[0], TEXT, bold=True)
    boxes = -(-row.boxes // _BOXES)
    lines = max(*map(len, texts), len(numbers))
    height = max(_ROW, 2.9 * lines + 2.2, 5.6 + boxes * (BOX + 0.9))

    def draw(pen: Pen, top: float) -> None:
        base = top - 4.2
        for k, line in enumerate(numbers):
            pen.text(x[0], base - 2.9 * k, line, TEXT, bold=True)
        draw_thumbnail(pen.moved(x[1], top - height + 0.8), drawing, (rooms[1], height - 1.6))
        size = fit_size(drawing.name, rooms[2], 8.5, bold=True)
        name = shorten(drawing.name, rooms[2], size, bold=True)
        pen.text(x[2], base, name, size, bold=True)
        pen.text(x[2], base - 3.4, f"size {drawing.size}", SMALL, colour=DARK)
        pen.text(x[3], base, shorten(row.count, rooms[3], TEXT), TEXT)
        for k in range(row.boxes):
            down, across = divmod(k, _BOXES)
            draw_box(pen, x[3] + across * (BOX + 1.2), base - 4.6 - down * (BOX + 0.9))
        for at, said in zip(x[4:], texts, strict=True):
            for k, line in enumerate(said):
                pen.text(at, base + 0.4 - 2.9 * k, line, SMALL)
        draw_rule(pen, top - height)

    return Block(height, draw)


def _band(band: BandTable) -> Iterator[Block]:
    """Name and size, then marks on the left and sections on the right, row by row; a band is kept
    on one page, unless it has a page's worth of marks."""
    rows = max(len(band.marks), len(band.sections))
    whole = rows <= _MOST_ROWS
    yield replace(entry(band.name, band.cut, above=1.2), leads=rows > 0)
    if rows:
        titles = ("", "mark at", "name", "meets on the garment", "section", "opening", "how")
        yield _table_row(titles, DARK, leads=True)
    for k in range(rows):
        mark = band.marks[k] if k < len(band.marks) else ("", "", "", "")
        section = band.sections[k] if k < len(band.sections) else ("", "", "")
        yield _table_row((*mark, *section), BLACK, leads=whole and k + 1 < rows)


def _table_row(cells: Sequence[str], colour: str, *, leads: bool) -> Block:
    xs = (2.0, 7.0, 22.0, 62.0, 114.0, 142.0, 158.0, WIDTH)

    def draw(pen: Pen, top: float) -> None:
        for k, (x, end, words) in enumerate(zip(xs, xs[1:], cells, strict=False)):
            said, bold = shorten(words, end - x - 1.0, SMALL), k == 0
            pen.text(MARGIN + x, top - 2.6, said, SMALL, bold=bold, colour=colour)

    return Block(3.3, draw, leads)
