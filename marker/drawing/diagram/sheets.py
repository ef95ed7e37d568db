"""How a cloth is shown on paper: the scale, where a long one is broken over sheets, and what else
goes on each page. Paper mm; A4 landscape by ISO 216, 297 × 210 mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from marker.canvas.lettering import wrapped
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.geometry.arrays import FloatArray

PAPER = (297.0, 210.0)
MARGIN = 8.0
TITLE_HEIGHT = 27.0
RULER = 7.0
START_GUTTER = 16.0  # left of the cloth: ruler, the word 'start', nap arrow
SCALES = (5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 18, 20, 25, 30, 40, 50)
LONGEST_UNBROKEN_MM = 3000.0
SMALLEST_UNBROKEN = 12
OVERLAP_MM = 100.0  # of cloth, shown on both sides of a break

ROW, HIGHEST_ROW = 3.0, 4.6  # of the list
HEAD = 9.0  # its column headings
LIST_PT, NUMBER = 6.0, 5.0  # its size, and how wide the numbers stand
LEAST_WIDTH, MOST_WIDTH = 60.0, 130.0  # of the list
_FEW, _SMALLER = 8, 1.4  # pieces of a short list; how much smaller a cloth is drawn for its sake
COLUMN_WIDTH = 84.0  # of a title block that stands beside the cloth
COLUMN_ROOM = 92.0  # above and below the list in it
_GUTTER = 9.0
_TOP = PAPER[1] - MARGIN
_BASE = MARGIN + TITLE_HEIGHT + 3.0
_ABOVE = 1.5  # the word at a nap arrow
_OVER_RULER = 5.0  # for what is written there
_ROOM_X = PAPER[0] - 2 * MARGIN - START_GUTTER - RULER
_FOOT = MARGIN + TITLE_HEIGHT + 1.0 + RULER
_ROOM_Y = PAPER[1] - MARGIN - _FOOT - RULER
_LOW = MARGIN + RULER + 1.0  # the near edge where no title block lies along the foot


@dataclass(frozen=True)
class Sheet:
    """One page's window on the cloth.

    number, count : this page of all pages that show cloth.
    scale : mm of cloth for each mm of paper.
    start_mm, end_mm : the stretch of cloth shown, end allowances included.
    near_mm : how far the cloth reaches below y = 0 (the near selvage), mm of cloth.
    foot : paper y of the cloth's near edge.
    """

    number: int
    count: int
    scale: int
    start_mm: float
    end_mm: float
    near_mm: float
    foot: float = _FOOT

    def to_paper(self, points: FloatArray) -> FloatArray:
        """Cloth mm (n, 2) to paper mm from the page's lower left corner."""
        placed: FloatArray = (points - self._origin) / self.scale + self._corner
        return placed

    def to_cloth(self, points: FloatArray) -> FloatArray:
        """Paper mm (n, 2) back to cloth mm."""
        placed: FloatArray = (points - self._corner) * self.scale + self._origin
        return placed

    def x(self, cloth_x: float) -> float:
        """Paper x of a distance along the cloth."""
        return (cloth_x - self.start_mm) / self.scale + MARGIN + START_GUTTER

    def y(self, cloth_y: float) -> float:
        """Paper y of a distance across the cloth."""
        return (cloth_y + self.near_mm) / self.scale + self.foot

    @cached_property
    def _corner(self) -> FloatArray:
        return np.array([MARGIN + START_GUTTER, self.foot])

    @cached_property
    def _origin(self) -> FloatArray:
        return np.array([self.start_mm, -self.near_mm])


@dataclass(frozen=True)
class ListColumn:
    """One column of the list of pieces: left, top and width on paper, mm.

    row : height of a row. near_edge : of the cloth, from which distances across it are taken.
    """

    left: float
    top: float
    width: float
    pieces: tuple[PieceDrawing, ...]
    near_edge: str = "selvage"
    row: float = ROW

    def note_lines(self, piece: PieceDrawing) -> list[str]:
        """What else is to be known of a piece, in lines below its own."""
        return wrapped(piece.note, self.width - NUMBER, LIST_PT) if piece.note else []

    @property
    def rows(self) -> int:
        """Of all pieces, lines of their notes included."""
        return sum(map(self.rows_of, self.pieces))

    def rows_of(self, piece: PieceDrawing) -> int:
        """Of one piece, lines of its note included."""
        return 1 + len(self.note_lines(piece))


@dataclass(frozen=True)
class DiagramPage:
    """sheet : the cloth shown, None on a page that holds only the list.

    beside : where a title block that stands beside the cloth begins; None where it lies along the
    foot of the page.
    """

    sheet: Sheet | None
    columns: tuple[ListColumn, ...]
    beside: float | None = None


def plan_pages(scene: Scene) -> tuple[DiagramPage, ...]:
    """Sheets of cloth, then the list: beside the last sheet or over it if there is room, else after
    it. For a short list the cloth is drawn a little smaller rather than to give it its own page.

    A cloth that is about as long as it is wide is drawn larger with everything else beside it.
    """
    sheets = break_into_sheets(scene)
    column = _with_column(scene)
    if column and (len(sheets) > 1 or column.sheet.scale < sheets[0].scale):  # type: ignore[union-attr]
        return (column,)
    listed = _listed(scene, sheets)
    if not listed and len(scene.pieces) <= _FEW:
        smaller = [each for each in SCALES if 1 < each / sheets[0].scale <= _SMALLER]
        tried = (_listed(scene, break_into_sheets(scene, each)) for each in smaller)
        listed = next(filter(None, tried), ())
    return listed or (*(DiagramPage(sheet, ()) for sheet in sheets), *_list_pages(scene))


