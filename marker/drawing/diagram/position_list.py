"""The list of pieces and where each lies, in columns that take what room the page leaves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.canvas.lettering import shorten
from marker.canvas.pen import BLACK, DARK, GREY, Pen
from marker.drawing.diagram.sheets import HEAD, ROW, ListColumn
from marker.drawing.scene.laid_pieces import SPARE
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.units import centimetres, inches

_SIZE, _HEADING = 6.0, 5.5
_BESIDE_NAME = 5.0 + 13.0 + 10.0 + 4 * 11.0  # number, garment and size, copy, four distances


@dataclass(frozen=True)
class _Columns:
    """Where each column stands, paper x; distances are set flush right."""

    number: float
    name: float
    name_room: float
    garment: float
    copy: float
    along: tuple[float, float]  # from the start line, cm and in
    across: tuple[float, float]  # from the near selvage


def draw_list(pen: Pen, frame: ListColumn) -> None:
    """One column of the list."""
    pieces = frame.pieces
    columns = _columns(frame)
    right = frame.left + frame.width
    _draw_head(pen, columns, frame)
    for k, piece in enumerate(pieces):
        base = frame.top - HEAD - (k + 0.72) * ROW
        _draw_row(pen, piece, columns, base)
        if (k + 1) % 5 == 0 or k + 1 == len(pieces):
            rule = np.array([[frame.left, base - 0.9], [right, base - 0.9]])
            pen.lines([rule], 0.1 if k + 1 < len(pieces) else 0.3, GREY)


def _columns(frame: ListColumn) -> _Columns:
    right = frame.left + frame.width
    name_room = frame.width - _BESIDE_NAME
    name = frame.left + 5.0
    return _Columns(
        number=frame.left + 3.2,
        name=name,
        name_room=name_room - 1.5,
        garment=name + name_room,
        copy=name + name_room + 13.0,
        along=(right - 33.0, right - 22.0),
        across=(right - 11.0, right),
    )


def _draw_head(pen: Pen, columns: _Columns, frame: ListColumn) -> None:
    right, top = frame.left + frame.width, frame.top
    low = top - HEAD + 1.6
    pen.lines([np.array([[frame.left, top], [right, top]])], 0.4, BLACK)
    pen.lines([np.array([[frame.left, low - 1.0], [right, low - 1.0]])], 0.18, BLACK)
    heading = "garment" if any(piece.garment for piece in frame.pieces) else "size"
    pen.text(columns.name, low, "piece", _HEADING, colour=DARK)
    pen.text(columns.garment, low, heading, _HEADING, colour=DARK)
    pen.text(columns.copy, low, "copy", _HEADING, colour=DARK)
    for title, (cm, inch) in (
        ("from start", columns.along),
        (f"from {frame.near_edge}", columns.across),
    ):
        pen.text(inch, low + 2.7, title, _HEADING, align="right", colour=DARK)
        pen.text(cm, low, "cm", _HEADING, align="right", colour=DARK)
        pen.text(inch, low, "in", _HEADING, align="right", colour=DARK)


def _draw_row(pen: Pen, piece: PieceDrawing, columns: _Columns, base: float) -> None:
    pen.text(columns.number, base, str(piece.number), _SIZE, bold=True, align="right")
    how = piece.plies.partition(" · ")[2] + ", 1 spare" * (SPARE in piece.plies)
    name = ", ".join(filter(None, [piece.name, how, "mirrored" * piece.mirrored, piece.note]))
    pen.text(columns.name, base, shorten(name, columns.name_room, _SIZE), _SIZE)
    garment = f"{piece.garment} · {piece.size}" if piece.garment else piece.size
    pen.text(columns.garment, base, shorten(garment, 12.0, _SIZE), _SIZE)
    pen.text(columns.copy, base, shorten(_copies(piece), 11.0, _SIZE), _SIZE)
    for (cm, inch), mm in zip((columns.along, columns.across), piece.reference, strict=True):
        pen.text(cm, base, centimetres(abs(mm)), _SIZE, align="right")
        pen.text(inch, base, inches(abs(mm)).removesuffix(" in"), _SIZE, align="right")


def _copies(piece: PieceDrawing) -> str:
    """'1 of 2', '1+2 of 2'."""
    said = piece.plies.partition(" · ")[0] or f"{piece.copy} of {piece.copies}"
    return said.removesuffix(SPARE).replace(" and ", "+").removeprefix("garments ")
