"""The pages of a full-size print and what lies on them, in little."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.canvas.lettering import FIGURE_RISE, SMALLEST_PT
from marker.canvas.pen import ACCENT, DARK, GREY, PALE, PAPER_WHITE, Pen
from marker.drawing.pages.full_size import FullSize
from marker.geometry.arrays import FloatArray

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
    for piece in full.scene.pieces:
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
