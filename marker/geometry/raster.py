"""Outlines as shares of grid cells, and the area that two of them have in common."""

from __future__ import annotations

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.geometry.kernels import kernel

LINES = 4
"""Lines drawn through each row of cells: exact along them, sampled across."""

FAST = 16
"""Transforms are quick for sizes that are multiples of this."""


@kernel(allocates=True)
def cover(outline: FloatArray, cell: float, rows: int, columns: int) -> FloatArray:
    """Share of each cell that an outline covers, (rows, columns), the first cell at the origin.

    outline : (n, 2) counter-clockwise, within the cells. Wherever it meets a line, the share to
    the right of that point changes; the running sum of the changes is the share itself.
    """
    share = np.zeros((rows, columns))
    for k in range(len(outline)):
        x1, y1 = outline[k - 1, 0] / cell, outline[k - 1, 1] / cell
        x2, y2 = outline[k, 0] / cell, outline[k, 1] / cell
        change = (1.0 if y2 < y1 else -1.0) / LINES
        first = int(np.ceil(min(y1, y2) * LINES - 0.5))
        last = int(np.ceil(max(y1, y2) * LINES - 0.5))
        for line in range(first, last):
            x = x1 + ((line + 0.5) / LINES - y1) * (x2 - x1) / (y2 - y1)
            column, row = int(x), line // LINES
            share[row, column] += change * (column + 1.0 - x)
            share[row, column + 1] += change * (x - column)
    for row in range(rows):
        for column in range(1, columns):
            share[row, column] += share[row, column - 1]
    return share


def common_areas(
    a: FloatArray, b: FloatArray, origin: FloatArray, cell: float, nx: int, ny: int
) -> FloatArray:
    """Area that outline a and outline b, moved, have in common, about; (ny, nx).

    The moves are origin + cell × (column, row). Both outlines have the lower left corner of their
    bounding box at (0, 0), and the moves reach from just before b meets a to just after. Cells
    are multiplied for all moves at once, as a correlation by Fourier transform.
    """
    whole = np.floor(origin / cell).astype(np.int64)
    rows, columns = (-(-(count + 2) // FAST) * FAST for count in (ny, nx))
    still = cover(a, cell, rows, columns)
    moved = cover(b + (origin - whole * cell), cell, rows, columns)
    product = np.fft.rfft2(still) * np.conj(np.fft.rfft2(moved))
    areas = np.fft.irfft2(product, (rows, columns)) * cell**2
    areas = np.roll(areas, (-whole[1], -whole[0]), axis=(0, 1))[:ny, :nx]
    return np.maximum(areas, 0.0)
