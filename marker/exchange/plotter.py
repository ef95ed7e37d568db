"""Pieces as text for a pen plotter: the subset of HP-GL/2 that ASTM D6959 keeps to.

From the scope of that practice: vectors only, curves as chords, coordinates absolute and positive
from one origin, one fixed unit, letters of fixed width, no frame advance, one colour. From memory:
the unit is that of HP-GL/2, 1/40 mm = 0.025 mm, and which commands those are.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

import numpy as np

from marker.exchange.flat_piece import FlatPiece
from marker.exchange.label_place import LETTER_WIDTH, Label, labels
from marker.exchange.laid_flat import Sheet, cross, dashes, notch_ticks, ring
from marker.geometry.arrays import FloatArray

UNITS_PER_MM = 40
_STITCHING, _INNER = (4.0, 3.0), (8.0, 3.0)  # dashes mm on, mm off
_END_OF_LABEL = "\x03"
_ADVANCE = 1.5  # of a letter's width, from one to the next in the plotter's own font; from memory


def plotter_text(sheet: Sheet) -> str:
    """The file, 7-bit ASCII; x along the plotter's paper. The same sheet gives the same text."""
    commands = ["IN", "SP1", "PA"]
    if sheet.cloth:
        width, height = sheet.width_mm, sheet.height_mm
        corners = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
        commands += _drawn(ring(corners))
    for piece in sheet.pieces:
        for line in _lines(piece):
            commands += _drawn(line)
    for block in labels(sheet, upright=True):
        commands += _lettered(block)
        if block.leader is not None:
            commands += _drawn(block.leader)
    return ";\n".join([*commands, "PU0,0", "SP0"]) + ";\n"


def _lines(piece: FlatPiece) -> Iterator[FloatArray]:
    """The lines as a pen draws them, the outline last, so that it lies uppermost."""
    if len(piece.stitching):
        yield from dashes(ring(piece.stitching), *_STITCHING)
    if piece.fold is not None:
        yield from dashes(piece.fold, *_INNER)
    for mark in piece.inner_marks:
        if mark.kind.is_point:
            yield from cross(mark.points[0])
        else:
            yield from dashes(mark.points, *_INNER)
    if piece.grain is not None:
        yield piece.grain
        yield _arrow_head(piece.grain)
    yield from notch_ticks(piece)
    yield from map(ring, piece.cutouts)
    yield ring(piece.outline)


def _arrow_head(grain: FloatArray) -> FloatArray:
    tail, head = grain
    along = (head - tail) / np.hypot(*(head - tail))
    across = np.array([-along[1], along[0]])
    return np.array([head - 8 * along + 3 * across, head, head - 8 * along - 3 * across])


def _drawn(points: FloatArray) -> list[str]:
    steps = _units(points)
    kept = np.append(True, (np.diff(steps, axis=0) != 0).any(axis=1))
    first, *rest = [f"{x},{y}" for x, y in steps[kept]]
    return [f"PU{first}", f"PD{','.join(rest)}"] if rest else []


def _units(points: FloatArray) -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
    """Plotter units; what a layout may lie beyond its edge by rounding is brought back to it."""
    return np.maximum(np.rint(points * UNITS_PER_MM), 0).astype(np.int64)


def _lettered(block: Label) -> Iterator[str]:
    width = LETTER_WIDTH * block.size_mm / _ADVANCE
    yield f"SI{width / 10:.3f},{block.size_mm * 0.7 / 10:.3f}"
    for line in block.lines:
        (at,) = _units(block.start(line)[None])
        yield f"PU{at[0]},{at[1]}"
        yield f"LB{_ascii(line.text)}{_END_OF_LABEL}"


def _ascii(text: str) -> str:
    """Letters without their accents; what then is no printable ASCII as '?'."""
    plain = unicodedata.normalize("NFKD", text)
    kept = [c for c in plain if not unicodedata.combining(c)]
    return "".join(c if " " <= c <= "~" else "?" for c in kept)
