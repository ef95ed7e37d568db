"""What stands on the first full-size page: test squares, page map, pieces, how pages are joined."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.canvas.lettering import FIGURE_RISE, SMALLEST_PT, fit_size, shorten, wrapped
from marker.canvas.pen import ACCENT, BLACK, DARK, GREY, PALE, PAPER_WHITE, Pen
from marker.drawing.pages.full_size import COVER_MM, FullSize
from marker.drawing.pages.key import KEY_MM, draw_key
from marker.drawing.pages.tiling import OVERLAP_MM
from marker.geometry.arrays import FloatArray
from marker.units import cut_length
from marker.words import BLADES

_LARGEST_PT = 9.0


def draw_map(pen: Pen, full: FullSize, left: float, top: float, room: tuple[float, float]) -> None:
    """The map with its upper left corner there, no larger than `room`; pages left out are grey."""
    grid = full.tiling
    corners = np.array([[tile.low, tile.high] for tile in grid.tiles])
    low, high = corners[:, 0].min(axis=0), corners[:, 1].max(axis=0)
    share = float(min(np.array(room) / (high - low)))
    corner = np.array([left, top - float(high[1] - low[1]) * share])

    def small(points: FloatArray) -> FloatArray:
        placed: FloatArray = (points - low) * share + corner
        return placed

    printed = {tile.name for tile in full.printed}
    pages = {
        tile.name: shapely.box(*small(np.array(grid.core(tile))).ravel()) for tile in grid.tiles
    }
    for name, page in pages.items():
        pen.fill(page, PAPER_WHITE if name in printed else PALE, GREY, 0.15)
    for piece in (each for one in full.scene.pieces for each in one.in_all_sizes):
        pen.lines([small(np.vstack([piece.outline, piece.outline[:1]]))], 0.2, DARK)
    size = float(np.clip(min(grid.size) * share, SMALLEST_PT, _LARGEST_PT))
    for name, page in pages.items():
        _draw_name(pen, name, page, size, name in printed)


def _draw_name(pen: Pen, name: str, page: BaseGeometry, size: float, printed: bool) -> None:
    """A page's name on bare ground in its middle, if the page has room for it."""
    low_x, low_y, high_x, high_y = page.bounds
    wide, high = text_width(name, size, bold=True) + 0.8, FIGURE_RISE * size * MM_PER_PT + 0.8
    if wide > high_x - low_x or high > high_y - low_y:
        return
    x, y = (low_x + high_x) / 2, (low_y + high_y) / 2
    ground = shapely.box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
    pen.fill(ground, PAPER_WHITE if printed else PALE)
    colour = ACCENT if printed else DARK
    pen.text(x, y - high / 2 + 0.4, name, size, bold=True, colour=colour, align="center")


SQUARE_MM, INCH_MM = 100.0, 25.4
_WIDTH = COVER_MM[0]
_BESIDE = SQUARE_MM + 8.0
_PAPER_MM = 0.5  # by which paper may grow or shrink over the larger square (no source)
_MAP_TOP, _MAP_HEIGHT = 137.0, 78.0
_LIST_TOP, _ROW, _ROWS = 222.0, 3.4, 8
_PROJECTOR_WORDS = (
    "Set up the projector until both squares measure right along and across; check a far corner "
    "of the grid too, 10 cm from line to line."
)


def _how_to(full: FullSize) -> Iterator[str]:
    """How to print at scale, and how pages are joined."""
    yield (
        "Print at 100 % (actual size), never fitted to the page. Print this page first and measure "
        "both squares, along and across, before you print or cut anything else. "
        f"{cut_length(_PAPER_MM)} more or less along the larger one is paper; more is the scale."
    )
    if len(full.tiling.tiles) > 1:
        yield (
            "Trim each page along the dashed lines on its right and at its foot, lay it over its "
            "neighbours so that the crosses meet, and tape it. The name of the neighbour stands in "
            f"the margin. Neighbours share {cut_length(OVERLAP_MM)}."
        )


def draw_cover(pen: Pen, full: FullSize, left: float, top: float) -> None:
    """All of it, from an upper left corner on the page; COVER_MM wide and high."""
    _draw_title(pen, full, left, top)
    _draw_squares(pen, left, top - 30.0)
    x, y = left + _BESIDE, top - 30.0 - INCH_MM - 12.0
    for words in _how_to(full):
        y = _draw_words(pen, words, x, y) - 2.5
    draw_map(pen, full, left, top - _MAP_TOP, (_WIDTH - KEY_MM, _MAP_HEIGHT))
    draw_key(pen, full, left + _WIDTH - KEY_MM + 6.0, top - _MAP_TOP - 2.0)
    _draw_list(pen, full, left, top - _LIST_TOP)
    pen.text(left, top - COVER_MM[1] + 2.0, BLADES, 6.5, colour=DARK)


