"""Bundle tickets, to cut apart and tie on: A4 upright (ISO 216), 24 on a page. Paper mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from marker.canvas.lettering import fit_size, shorten, wrapped
from marker.canvas.page import Page
from marker.canvas.pen import DARK, Pen
from marker.drawing.sheet.blocks import PAPER, SMALL
from marker.drawing.sheet.lay_sheet import TO_FILL_IN, LaySheet
from marker.reports.lays import Ticket
from marker.words import counted

ACROSS, DOWN = 3, 8
_EDGE, _HEAD = 9.0, 6.0
_SIZE = ((PAPER[0] - 2 * _EDGE) / ACROSS, (PAPER[1] - 2 * _EDGE - _HEAD) / DOWN)
_DASHES = (2.0, 1.6)
_HOLE = 2.0  # radius of the ring to tie through
_PAD = 3.0
_PIECES_PT, _MOST_LINES = 6.5, 3


def draw_tickets(sheet: LaySheet) -> list[Page]:
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
    _line(pen, after, -5.4, rest, sheet.order, 8.0)
    _line(pen, after, -8.8, rest, f"{sheet.cloth} · {sheet.which}", 6.5)
    _line(pen, left, -17.2, room * 0.5, ticket.size, 20.0, bold=True)
    plies = "ply" if ticket.run.plies == 1 else "plies"
    beside, half = left + room * 0.52, room * 0.48
    _line(pen, beside, -13.6, half, f"garment {ticket.garment}", 9.0, bold=True)
    _line(pen, beside, -17.6, half, f"{plies} {ticket.run}", 9.0, bold=True)
    _line(pen, left, -22.2, room, _shade(ticket), 8.0)
    for k, words in enumerate(_pieces(ticket, room)):
        _line(pen, left, -26.0 - 2.8 * k, room, words, _PIECES_PT)


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


def _line(
    pen: Pen, x: float, y: float, room: float, words: str, most: float, bold: bool = False
) -> None:
    size = fit_size(words, room, most, bold)
    pen.text(x, y, shorten(words, room, size, bold), size, bold=bold)
