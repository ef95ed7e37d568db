"""The sheet of a lay on paper, and the file of a lay: sheet, diagram, tickets. Paper mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from marker.canvas.lettering import fit_size, shorten, wrapped
from marker.canvas.page import Page
from marker.canvas.pen import BLACK, DARK, Pen
from marker.canvas.to_pdf import pdf_bytes
from marker.drawing.in_little import AROUND
from marker.drawing.sheet.blocks import (
    MARGIN,
    PAPER,
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
from marker.drawing.sheet.lay_sheet import BESIDE, TO_FILL_IN, CountRow, LaySheet, PlyRow
from marker.reports.lays import Ticket
from marker.units import cut_length, cut_length_up
from marker.words import ONE_SIZE, counted, with_size

_ROW = 5.6
_PLY_COLUMNS = (6.0, 24.0, 38.0, 68.0, 122.0, 146.0)
_PLY_TITLES = ("plies", "count", "colour", "cut from", "left on the roll", "roll, shade, spread by")
_COUNT, _NAME = 4.8, 62.0  # height of a row of pieces, room for a name
_COUNT_NOTE = "in the marker × plies = cut"
_SPLICES = "Splices, from the start of the ply: the next cloth begins, the first one ends."
_LAP_ROW, _NUMBERS = 3.0, 6.0
_LEFT, _RIGHT = Column(MARGIN, 76.0), Column(MARGIN + WIDTH - BESIDE[0], BESIDE[0])
_HAIR = 1e-6
_BY = ("spread by", "plies counted by", "cut by", "date")


def lay_pdf(sheet: LaySheet, diagram: Sequence[Page]) -> bytes:
    """The file of a lay. diagram : the pages of its marker's."""
    pages = [*_draw_sheet(sheet), *diagram, *_draw_tickets(sheet)]
    return pdf_bytes(pages, f"{sheet.order}: {sheet.which}")


def _draw_sheet(sheet: LaySheet) -> list[Page]:
    frame = Frame(sheet.order, f"{sheet.which} · {sheet.cloth}", sheet.cautions)
    return draw_pages(paged(list(_to_spread(sheet)), list(_to_count(sheet))), frame)


def _to_spread(sheet: LaySheet) -> Iterator[Block]:
    yield facts_block(sheet.facts)
    if sheet.sketch is not None:
        yield spread_block(sheet.sketch)
    if sheet.picture.size[0] + 2 * AROUND <= _RIGHT.width + _HAIR:
        words = [paragraph(sheet.sizes, _LEFT), *_splices(sheet, _LEFT)]
        yield beside(words, [picture_block(sheet.picture, _RIGHT), *_laps(sheet, _RIGHT)])
    else:
        yield paragraph(sheet.sizes)
        yield picture_block(sheet.picture)
        yield from _laps(sheet, Column())
        yield from _splices(sheet, Column())
    yield heading("Order of work")
    yield from map(step, range(1, len(sheet.steps) + 1), sheet.steps)
    yield heading("Plies, from the table up")
    yield _titles(_PLY_COLUMNS, _PLY_TITLES)
    yield from map(_ply_row, sheet.plies)


def _to_count(sheet: LaySheet) -> Iterator[Block]:
    """What is counted once it is cut, and who did the work."""
    yield heading(f"Pieces to count: {sum(row.cut for row in sheet.counts)}", _COUNT_NOTE)
    for k in range(0, len(sheet.counts), 2):
        yield _count_row(sheet.counts[k : k + 2])
    if sheet.spares:
        yield paragraph(sheet.spares)
    yield paragraph(sheet.untied or f"Bundle tickets: {len(sheet.tickets)}, on the last pages.")
    yield _signatures()


