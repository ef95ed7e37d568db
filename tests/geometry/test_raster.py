"""Rasters against shapely, the reference library for polygons."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon, box

from marker.geometry.arrays import FloatArray
from marker.geometry.raster import LINES, common_areas, cover

CUP = np.array([[0, 0], [60, 0], [60, 45], [48, 45], [40, 12], [18, 12], [12, 50], [0, 50.0]])
KITE = np.array([[0, 20], [16, 0], [70, 22], [14, 33.0]])


def test_whole_and_half_cells_are_counted_exactly() -> None:
    share = cover(np.array([[1, 1], [3.5, 1], [3.5, 2], [1, 2.0]]), 1.0, 3, 5)
    assert share.tolist() == [[0, 0, 0, 0, 0], [0, 1, 1, 0.5, 0], [0, 0, 0, 0, 0]]


@pytest.mark.parametrize("outline", [CUP, KITE])
def test_each_cell_has_the_share_that_shapely_gives(outline: FloatArray) -> None:
    cell = 2.5
    share = cover(outline, cell, 24, 32)
    true = Polygon(outline)
    wrong = [
        abs(share[row, column] - true.intersection(square).area / cell**2)
        for row in range(24)
        for column in range(32)
        for square in [box(column * cell, row * cell, (column + 1) * cell, (row + 1) * cell)]
    ]
    assert max(wrong) <= 0.5 / LINES
    assert share.sum() * cell**2 == pytest.approx(true.area, rel=0.01)


@pytest.mark.parametrize(("a", "b"), [(CUP, KITE), (KITE, CUP), (CUP, CUP)])
def test_common_areas_are_those_that_shapely_gives(a: FloatArray, b: FloatArray) -> None:
    cell = 2.0
    origin = -b.max(axis=0) - 0.4321 * cell
    nx, ny = (int(n) for n in np.ceil((a.max(axis=0) - origin) / cell) + 1)
    areas = common_areas(a, b, origin, cell, nx, ny)
    assert areas.shape == (ny, nx)
    still, moved = Polygon(a), Polygon(b)
    for row in range(0, ny, 3):
        for column in range(0, nx, 3):
            x, y = origin + cell * np.array([column, row])
            true = still.intersection(affinity.translate(moved, x, y)).area
            # half a cell along the boundary of what they share, on average far less
            assert areas[row, column] == pytest.approx(true, abs=0.02 * still.area)
