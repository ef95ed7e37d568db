"""Pieces as DXF by ASTM D6673: one style a file, one block a piece, ASCII, release 12 entities.

Which layer is which is in `standard`; the keys of the style's texts are from excerpts of the
ASTM practice. From memory: METRIC means millimetres, notches and drill holes are POINTs, the
boundary is one closed POLYLINE, points of its corners and curves stand on layers of their own.

The tags are written here and not by ezdxf, though every file passes its audit. Its release 12
(tried with 1.4.5) leaves out $INSUNITS. It adds the blocks $Model_Space and $Paper_Space with an
empty external reference each; a reader that takes each block for a piece finds two empty pieces.
It puts its own name and the time into the first, so that no two files are alike. Its `r12writer`
knows no blocks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

import numpy as np

from marker.exchange.cloth_facts import cloth_line
from marker.exchange.dxf import standard
from marker.exchange.flat_piece import FlatPiece, Graded
from marker.exchange.label_place import label_inside
from marker.exchange.laid_flat import Sheet, unique_names
from marker.exchange.piece_text import system_lines
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import sharp_vertices
from marker.pattern.inner_marks import MarkKind
from marker.pattern.piece import Line

TEXT_MM = 5.0  # height of what is no label
_CAPITALS = 0.7  # of the letters' size, which DXF takes texts by
_LINE_STEP_MM = 7.0
CURVE_TOLERANCE_MM = 0.1  # of a job's curves unless it says otherwise
CLOTH = "CLOTH"
_R12, _MILLIMETRES = "AC1009", "4"

_GRADED = {Graded.STITCHING: standard.SEW_LINES, Graded.NOTCH: standard.NOTCHES}

Tag = tuple[int, str]


def dxf_text(sheet: Sheet, created: datetime) -> str:
    """The file, 7-bit ASCII. created : when, for the texts of the style that ask for it.

    The pieces keep their places on the sheet; each block is inserted at the origin.
    """
    names = _block_names(sheet.pieces)
    tags = [
        *_section("HEADER", [(9, "$ACADVER"), (1, _R12), (9, "$INSUNITS"), (70, _MILLIMETRES)]),
        *_section(
            "BLOCKS",
            [
                tag
                for name, piece in zip(names, sheet.pieces, strict=True)
                for tag in _block(name, piece)
            ],
        ),
        *_section(
            "ENTITIES",
            [
                *_texts(_style_lines(sheet, created), standard.BOUNDARY, 0.0, -_LINE_STEP_MM),
                *(_cloth(sheet) if sheet.cloth else ()),
                *(tag for name in names for tag in _insert(name)),
            ],
        ),
        (0, "EOF"),
    ]
    return "".join(f"{code:3d}\n{value}\n" for code, value in tags)


def _section(name: str, tags: Sequence[Tag]) -> list[Tag]:
    return [(0, "SECTION"), (2, name), *tags, (0, "ENDSEC")]


def _style_lines(sheet: Sheet, created: datetime) -> Iterator[str]:
    yield standard.STANDARD_TEXT
    yield f"Style Name: {sheet.title}"
    yield f"Creation Date: {created:%m-%d-%Y}"
    yield f"Creation Time: {created:%H:%M}"
    yield "Author: marker"
    if sheet.size:
        yield f"Sample Size: {sheet.size}"
    if any(piece.grade_points for piece in sheet.pieces):
        yield f"Grade Rule Table: {sheet.title}"
    yield from map(cloth_line, sheet.cloths)
    yield "Units: METRIC"
    yield f"Curve Tolerance: {CURVE_TOLERANCE_MM}"


def _block_names(pieces: Sequence[FlatPiece]) -> list[str]:
    """A name of letters, digits and '_', which release 12 allows, for each piece."""
    wanted = [f"{piece.name}_{piece.size}" if piece.size else piece.name for piece in pieces]
    plain = ["".join(c if c.isascii() and c.isalnum() else "_" for c in name) for name in wanted]
    return [name.replace(" ", "_") for name in unique_names(plain)]


def _block(name: str, piece: FlatPiece) -> Iterator[Tag]:
    yield from [(0, "BLOCK"), (8, standard.BOUNDARY), (2, name), (70, "0"), *_point(np.zeros(2))]
    boundary = standard.BOUNDARY if piece.line is Line.CUT else standard.SEW_LINES
    yield from _polyline(piece.outline, boundary, closed=True)
    yield from _contour_points(piece)
    for hole in piece.cutouts:
        yield from _polyline(hole, standard.CUTOUTS, closed=True)
    if len(piece.stitching):
        yield from _polyline(piece.stitching, standard.SEW_LINES, closed=True)
    yield from _points(piece.notches, standard.NOTCHES)
    if piece.fold is not None:
        yield from _line(piece.fold, standard.MIRROR_LINE)
    if piece.grain is not None:
        yield from _line(piece.grain, standard.GRAIN_LINE)
    for mark in piece.inner_marks:
        if mark.kind is MarkKind.TEXT:
            yield from _text(mark.name, standard.ANNOTATION, mark.points[0], TEXT_MM)
        elif mark.kind.is_point:
            yield from _points(mark.points, standard.DRILL_HOLES)
        else:
            yield from _polyline(mark.points, standard.INTERNAL_LINES, closed=False)
    label, system = label_inside(piece), len(list(system_lines(piece)))
    height = _CAPITALS * label.size_mm
    for number, text in enumerate(label.lines):
        layer = standard.BOUNDARY if number < system else standard.ANNOTATION
        yield from _text(text.text, layer, label.start(text), height, label.angle_deg)
    yield from [(0, "ENDBLK"), (8, standard.BOUNDARY)]


def _contour_points(piece: FlatPiece) -> Iterator[Tag]:
    corners = np.zeros(len(piece.outline), dtype=bool)
    corners[sharp_vertices(piece.outline)] = True
    for point in piece.turn_points:
        corners[_nearest(piece.outline, point)] = True
    yield from _points(piece.outline[corners], standard.TURN_POINTS)
    yield from _points(piece.outline[~corners], standard.CURVE_POINTS)
    for point in piece.grade_points:
        corner = corners[_nearest(piece.outline, point.at)]
        own = standard.TURN_POINTS if corner else standard.CURVE_POINTS
        layer = _GRADED.get(point.of, own)
        yield from _text(f"# {point.rule}", layer, point.at, TEXT_MM)


def _nearest(points: FloatArray, to: FloatArray) -> int:
    return int(np.argmin(np.hypot(*(points - to).T)))


def _insert(name: str) -> list[Tag]:
    return [(0, "INSERT"), (8, standard.BOUNDARY), (2, name), *_point(np.zeros(2))]


def _cloth(sheet: Sheet) -> Iterator[Tag]:
    """The edges of the cloth that the pieces lie on, on a layer that is no piece's."""
    width, height = sheet.width_mm, sheet.height_mm
    corners = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    yield from _polyline(corners, CLOTH, closed=True)