def _splices(sheet: LaySheet, column: Column) -> Iterator[Block]:
    """Where a ply may change from one length of cloth to another."""
    if not sheet.splices:
        return
    yield paragraph(_SPLICES, column)
    for number, splice in enumerate(sheet.splices, start=1):
        begins, ends = cut_length(splice.from_mm), cut_length_up(splice.reach_mm)
        said = f"{begins} to {ends}, a lap of {cut_length(splice.lap_mm)}"
        yield entry(str(number), said, column, hang=_NUMBERS)


def _titles(columns: Sequence[float], titles: Sequence[str]) -> Block:
    def draw(pen: Pen, top: float) -> None:
        for x, title in zip(columns, titles, strict=True):
            pen.text(MARGIN + x, top - 2.6, title, SMALL, colour=DARK)
        draw_rule(pen, top - 4.4, 0.3)

    return Block(5.0, draw, leads=True)


def _cells(columns: Sequence[float], cells: Sequence[str]) -> Block:
    """A box to tick and a row of words, each as small as its column asks."""
    ends = (*columns[1:], WIDTH)

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


def _count_row(rows: Sequence[CountRow]) -> Block:
    """One or two pieces to tick, side by side."""
    half = WIDTH / 2

    def draw(pen: Pen, top: float) -> None:
        for k, row in enumerate(rows):
            left = MARGIN + k * half
            draw_box(pen, left, top - 4.2)
            name = with_size(row.piece, row.size)
            size = fit_size(name, _NAME, TEXT)
            pen.text(left + 6.0, top - 3.6, shorten(name, _NAME, size), size)
            words = f"{row.in_marker} × {row.plies} = "
            pen.text(left + half - 14.0, top - 3.6, words, TEXT, align="right", colour=DARK)
            pen.text(left + half - 14.0, top - 3.6, str(row.cut), TEXT, bold=True)

    return Block(_COUNT, draw)


def _laps(sheet: LaySheet, column: Column) -> Iterator[Block]:
    """Below the picture: each splice as far as both cloths lie over one another, numbered."""
    if not sheet.splices:
        return
    share = sheet.picture.share
    left = column.left + (column.width - sheet.picture.size[0]) / 2
    spans = [(left + s.from_mm * share, left + s.reach_mm * share) for s in sheet.splices]
    rows = _staggered(spans)

    def draw(pen: Pen, top: float) -> None:
        for number, ((start, stop), row) in enumerate(zip(spans, rows, strict=True), start=1):
            y = top - 2.4 - row * _LAP_ROW
            run = np.array([[start, y + 0.8], [start, y], [stop, y], [stop, y + 0.8]])
            pen.lines([run], 0.3, BLACK, name="lap")
            pen.text(stop + 0.6, y - 0.4, str(number), 5.5)
        y = top - 2.4 - (max(rows) + 1) * _LAP_ROW
        middle = column.left + column.width / 2
        pen.text(middle, y, "splices, and their laps", SMALL, align="center", colour=DARK)

    yield Block(4.0 + (max(rows) + 1) * _LAP_ROW, draw)


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


ACROSS, DOWN = 3, 8
_EDGE, _HEAD = 9.0, 6.0
_SIZE = ((PAPER[0] - 2 * _EDGE) / ACROSS, (PAPER[1] - 2 * _EDGE - _HEAD) / DOWN)
_DASHES = (2.0, 1.6)
_HOLE = 2.0  # radius of the ring to tie through
_PAD = 3.0
_PIECES_PT, _MOST_LINES = 6.5, 3


def _draw_tickets(sheet: LaySheet) -> list[Page]:
    """As many pages as the tickets of a lay need."""
    every = ACROSS * DOWN
    chunks = [sheet.tickets[k : k + every] for k in range(0, len(sheet.tickets), every)]
    return [
        _page(sheet, chunk, f"tickets, page {number} of {len(chunks)}")
        for number, chunk in enumerate(chunks, start=1)
    ]