def draw_projector_cover(pen: Pen, full: FullSize, left: float, top: float) -> None:
    """The test squares in lines and letters that a projector can show."""
    job = full.scene.job_name
    size = fit_size(job, _WIDTH, 40.0, bold=True)
    pen.text(left, top - 14.0, shorten(job, _WIDTH, size, bold=True), size, bold=True)
    y = top - 24.0
    for side, words in ((SQUARE_MM, "10 cm"), (INCH_MM, "1 in")):
        _draw_square(pen, left + 2.0, y, side, f"test {words}", 1.5)
        pen.text(left + side + 10.0, y - side / 2 - 4.0, words, 36.0, bold=True)
        y -= side + 12.0
    for line in wrapped(_PROJECTOR_WORDS, _WIDTH, 22.0):
        pen.text(left, y - 4.0, line, 22.0)
        y -= 10.0
    draw_key(pen, full, left, y - 8.0, larger=2.5)


def _draw_title(pen: Pen, full: FullSize, left: float, top: float) -> None:
    job = full.scene.job_name
    size = fit_size(job, _WIDTH, 20.0, bold=True)
    pen.text(left, top - 8.0, shorten(job, _WIDTH, size, bold=True), size, bold=True)
    what = f"{full.title}, cut from {full.scene.cloth_name} · full size, 1 : 1"
    pen.text(left, top - 14.5, shorten(what, _WIDTH, 10.0), 10.0)
    pen.text(left, top - 20.0, shorten(_pages_in_words(full), _WIDTH, 8.0), 8.0, colour=DARK)
    pen.lines([np.array([[left, top - 23.5], [left + _WIDTH, top - 23.5]])], 0.6, BLACK)


def _pages_in_words(full: FullSize) -> str:
    grid = full.tiling
    words = f"{grid.rows} × {grid.columns} pages, rows by letter, columns by number"
    if not full.paper.own_cover:
        words = f"page {grid.tile(0, 0).name} of {words}"
    empty = [tile.name for tile in full.empty]
    if empty:
        words += f"; not printed, because nothing is on them: {', '.join(empty)}"
    return words if len(grid.tiles) > 1 else "on one page"


def _draw_squares(pen: Pen, left: float, top: float) -> None:
    """10 cm with ticks every cm along all sides, and 1 in."""
    _draw_square(pen, left, top, SQUARE_MM, "test square")
    ticks = []
    for at in np.arange(10.0, SQUARE_MM, 10.0):
        long = 4.0 if at == SQUARE_MM / 2 else 2.0
        along = [
            np.array([[at, 0.0], [at, long]]),
            np.array([[at, SQUARE_MM], [at, SQUARE_MM - long]]),
        ]
        ticks += [*along, *(tick[:, ::-1] for tick in along)]
    corner = np.array([left, top - SQUARE_MM])
    pen.lines([tick + corner for tick in ticks], 0.2, BLACK)
    middle = left + SQUARE_MM / 2
    pen.text(middle, top - SQUARE_MM / 2, "10 cm", 22.0, bold=True, align="center")
    words = f"{cut_length(SQUARE_MM)} along each side"
    pen.text(middle, top - SQUARE_MM / 2 - 6.0, words, 8.0, align="center")
    x = left + _BESIDE
    _draw_square(pen, x, top, INCH_MM, "test inch")
    pen.text(x + INCH_MM / 2, top - INCH_MM / 2 - 1.5, "1 in", 11.0, bold=True, align="center")
    pen.text(x + INCH_MM + 3.0, top - 4.0, f"{cut_length(INCH_MM)} along each side", 8.0)


def _draw_square(
    pen: Pen, left: float, top: float, side: float, name: str, width: float = 0.25
) -> None:
    square = shapely.get_coordinates(shapely.box(left, top - side, left + side, top))
    pen.lines([square], width, BLACK, name=name)


def _draw_words(pen: Pen, words: str, x: float, y: float) -> float:
    """A paragraph beside the squares; where the next may start."""
    for line in wrapped(words, _WIDTH - _BESIDE, 8.0):
        pen.text(x, y, line, 8.0)
        y -= 3.8
    return y


def _draw_list(pen: Pen, full: FullSize, left: float, top: float) -> None:
    """Number, name and copy of each piece, in three columns; what is too long is counted."""
    pieces = full.scene.pieces
    entries = [
        ", ".join(filter(None, [f"{p.number}  {p.name}", p.size_words,
                                p.cut or f"{p.copy} of {p.copies}", "mirrored" * p.mirrored]))
        for p in pieces
    ]  # fmt: skip
    room = 3 * _ROWS
    if len(entries) > room:
        entries = [*entries[: room - 1], f"and {len(entries) - room + 1} more"]
    _draw_columns(pen, entries, left, top)


def _draw_columns(pen: Pen, entries: Sequence[str], left: float, top: float) -> None:
    pitch = _WIDTH / 3
    for k, entry in enumerate(entries):
        column, row = divmod(k, _ROWS)
        x, y = left + column * pitch, top - row * _ROW
        pen.text(x, y, shorten(entry, pitch - 3.0, 6.5), 6.5)
