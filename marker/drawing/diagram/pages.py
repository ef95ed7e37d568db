"""What goes on each page: a sheet of cloth, the list of pieces, or both."""

from __future__ import annotations

from dataclasses import dataclass

from marker.drawing.diagram.piece_drawing import PieceDrawing
from marker.drawing.diagram.scene import Scene
from marker.drawing.diagram.sheets import (
    MARGIN,
    PAPER,
    RULER,
    TITLE_HEIGHT,
    Sheet,
    break_into_sheets,
)

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