def _page(sheet: LaySheet, tickets: Sequence[Ticket], page: str) -> Page:
    pen = Pen(PAPER)
    top = PAPER[1] - _EDGE
    head = shorten(f"{sheet.order} · {sheet.which} · {page}", PAPER[0] - 2 * _EDGE, SMALL)
    pen.text(_EDGE, top - 3.0, head, SMALL, colour=DARK)
    rows = -(-len(tickets) // ACROSS)
    for row in range(rows + 1):
        y = top - _HEAD - row * _SIZE[1]
        pen.lines([np.array([[_EDGE, y], [PAPER[0] - _EDGE, y]])], 0.15, DARK, _DASHES, "cut here")
    for column in range(ACROSS + 1):
        x, low = _EDGE + column * _SIZE[0], top - _HEAD - rows * _SIZE[1]
        pen.lines([np.array([[x, low], [x, top - _HEAD]])], 0.15, DARK, _DASHES, "cut here")
    for k, ticket in enumerate(tickets):
        row, column = divmod(k, ACROSS)
        corner = _EDGE + column * _SIZE[0], top - _HEAD - row * _SIZE[1]
        _draw_ticket(pen.moved(*corner), sheet, ticket)
    return pen.page


def _draw_ticket(pen: Pen, sheet: LaySheet, ticket: Ticket) -> None:
    """Below and to the right of (0, 0)."""
    ring = shapely.get_coordinates(shapely.Point(_PAD + _HOLE, -_PAD - _HOLE).buffer(_HOLE))
    pen.lines([ring], 0.2, DARK, name="hole")
    left, room = _PAD, _SIZE[0] - 2 * _PAD
    after, rest = left + 2 * _HOLE + 2.0, room - 2 * _HOLE - 2.0
    _line(pen.moved(after, -5.4), rest, sheet.order, 8.0)
    _line(pen.moved(after, -8.8), rest, f"{sheet.cloth} · {sheet.which}", 6.5)
    garment = f"garment {ticket.garment}"
    alone = ticket.size == ONE_SIZE
    _line(pen.moved(left, -17.2), room * 0.5, garment if alone else ticket.size, 20.0, bold=True)
    plies = "ply" if ticket.run.plies == 1 else "plies"
    beside, half = left + room * 0.52, room * 0.48
    if not alone:
        _line(pen.moved(beside, -13.6), half, garment, 9.0, bold=True)
    _line(pen.moved(beside, -17.6), half, f"{plies} {ticket.run}", 9.0, bold=True)
    _line(pen.moved(left, -22.2), room, _shade(ticket), 8.0)
    for k, words in enumerate(_pieces(ticket, room)):
        _line(pen.moved(left, -26.0 - 2.8 * k), room, words, _PIECES_PT)


def _pieces(ticket: Ticket, room: float) -> list[str]:
    """Lines that say what the bundle holds: its pieces, or how many if they are too many to list.
    The sheet lists them all."""
    count = counted(ticket.run.plies, "ply")
    pieces = ", ".join(f"{number} {piece}" for piece, number in ticket.pieces.items())
    lines = wrapped(f"{count}, of each {pieces}", room, _PIECES_PT)
    if len(lines) <= _MOST_LINES:
        return lines
    many = counted(sum(ticket.pieces.values()), "piece")
    return wrapped(f"{count}, of each {many} as on the sheet", room, _PIECES_PT)


def _shade(ticket: Ticket) -> str:
    """Colour, and what decides the shade: the roll."""
    colour = ticket.run.colour or f"colour {TO_FILL_IN}"
    rolls = " and ".join(ticket.rolls)
    return f"{colour} · shade: {rolls}" if rolls else f"{colour} · shade {TO_FILL_IN}"


def _line(pen: Pen, room: float, words: str, most: float, bold: bool = False) -> None:
    """Words from (0, 0) on, of at most that size."""
    size = fit_size(words, room, most, bold)
    pen.text(0.0, 0.0, shorten(words, room, size, bold), size, bold=bold)
