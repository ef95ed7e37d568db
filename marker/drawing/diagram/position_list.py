"""The list of pieces and where each lies, in columns that take what room the page leaves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.canvas.lettering import shorten
from marker.canvas.pen import BLACK, DARK, GREY, Pen
from marker.drawing.diagram.sheets import HEAD, LIST_PT, NUMBER, ListColumn
from marker.drawing.scene.laid_pieces import SPARE
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.units import CUT_UNITS, System, cut_figure, shown

_HEADING = 5.5
_GARMENT, _COPY, _FIGURE = 11.0, 10.0, 12.0  # widths of columns
_LONE_FIGURE = 15.0  # where it is as wide as its heading, in one system of units
_LEAST_NAME = 20.0


@dataclass(frozen=True)
class _Columns:
    """Where each column stands, paper x; distances are set flush right.

    garment, copy : None where there is no room for it. start, selvage : one for each system shown.
    """

    number: float
    name: float
    name_room: float
    garment: float | None
    copy: float | None
    systems: tuple[System, ...]
    start: tuple[float, ...]
    selvage: tuple[float, ...]


def draw_list(pen: Pen, frame: ListColumn) -> None:
    """One column of the list."""
    pieces = frame.pieces
    columns = _columns(frame)
    right = frame.left + frame.width
    _draw_head(pen, columns, frame)
    line = 0
    for k, piece in enumerate(pieces):
        base = frame.top - HEAD - (line + 0.72) * frame.row
        _draw_row(pen, piece, columns, base)
        for said in frame.note_lines(piece):
            base -= frame.row
            line += 1
            pen.text(columns.name, base, said, LIST_PT, colour=DARK)
        line += 1
        if (k + 1) % 5 == 0 or k + 1 == len(pieces):
            rule = np.array([[frame.left, base - 0.9], [right, base - 0.9]])
            pen.lines([rule], 0.1 if k + 1 < len(pieces) else 0.3, GREY)


def _columns(frame: ListColumn) -> _Columns:
    """Both systems if there is room for them, then the copy, then the garment or size."""
    lead, left = shown().lead, frame.width - NUMBER - _LEAST_NAME
    both = shown().both and left >= 4 * _FIGURE
    systems: tuple[System, ...] = (lead, lead.other) if both else (lead,)
    figure = _FIGURE if both else _LONE_FIGURE
    left -= 2 * len(systems) * figure
    with_copy = left >= _COPY
    left -= _COPY if with_copy else 0.0
    tells = any(piece.garment or piece.size_words for piece in frame.pieces)
    with_garment = tells and left >= _GARMENT
    left -= _GARMENT if with_garment else 0.0
    name, room = frame.left + NUMBER, _LEAST_NAME + left
    copy = name + room + (_GARMENT if with_garment else 0.0)
    ends = [frame.left + frame.width - k * figure for k in range(2 * len(systems))][::-1]
    return _Columns(
        number=frame.left + 3.2,
        name=name,
        name_room=room - 1.5,
        garment=name + room if with_garment else None,
        copy=copy if with_copy else None,
        systems=systems,
        start=tuple(ends[: len(systems)]),
        selvage=tuple(ends[len(systems) :]),
    )


def _draw_head(pen: Pen, columns: _Columns, frame: ListColumn) -> None:
    right, top = frame.left + frame.width, frame.top
    low = top - HEAD + 1.6
    pen.lines([np.array([[frame.left, top], [right, top]])], 0.4, BLACK)
    pen.lines([np.array([[frame.left, low - 1.0], [right, low - 1.0]])], 0.18, BLACK)
    heading = "garment" if any(piece.garment for piece in frame.pieces) else "size"
    pen.text(columns.name, low, "piece", _HEADING, colour=DARK)
    for x, title in ((columns.garment, heading), (columns.copy, "copy")):
        if x is not None:
            pen.text(x, low, title, _HEADING, colour=DARK)
    for title, xs in (("from start", columns.start), (f"from {frame.near_edge}", columns.selvage)):
        pen.text(xs[-1], low + 2.7, title, _HEADING, align="right", colour=DARK)
        for x, system in zip(xs, columns.systems, strict=True):
            pen.text(x, low, CUT_UNITS[system], _HEADING, align="right", colour=DARK)


def _draw_row(pen: Pen, piece: PieceDrawing, columns: _Columns, base: float) -> None:
    pen.text(columns.number, base, str(piece.number), LIST_PT, bold=True, align="right")
    how = piece.plies.partition(" · ")[2].replace("two plies", "2 plies")
    how += ", 1 spare" * (SPARE in piece.plies)
    name = ", ".join(filter(None, [piece.name, how, "mirrored" * piece.mirrored]))
    pen.text(columns.name, base, shorten(name, columns.name_room, LIST_PT), LIST_PT)
    whose = (str(piece.garment or ""), piece.size if piece.size_words else "")
    garment = " · ".join(filter(None, whose))
    for x, said, room in (
        (columns.garment, garment, _GARMENT - 1.0),
        (columns.copy, _copies(piece), _COPY),
    ):
        if x is not None:
            pen.text(x, base, shorten(said, room, LIST_PT), LIST_PT)
    start = [_figures(piece.placing.from_start_mm, system) for system in columns.systems]
    selvage = [_figures(piece.placing.from_selvage_mm, system) for system in columns.systems]
    if piece.fold_y is not None:
        selvage = ["fold"] * len(selvage)
    for x, said in zip((*columns.start, *columns.selvage), (*start, *selvage), strict=True):
        pen.text(x, base, said, LIST_PT, align="right")


def _figures(ends: tuple[float, ...], system: System) -> str:
    """One distance, or both where they differ."""
    return "/".join(cut_figure(mm, system) for mm in ends)


def _copies(piece: PieceDrawing) -> str:
    """'1 of 2', '1+2 of 2'."""
    said = piece.plies.partition(" · ")[0] or f"{piece.copy} of {piece.copies}"
    return said.removesuffix(SPARE).replace(" and ", "+").removeprefix("garments ")
