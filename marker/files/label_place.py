"""What is written on a piece in a drawing, where, and how large."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from marker.files.piece_text import annotation_lines, system_lines
from marker.pattern.flat_piece import FlatPiece, widest_place

LETTER_WIDTH, LINE_STEP = 0.6, 1.3  # of the letters' size
_BIGGEST_MM, _SMALLEST_MM = 10.0, 2.0
_CLEAR_MM = 1.0  # between a label and the lines inside a piece


@dataclass(frozen=True)
class Label:
    """Lines of text around a centre. x_mm : the centre, y up. size_mm : of the letters."""

    lines: tuple[str, ...]
    x_mm: float
    y_mm: float
    size_mm: float

    def baseline_mm(self, number: int) -> float:
        """y of the baseline of a line, counted from 0."""
        return self.y_mm + (LINE_STEP * ((len(self.lines) - 1) / 2 - number) - 0.35) * self.size_mm

    @property
    def widest_mm(self) -> float:
        """Width of the longest line, letters being as wide as one another."""
        return LETTER_WIDTH * max(map(len, self.lines)) * self.size_mm


def label(piece: FlatPiece) -> Label:
    """The piece's texts, as large as its widest clear place allows, within limits."""
    lines = (*system_lines(piece), *annotation_lines(piece))
    (x, y), room = _clear_place(piece)
    # the largest block of that many lines that fits a circle of this radius
    size = 2 * room / np.hypot(LETTER_WIDTH * max(map(len, lines)), LINE_STEP * len(lines))
    return Label(lines, x, y, float(np.clip(size, _SMALLEST_MM, _BIGGEST_MM)))


def _clear_place(piece: FlatPiece) -> tuple[tuple[float, float], float]:
    """Centre and radius of about the largest circle inside a piece that no line runs through."""
    lines = [line for line in (piece.grain, piece.fold, *piece.inner_lines) if line is not None]
    drawn = shapely.union_all([shapely.LineString(line).buffer(_CLEAR_MM) for line in lines])
    whole = shapely.Polygon(piece.outline, piece.cutouts)
    parts = shapely.get_parts(whole.difference(drawn)) if lines else [whole]
    places = [widest_place(part) for part in parts if isinstance(part, shapely.Polygon)]
    return max(places or [widest_place(whole)], key=lambda place: place[1])
