"""The cutting sheet on paper: what its blocks show. Paper mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain

from marker.canvas.lettering import fit_size, shorten, wrapped
from marker.canvas.page import Page
from marker.canvas.pen import BLACK, DARK, Pen
from marker.drawing.in_little import SmallLayout, draw_thumbnail, small_layout
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
    draw_pages,
    draw_rule,
    entry,
    facts_block,
    heading,
    paged,
    paragraph,
    picture_block,
    spread_block,
    step,
)
from marker.drawing.sheet.cutting_sheet import BandTable, CuttingSheet, PieceRow
from marker.words import with_size

_HALVES = (Column(MARGIN, WIDTH / 2 - 2.0), Column(MARGIN + WIDTH / 2 + 2.0, WIDTH / 2 - 2.0))
_COLUMNS = (0.0, 14.0, 38.0, 70.0, 102.0, 149.0)  # of the list: number, drawing, name, cut, ...
_TITLES = ("number", "drawing", "piece", "cut", "hems, other allowances", "mark before lifting")
_BOXES, _BOXES_BEFORE = 5, 2  # in a line, and before the count
_ROW = 7.6
_NAMES = 42.0  # of seams
_PICTURES = ((90.0, 86.0), (84.0, 72.0), (78.0, 60.0))  # rooms for smaller ones
_MOST_ROWS = 20  # of pieces on a sheet that is tried with them
_MOST_MARKS = 40


def draw_sheet(sheet: CuttingSheet) -> list[Page]:
    """All pages; one, if that is so with a smaller picture of the layout."""
    scene = sheet.scene
    what = with_size(f"cutting sheet · {scene.cloth_name}", sheet.sizes)
    frame = Frame(scene.job_name, what, sheet.cautions, sheet.pattern)
    return draw_pages(_paged(sheet), frame)


def _paged(sheet: CuttingSheet) -> list[list[Block]]:
    """What stands on each page."""
    to_sew = list(_to_sew(sheet))
    first = paged(list(_to_cut(sheet, sheet.picture)), to_sew)
    if len(first) != 2 or len(sheet.rows) > _MOST_ROWS:  # no picture takes more than one page
        return first
    for room in _PICTURES:
        pages = paged(list(_to_cut(sheet, small_layout(sheet.scene, room))), to_sew)
        if len(pages) == 1:
            return pages
    return first


def _to_cut(sheet: CuttingSheet, picture: SmallLayout) -> Iterator[Block]:
    yield facts_block(sheet.facts, swatch=True)
    if sheet.buying:
        yield entry("to buy", sheet.buying)
    (left, _), (right, _) = picture.extent
    long = right - left > WIDTH * 0.55
    column = Column() if long else Column(MARGIN + right - left + 5.0, WIDTH - right + left - 5.0)
    said = [step(k, words, column) for k, words in enumerate(sheet.steps, start=1)]
    if sheet.sketch:
        said.insert(0, spread_block(sheet.sketch, column))
    if long:
        yield picture_block(picture)
        yield from said
    else:
        yield beside([picture_block(picture, Column(MARGIN, right - left))], said)
    yield heading(f"Pieces: {sheet.tally}", sheet.usual)
    yield Block(4.6, _draw_columns, leads=True)
    sized = len({row.piece.drawing.size for row in sheet.rows}) > 1
    yield from (_piece_row(row, sized) for row in sheet.rows)
    if sheet.bands:
        yield heading("Bands", "marks and sections from the cut end, unstretched")
    for k in range(0, len(sheet.bands), 2):
        pair = sheet.bands[k : k + 2]
        short = all(len(band.marks) <= _MOST_MARKS for band in pair)
        columns = [list(_band(band, half)) for band, half in zip(pair, _HALVES, strict=False)]
        if short:
            yield beside(*columns) if len(columns) == 2 else beside(columns[0], [])
        else:
            yield from chain(*columns)


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
    draw_rule(pen, top - 4.0, 0.3)


def _piece_row(row: PieceRow, sized: bool) -> Block:
    x, drawing = [MARGIN + column for column in _COLUMNS], row.piece.drawing
    ends = (*_COLUMNS[1:], WIDTH)
    rooms = [end - start - 2.0 for start, end in zip(_COLUMNS, ends, strict=True)]
    texts = [wrapped(row.edges, rooms[4], SMALL), wrapped(row.transfer, rooms[5], SMALL)]
    numbers = wrapped(row.numbers, rooms[0], TEXT, bold=True)
    in_line = row.boxes <= _BOXES_BEFORE
    below = 0 if in_line else -(-row.boxes // _BOXES)
    lines = max(*map(len, texts), len(numbers))
    height = max(_ROW + 1.0 * sized, 2.8 * lines + 2.0, 5.4 + below * (BOX + 0.9))

    def draw(pen: Pen, top: float) -> None:
        base = top - 3.8
        for k, line in enumerate(numbers):
            pen.text(x[0], base - 2.8 * k, line, TEXT, bold=True)
        draw_thumbnail(pen.moved(x[1], top - height + 0.5), drawing, (rooms[1], height - 1.0))
        size = fit_size(drawing.name, rooms[2], 8.5, bold=True)
        name = shorten(drawing.name, rooms[2], size, bold=True)
        pen.text(x[2], base, name, size, bold=True)
        pen.text(x[2], base - 3.2, drawing.size_words * sized, SMALL, colour=DARK)
        for k in range(row.boxes):
            down, across = divmod(k, _BOXES)
            y = base - 0.4 if in_line else base - 4.6 - down * (BOX + 0.9)
            draw_box(pen, x[3] + across * (BOX + 1.2), y)
        after = row.boxes * (BOX + 1.2) if in_line else 0.0
        small = fit_size(row.count, rooms[3] - after, TEXT)
        pen.text(x[3] + after, base, shorten(row.count, rooms[3] - after, small), small)
        for at, said in zip(x[4:], texts, strict=True):
            for k, line in enumerate(said):
                pen.text(at, base + 0.6 - 2.8 * k, line, SMALL)
        draw_rule(pen, top - height)

    return Block(height, draw)


def _band(band: BandTable, column: Column) -> Iterator[Block]:
    """Name and size, its marks row by row, then how each stretch is sewn."""
    yield replace(entry(band.name, band.cut, column, above=1.6), leads=True)
    yield _table_row(("", "mark at", "name", "meets on the garment"), column, DARK)
    for mark in band.marks:
        yield _table_row(mark, column, BLACK)
    yield _table_row(("", "how it is sewn"), column, DARK)
    for stretch, how in band.sections:
        yield _table_row((stretch, how), column, BLACK)


def _table_row(cells: Sequence[str], column: Column, colour: str) -> Block:
    xs = (1.0, 6.0, 20.0, 50.0) if len(cells) > 2 else (1.0, 10.0)

    def draw(pen: Pen, top: float) -> None:
        for k, (x, words) in enumerate(zip(xs, cells, strict=True)):
            end = xs[k + 1] - 1.0 if k + 1 < len(xs) else column.width
            size = fit_size(words, end - x, SMALL)
            said = shorten(words, end - x, size)
            pen.text(column.left + x, top - 2.4, said, size, bold=k == 0, colour=colour)

    return Block(2.95, draw)
