"""How full-size paper covers the cloth: pages in rows and columns that overlap. All in mm."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from marker.drawing.pages.paper import Paper
from marker.geometry.arrays import FloatArray

EDGE_MM = 10.0  # bare paper around a page, beyond the reach of common printers (no source)
OVERLAP_MM = 10.0  # of cloth, shown on both of two neighbouring pages (common practice, no source)
NAME_MM = 14.0  # height of a page's name on the page
_NAME_APART = 7.0  # from the page's trimmed edges
_MARKS_AT = (0.25, 0.75)  # of a seam's length


@dataclass(frozen=True)
class Tile:
    """One page's window on the cloth.

    row, column : from 0; rows from the far selvage, columns from the start of the cloth.
    low : cloth mm of the window's lower left corner, which lies EDGE_MM inside the paper's.
    size : of the window, along and across the cloth.
    """

    row: int
    column: int
    low: tuple[float, float]
    size: tuple[float, float]

    @property
    def name(self) -> str:
        """Row by letter, column by number: 'B3'."""
        return f"{_letters(self.row)}{self.column + 1}"

    @property
    def high(self) -> tuple[float, float]:
        """Cloth mm of the window's upper right corner."""
        return (self.low[0] + self.size[0], self.low[1] + self.size[1])

    @property
    def paper(self) -> tuple[float, float]:
        """Width and height of the page."""
        return (self.size[0] + 2 * EDGE_MM, self.size[1] + 2 * EDGE_MM)

    def to_paper(self, points: FloatArray) -> FloatArray:
        """Cloth mm (n, 2) to paper mm from the page's lower left corner."""
        placed: FloatArray = points - np.array(self.low) + EDGE_MM
        return placed


@dataclass(frozen=True)
class Join:
    """The line on which two neighbouring pages meet.

    start, stop : its ends on the cloth; marks : points of it that both pages show.
    """

    start: tuple[float, float]
    stop: tuple[float, float]

    @property
    def marks(self) -> FloatArray:
        """(2, 2) cloth mm."""
        start, stop = np.array(self.start), np.array(self.stop)
        placed: FloatArray = start + np.array(_MARKS_AT)[:, None] * (stop - start)
        return placed


@dataclass(frozen=True)
class Tiling:
    """Every page that covers a rectangle of cloth.

    low : cloth mm of the lower left corner of what the pages show together.
    size : of one page's window.
    """

    low: tuple[float, float]
    size: tuple[float, float]
    columns: int
    rows: int

    @property
    def tiles(self) -> tuple[Tile, ...]:
        """Row by row."""
        return tuple(
            self.tile(row, column) for row in range(self.rows) for column in range(self.columns)
        )

    def tile(self, row: int, column: int) -> Tile:
        """The page in this row and column."""
        along, across = self.size
        low = (
            self.low[0] + column * (along - OVERLAP_MM),
            self.low[1] + (self.rows - 1 - row) * (across - OVERLAP_MM),
        )
        return Tile(row, column, low, self.size)

    def core(self, tile: Tile) -> tuple[FloatArray, FloatArray]:
        """Low and high corner of what is left of a tile once the pages are joined, cloth mm."""
        half = OVERLAP_MM / 2
        low, high = np.array(tile.low), np.array(tile.high)
        low += half * np.array([tile.column > 0, tile.row < self.rows - 1])
        high -= half * np.array([tile.column < self.columns - 1, tile.row > 0])
        return low, high

    def name_place(self, tile: Tile) -> tuple[FloatArray, FloatArray]:
        """Low and high corner of the place of a page's name, in its upper left, cloth mm."""
        low, high = self.core(tile)
        foot = np.array([low[0] + _NAME_APART, high[1] - _NAME_APART - NAME_MM])
        return foot, foot + NAME_MM * np.array([0.95 * len(tile.name), 1.0])

    def joins(self, tile: Tile) -> Iterator[tuple[Tile, Join]]:
        """The neighbours of a tile, and where each meets it."""
        low, high = self.core(tile)
        sides = (
            ((0, -1), (low[0], low[1]), (low[0], high[1])),
            ((0, 1), (high[0], low[1]), (high[0], high[1])),
            ((-1, 0), (low[0], high[1]), (high[0], high[1])),
            ((1, 0), (low[0], low[1]), (high[0], low[1])),
        )
        for (down, right), start, stop in sides:
            row, column = tile.row + down, tile.column + right
            if 0 <= row < self.rows and 0 <= column < self.columns:
                yield self.tile(row, column), Join(start, stop)


def tiling(low: FloatArray, high: FloatArray, paper: Paper) -> Tiling:
    """The fewest pages of `paper` over the rectangle of cloth from `low` to `high`.

    What the pages show beyond the rectangle is shared out evenly around it.
    """
    if not paper.turnable:
        return _covering(low, high, paper)
    upright, lying = (_covering(low, high, way) for way in (paper, paper.turned))
    fewer = lying.columns * lying.rows < upright.columns * upright.rows
    return lying if fewer else upright


def _covering(low: FloatArray, high: FloatArray, paper: Paper) -> Tiling:
    extent = high - low
    windows, counts = [], []
    for need, most, cut in zip(
        extent, (paper.width_mm, paper.height_mm), (paper.cut_long, paper.cut_high), strict=True
    ):
        window = most - 2 * EDGE_MM
        count = max(1, math.ceil((need - OVERLAP_MM) / (window - OVERLAP_MM) - 1e-9))
        if cut:  # as long as needed, all alike
            window = (need + (count - 1) * OVERLAP_MM) / count
        windows.append(float(window))
        counts.append(count)
    shown = [n * (w - OVERLAP_MM) + OVERLAP_MM for n, w in zip(counts, windows, strict=True)]
    first = low - (np.array(shown) - extent) / 2
    return Tiling((first[0], first[1]), (windows[0], windows[1]), *counts)


def _letters(row: int) -> str:
    """A, B, ... Z, AA, AB, ..."""
    name = ""
    row += 1
    while row:
        row, letter = divmod(row - 1, 26)
        name = chr(ord("A") + letter) + name
    return name