def _listed(scene: Scene, sheets: tuple[Sheet, ...]) -> tuple[DiagramPage, ...]:
    """The sheets with the list beside or over the last one; none where there is no room for it."""
    left = sheets[-1].x(sheets[-1].end_mm) + RULER + _GUTTER
    width = min(MOST_WIDTH, PAPER[0] - MARGIN - left)
    beside = ListColumn(left, _TOP, width, scene.pieces, scene.near_edge)
    fits = width >= LEAST_WIDTH and beside.rows <= _rows()
    columns = (beside,) if fits else _above(scene, sheets[-1])
    if not columns:
        return ()
    return (*(DiagramPage(sheet, ()) for sheet in sheets[:-1]), DiagramPage(sheets[-1], columns))


def _above(scene: Scene, sheet: Sheet) -> tuple[ListColumn, ...]:
    """The list over the last stretch of a cloth that leaves room there, in the fewest columns; none
    where it leaves too little."""
    cloth = sheet.y(scene.width_mm + scene.selvage_mm) + RULER + _OVER_RULER
    whole = PAPER[0] - 2 * MARGIN
    for count in range(2, int(whole / LEAST_WIDTH) + 1):
        width = (whole - (count - 1) * _GUTTER) / count
        if width < LEAST_WIDTH:
            break
        column = ListColumn(MARGIN, _TOP, width, scene.pieces, scene.near_edge)
        most = -(-column.rows // count)
        while len(parts := _filled(column, most)) > count:
            most += 1
        if HEAD + most * ROW <= _TOP - cloth:
            row = min(HIGHEST_ROW, (_TOP - cloth - HEAD) / most)
            return tuple(
                replace(part, left=MARGIN + k * (width + _GUTTER), row=row)
                for k, part in enumerate(parts)
            )
    return ()


def _filled(column: ListColumn, most: int) -> list[ListColumn]:
    """The pieces of a column in as many of so many rows as they take."""
    filled: list[list[PieceDrawing]] = [[]]
    rows = 0
    for piece in column.pieces:
        rows += column.rows_of(piece)
        if rows > most and filled[-1]:
            filled.append([])
            rows = column.rows_of(piece)
        filled[-1].append(piece)
    return [replace(column, pieces=tuple(pieces)) for pieces in filled]


def break_into_sheets(scene: Scene, least_scale: int = 1) -> tuple[Sheet, ...]:
    """The fewest equal windows at the largest scale that suits the cloth's width.

    A layout of at most 3 m that fits one page at 1:12 or larger stays whole.
    least_scale : no larger scale than this one is taken.
    """
    length = scene.length_mm + 2 * scene.end_mm
    width = scene.width_mm + 2 * scene.selvage_mm
    scale = largest_scale(max(length / _ROOM_X, width / _ROOM_Y, least_scale))
    count = 1
    if length > LONGEST_UNBROKEN_MM or scale > SMALLEST_UNBROKEN:
        scale = largest_scale(max(width / _ROOM_Y, least_scale))
        count = max(1, math.ceil((length - OVERLAP_MM) / (_ROOM_X * scale - OVERLAP_MM)))
    window = (length + (count - 1) * OVERLAP_MM) / count
    starts = [k * (window - OVERLAP_MM) - scene.end_mm for k in range(count)]
    return tuple(
        Sheet(k, count, scale, start, start + window, scene.selvage_mm)
        for k, start in enumerate(starts, start=1)
    )


def _with_column(scene: Scene) -> DiagramPage | None:
    """The whole cloth on one page with title block and list beside it; None if that won't do."""
    length = scene.length_mm + 2 * scene.end_mm
    width = scene.width_mm + 2 * scene.selvage_mm
    high = PAPER[1] - MARGIN - RULER - _ABOVE - _LOW
    scale = largest_scale(max(length / (_ROOM_X - _GUTTER - COLUMN_WIDTH), width / high))
    rows = int((PAPER[1] - 2 * MARGIN - COLUMN_ROOM - HEAD) / ROW)
    if scale > SMALLEST_UNBROKEN:
        return None
    foot = _LOW + (high - width / scale)  # the cloth hangs from the top
    end = scene.length_mm + scene.end_mm
    sheet = Sheet(1, 1, scale, -scene.end_mm, end, scene.selvage_mm, foot)
    left = sheet.x(end) + RULER + _GUTTER
    column = ListColumn(left, 0.0, PAPER[0] - MARGIN - left, scene.pieces, scene.near_edge)
    if column.rows > rows:
        return None
    return DiagramPage(sheet, (column,), left)


def largest_scale(least: float) -> int:
    """The scale, as mm of cloth for a mm of paper, that shrinks by at least `least`."""
    for scale in SCALES:
        if scale >= least:
            return scale
    return math.ceil(least / 50) * 50


def _rows() -> int:
    return int((_TOP - _BASE - HEAD) / ROW)


def _list_pages(scene: Scene) -> list[DiagramPage]:
    """Two columns a page, as even as the number of pieces allows."""
    width = (PAPER[0] - 2 * MARGIN - _GUTTER) / 2
    left, right = MARGIN, MARGIN + width + _GUTTER
    whole = ListColumn(left, _TOP, width, scene.pieces, scene.near_edge)
    columns = -(-whole.rows // _rows())
    most = _rows() if columns > 2 else min(_rows(), max(20, -(-whole.rows // 2)))
    placed = [
        replace(part, left=right if k % 2 else left) for k, part in enumerate(_filled(whole, most))
    ]
    return [DiagramPage(None, tuple(placed[k : k + 2])) for k in range(0, len(placed), 2)]