def _polyline(points: FloatArray, layer: str, closed: bool) -> Iterator[Tag]:
    yield from [(0, "POLYLINE"), (8, layer), (66, "1"), *_point(np.zeros(2))]
    yield (70, "1" if closed else "0")
    for point in points:
        yield from [(0, "VERTEX"), (8, layer), *_point(point)]
    yield from [(0, "SEQEND"), (8, layer)]


def _line(ends: FloatArray, layer: str) -> Iterator[Tag]:
    yield from [(0, "LINE"), (8, layer), *_point(ends[0])]
    yield from [(11, _number(ends[1][0])), (21, _number(ends[1][1])), (31, "0.0")]


def _points(points: FloatArray, layer: str) -> Iterator[Tag]:
    for point in points:
        yield from [(0, "POINT"), (8, layer), *_point(point)]


def _texts(lines: Iterator[str] | Sequence[str], layer: str, x: float, y: float) -> Iterator[Tag]:
    """One line below the other."""
    for k, line in enumerate(lines):
        yield from _text(line, layer, np.array([x, y - k * _LINE_STEP_MM]), TEXT_MM)


def _text(
    text: str, layer: str, at: FloatArray, height: float, angle: float = 0.0
) -> Iterator[Tag]:
    words = ascii_text(text).replace("^", "^ ")  # alone it begins a control character
    yield from [(0, "TEXT"), (8, layer), *_point(at), (40, _number(height)), (1, words)]
    if angle:
        yield (50, _number(angle))


def _point(point: FloatArray) -> list[Tag]:
    return [(10, _number(point[0])), (20, _number(point[1])), (30, "0.0")]


def ascii_text(text: str) -> str:
    """Other characters as \\U+XXXX, which readers of DXF turn back; beyond 16 bits as '?'."""
    return "".join(
        c if c.isascii() else f"\\U+{ord(c):04X}" if ord(c) < 0x10000 else "?" for c in text
    )


def _number(value: float) -> str:
    """A length to 0.0001 mm."""
    return f"{round(float(value), 4) + 0.0:.4f}"
