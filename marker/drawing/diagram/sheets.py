"""How a cloth is shown on paper: the scale, where a long one is broken over sheets, and what else
goes on each page. Paper mm; A4 landscape by ISO 216, 297 × 210 mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.geometry.arrays import FloatArray

PAPER = (297.0, 210.0)
MARGIN = 8.0
TITLE_HEIGHT = 27.0
RULER = 7.0
START_GUTTER = 16.0  # left of the cloth: ruler, the word 'start', nap arrow
SCALES = (5, 8, 10, 12, 15, 20, 25, 30, 40, 50)
LONGEST_UNBROKEN_MM = 3000.0
SMALLEST_UNBROKEN = 12
OVERLAP_MM = 100.0  # of cloth, shown on both sides of a break

_ROOM_X = PAPER[0] - 2 * MARGIN - START_GUTTER - RULER
_ROOM_Y = PAPER[1] - 2 * MARGIN - TITLE_HEIGHT - 2 * RULER - 1.0
_FOOT = MARGIN + TITLE_HEIGHT + 1.0 + RULER


@dataclass(frozen=True)
class Sheet:
    """One page's window on the cloth.

    number, count : this page of all pages that show cloth.
    scale : mm of cloth for each mm of paper.
    start_mm, end_mm : the stretch of cloth shown, end allowances included.
    near_mm : how far the cloth reaches below y = 0 (the near selvage), mm of cloth.
    """

    number: int
    count: int
    scale: int
    start_mm: float
    end_mm: float
    near_mm: float

    def to_paper(self, points: FloatArray) -> FloatArray:
        """Cloth mm (n, 2) to paper mm from the page's lower left corner."""
        corner = np.array([MARGIN + START_GUTTER, _FOOT])
        origin = np.array([self.start_mm, -self.near_mm])
        placed: FloatArray = (points - origin) / self.scale + corner
        return placed

    def to_cloth(self, points: FloatArray) -> FloatArray:
        """Paper mm (n, 2) back to cloth mm."""
        corner = np.array([MARGIN + START_GUTTER, _FOOT])
        origin = np.array([self.start_mm, -self.near_mm])
        placed: FloatArray = (points - corner) * self.scale + origin
        return placed

    def x(self, cloth_x: float) -> float:
        """Paper x of a distance along the cloth."""
        return float(self.to_paper(np.array([[cloth_x, 0.0]]))[0, 0])

    def y(self, cloth_y: float) -> float:
        """Paper y of a distance across the cloth."""
        return float(self.to_paper(np.array([[0.0, cloth_y]]))[0, 1])


def break_into_sheets(scene: Scene) -> tuple[Sheet, ...]:
    """The fewest equal windows at the largest scale that suits the cloth's width.

    A layout of at most 3 m that fits one page at 1:12 or larger stays whole.
    """
    length = scene.length_mm + 2 * scene.end_mm
    width = scene.width_mm + 2 * scene.selvage_mm
    scale = largest_scale(max(length / _ROOM_X, width / _ROOM_Y))
    count = 1
    if length > LONGEST_UNBROKEN_MM or scale > SMALLEST_UNBROKEN:
        scale = largest_scale(width / _ROOM_Y)
        count = max(1, math.ceil((length - OVERLAP_MM) / (_ROOM_X * scale - OVERLAP_MM)))
    window = (length + (count - 1) * OVERLAP_MM) / count
    starts = [k * (window - OVERLAP_MM) - scene.end_mm for k in range(count)]
    return tuple(
        Sheet(k, count, scale, start, start + window, scene.selvage_mm)
        for k, start in enumerate(starts, start=1)
    )


def largest_scale(least: float) -> int:
    """The scale, as mm of cloth for a mm of paper, that shrinks by at least `least`."""
    for scale in SCALES:
        if scale >= least:
            return scale
    return math.ceil(least / 50) * 50


ROW = 3.0  # of the list, mm
HEAD = 9.0  # its column headings
LEAST_WIDTH, MOST_WIDTH = 84.0, 130.0
_GUTTER = 9.0
_TOP = PAPER[1] - MARGIN
_BASE = MARGIN + TITLE_HEIGHT + 3.0


@dataclass(frozen=True)
class ListColumn:
    """One column of the list of pieces: left, top and width on paper, mm.

    near_edge : of the cloth, from which distances across it are taken.
    """

    left: float
    top: float
    width: float
    pieces: tuple[PieceDrawing, ...]
    near_edge: str = "selvage"


@dataclass(frozen=True)
class Page:
    """sheet : the cloth shown, None on a page that holds only the list."""

    sheet: Sheet | None
    columns: tuple[ListColumn, ...]


def plan_pages(scene: Scene) -> tuple[Page, ...]:
    """Sheets of cloth, then the list: beside the last sheet if there is room, else after it."""
    sheets = break_into_sheets(scene)
    left = sheets[-1].x(sheets[-1].end_mm) + RULER + _GUTTER
    width = min(MOST_WIDTH, PAPER[0] - MARGIN - left)
    if width >= LEAST_WIDTH and len(scene.pieces) <= _rows():
        beside = ListColumn(left, _TOP, width, scene.pieces, scene.near_edge)
        last = Page(sheets[-1], (beside,))
        return (*(Page(sheet, ()) for sheet in sheets[:-1]), last)
    return (*(Page(sheet, ()) for sheet in sheets), *_list_pages(scene))


def _rows() -> int:
    return int((_TOP - _BASE - HEAD) / ROW)


def _list_pages(scene: Scene) -> list[Page]:
    """Two columns a page, as even as the number of pieces allows."""
    width = (PAPER[0] - 2 * MARGIN - _GUTTER) / 2
    pieces, pages = scene.pieces, []
    for first in range(0, len(pieces), 2 * _rows()):
        chunk = pieces[first : first + 2 * _rows()]
        half = min(_rows(), max(20, -(-len(chunk) // 2)))
        columns = [ListColumn(MARGIN, _TOP, width, chunk[:half], scene.near_edge)]
        if chunk[half:]:
            right = MARGIN + width + _GUTTER
            columns.append(ListColumn(right, _TOP, width, chunk[half:], scene.near_edge))
        pages.append(Page(None, tuple(columns)))
    return pages
