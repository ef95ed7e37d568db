"""The sheet of a lay on paper, and the file of a lay: sheet, diagram, tickets. Paper mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from marker.canvas.lettering import fit_size, shorten
from marker.canvas.page import Page
from marker.canvas.pen import BLACK, DARK, Pen
from marker.canvas.to_pdf import pdf_bytes
from marker.drawing.sheet.blocks import (
    MARGIN,
    SMALL,
    TEXT,
    WIDTH,
    Block,
    Frame,
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
from marker.drawing.sheet.lay_sheet import CAUTIONS, CountRow, LaySheet, PlyRow
from marker.drawing.sheet.ticket_pages import draw_tickets
from marker.orders.rolls import Splice
from marker.units import cut_length, cut_length_up, length

_ROW = 5.6
_PLY_COLUMNS = (6.0, 24.0, 38.0, 68.0, 122.0, 146.0)
_PLY_TITLES = ("plies", "count", "colour", "cut from", "left on the roll", "roll, shade, spread by")
_COUNT_COLUMNS = (6.0, 62.0, 92.0, 116.0)
_COUNT_TITLES = ("piece", "size", "in the marker", "cut")
_LAP_ROW, _NUMBERS = 3.4, 6.0
_BY = ("spread by", "plies counted by", "cut by", "date")


def lay_pdf(sheet: LaySheet, diagram: Sequence[Page]) -> bytes:
    """The file of a lay. diagram : the pages of its marker's."""
    pages = [*_draw_sheet(sheet), *diagram, *draw_tickets(sheet)]
    return pdf_bytes(pages, f"{sheet.order}: {sheet.which}")


def _draw_sheet(sheet: LaySheet) -> list[Page]:
    frame = Frame(sheet.order, f"{sheet.which} · {sheet.cloth}", CAUTIONS)
    return pages_of(list(_blocks(sheet)), frame)


def _blocks(sheet: LaySheet) -> Iterator[Block]:
    yield facts_block(sheet.facts)
    yield paragraph(sheet.sizes)
    yield spread_block(sheet.sketch)
    yield picture_block(sheet.picture)
    if sheet.splices:
        yield _laps(sheet)
    yield heading("Order of work")
    yield from map(step, range(1, len(sheet.steps) + 1), sheet.steps)
    yield heading("Plies, from the table up")
    yield _titles(_PLY_COLUMNS, _PLY_TITLES)
    yield from map(_ply_row, sheet.plies)
    if sheet.splices:
        yield heading("Splice marks, from the start of the ply")
        yield from _splice_rows(sheet.splices)
    yield heading(f"Pieces to count: {sum(row.cut for row in sheet.counts)}")
    yield _titles(_COUNT_COLUMNS, _COUNT_TITLES)
    yield from map(_count_row, sheet.counts)
    yield paragraph(sheet.untied or f"Bundle tickets: {len(sheet.tickets)}, on the last pages.")
    yield _signatures()


def _titles(columns: Sequence[float], titles: Sequence[str]) -> Block:
    def draw(pen: Pen, top: float) -> None:
        for x, title in zip(columns, titles, strict=True):
            pen.text(MARGIN + x, top - 2.6, title, SMALL, colour=DARK)
        draw_rule(pen, top - 4.4, 0.3)

    return Block(5.0, draw, leads=True)


def _cells(columns: Sequence[float], cells: Sequence[str], right: float = WIDTH) -> Block:
    """A box to tick and a row of words, each as small as its column asks."""
    ends = (*columns[1:], right)

    def draw(pen: Pen, top: float) -> None:
        draw_box(pen, MARGIN, top - 4.4)
        for x, end, cell in zip(columns, ends, cells, strict=True):
            size = fit_size(cell, end - x - 1.5, TEXT)
            pen.text(MARGIN + x, top - 3.9, shorten(cell, end - x - 1.5, size), size)
        draw_rule(pen, top - _ROW)

    return Block(_ROW, draw)


def _ply_row(row: PlyRow) -> Block:
    count, colour = str(row.run.plies), row.run.colour
    return _cells(_PLY_COLUMNS, (str(row.run), count, colour, row.source, row.left, ""))


def _count_row(row: CountRow) -> Block:
    cells = (row.piece, f"size {row.size}", str(row.in_marker), str(row.cut))
    return _cells(_COUNT_COLUMNS, cells)


def _splice_rows(splices: Sequence[Splice]) -> Iterator[Block]:
    for number, splice in enumerate(splices, start=1):
        yield entry(
            str(number),
            f"The next cloth begins at {cut_length(splice.from_mm)}, the first goes on "
            f"to {cut_length_up(splice.reach_mm)}: a lap of {length(splice.lap_mm)}.",
            hang=_NUMBERS,
        )


def _laps(sheet: LaySheet) -> Block:
    """Below the picture: each splice as far as both cloths lie over one another, numbered."""
    share, left = sheet.picture.share, MARGIN + (WIDTH - sheet.picture.size[0]) / 2
    spans = [(left + s.from_mm * share, left + s.reach_mm * share) for s in sheet.splices]
    rows = _staggered(spans)

    def draw(pen: Pen, top: float) -> None:
        for number, ((start, stop), row) in enumerate(zip(spans, rows, strict=True), start=1):
            y = top - 2.4 - row * _LAP_ROW
            run = np.array([[start, y + 0.8], [start, y], [stop, y], [stop, y + 0.8]])
            pen.lines([run], 0.3, BLACK, name="lap")
            pen.text(stop + 0.6, y - 0.4, str(number), 5.5)
        y = top - 2.4 - (max(rows) + 1) * _LAP_ROW
        pen.text(MARGIN + WIDTH / 2, y, "splice marks", SMALL, align="center", colour=DARK)

    return Block(4.0 + (max(rows) + 1) * _LAP_ROW, draw)


def _staggered(spans: Sequence[tuple[float, float]]) -> list[int]:
    """The row of each span, so that none lies on another or on its number; sorted by start."""
    ends: list[float] = []
    rows = []
    for start, stop in spans:
        row = next((k for k, end in enumerate(ends) if end < start), len(ends))
        ends[row:] = [stop + 4.0, *ends[row + 1 :]]
        rows.append(row)
    return rows


def _signatures() -> Block:
    """Lines to be filled in at the table."""
    pitch = WIDTH / len(_BY)

    def draw(pen: Pen, top: float) -> None:
        for k, words in enumerate(_BY):
            x = MARGIN + k * pitch
            pen.lines([np.array([[x, top - 9.0], [x + pitch - 5.0, top - 9.0]])], 0.2, BLACK)
            pen.text(x, top - 12.0, words, SMALL, colour=DARK)

    return Block(14.0, draw)
