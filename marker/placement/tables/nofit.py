"""The no-fit table: every pair of shapes, ready for the kernels.

For each pair a <= b the table holds the no-fit polygon's edges bucketed by rows of a grid, and on
the grid's nodes the severity of an overlap. A severity look-up costs a few memory reads instead
of a walk round two outlines; only in cells that the boundary crosses is the exact polygon asked.
The idea of looking penetration up in precomputed maps is that of Sato et al. (2019); the severity
itself is ours to choose, see `severity`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.raster import common_areas
from marker.placement.problem.statement import PlacementProblem
from marker.placement.tables import overlap_penalty as severity
from marker.placement.tables.boundary import Boundaries

CELLS = 80
"""Grid cells along the longer side of a no-fit polygon."""


class NoFitTable(NamedTuple):
    """Flat arrays over all pairs; `pair[a, b]` is the index of a pair, a <= b, and means nothing
    for two shapes of obstacles.

    grid : (p, 6) for each pair, side by side so that one look-up reads them all: first node's x
        and y, mm; nodes per mm; nodes along x; where its nodes begin in `value` (row by row along
        x); where its rows begin in `row_edges`. The counts are whole numbers.
    value : float32, severity at each node, of the form explained in `severity`.
    kind : int8, for the cell whose lower left node it is: OUTSIDE, INSIDE or BOUNDARY.
    row_edges : int64, `edge` range of each row: row r holds row_edges[r] to row_edges[r + 1].
    edge : (e, 4) y low, y high, x at y low, dx/dy: the edges crossing each row.
    extent : (s, 2) bounding boxes of the shapes.
    """

    pair: IntArray
    grid: FloatArray
    value: NDArray[np.float32]
    kind: NDArray[np.int8]
    row_edges: IntArray
    edge: FloatArray
    extent: FloatArray


OUTSIDE, INSIDE, BOUNDARY = 0, 1, 2


def no_fit_table(problem: PlacementProblem, edges_of: Boundaries) -> NoFitTable:
    """The kernels' table of all pairs."""
    shapes = problem.shapes
    sizes = [severity.size(shape) for shape in shapes]
    grids = [
        _grid(edges, shapes[a], shapes[b], sizes[a] * sizes[b])
        for (a, b), edges in edges_of.items()
    ]
    node_start = np.cumsum([0] + [len(grid.value) for grid in grids[:-1]])
    rows = [_rows(edges, grid) for edges, grid in zip(edges_of.values(), grids, strict=True)]
    row_start = np.cumsum([0] + [len(counts) for counts, _ in rows[:-1]])
    counts = np.concatenate([counts for counts, _ in rows])
    return NoFitTable(
        pair=edges_of.pair,
        grid=np.array(
            [
                (*grid.origin, 1 / grid.cell, grid.nodes[0], node, row)
                for grid, node, row in zip(grids, node_start, row_start, strict=True)
            ]
        ),
        value=np.concatenate([grid.value for grid in grids]),
        kind=np.concatenate([grid.kind for grid in grids]),
        row_edges=np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        edge=np.concatenate([edge for _, edge in rows]),
        extent=np.array([shape.max(axis=0) for shape in shapes]),
    )


class _Grid(NamedTuple):
    origin: FloatArray
    cell: float
    nodes: tuple[int, int]
    value: NDArray[np.float32]
    kind: NDArray[np.int8]


def _grid(edges: FloatArray, a: FloatArray, b: FloatArray, weight: float) -> _Grid:
    points = edges[:, :2]
    low, high = points.min(axis=0), points.max(axis=0)
    cell = float((high - low).max()) / CELLS
    origin = low - 0.4321 * cell  # nodes should not fall on edges
    nx, ny = (int(n) for n in np.ceil((high - origin) / cell) + 1)
    depth = severity.signed_depth(edges, origin, cell, nx, ny)
    kind = severity.cell_kinds(depth, cell)
    common = common_areas(a, b, origin, cell, nx, ny)
    value = severity.joined(depth, common, cell) * weight
    return _Grid(
        origin,
        cell,
        (nx, ny),
        value.astype(np.float32).ravel(),
        kind.ravel(),
    )


def _rows(edges: FloatArray, grid: _Grid) -> tuple[IntArray, FloatArray]:
    """Edges that cross each row of cells: how many a row, and the edges row by row."""
    x1, y1, x2, y2 = edges[np.abs(edges[:, 3] - edges[:, 1]) > 0].T
    up = y1 < y2
    low, high = np.where(up, y1, y2), np.where(up, y2, y1)
    at_low = np.where(up, x1, x2)
    slope = (x2 - x1) / (y2 - y1)
    steep = np.stack([low, high, at_low, slope], axis=1)
    last = grid.nodes[1] - 1
    hair = 1e-3  # an edge that ends on a row's border counts for both rows
    first_row = np.clip(np.floor((low - grid.origin[1]) / grid.cell - hair), 0, last)
    last_row = np.clip(np.floor((high - grid.origin[1]) / grid.cell + hair), 0, last)
    repeats = (last_row - first_row).astype(np.int64) + 1
    source = np.repeat(np.arange(len(steep)), repeats)
    within = np.arange(len(source)) - np.repeat(np.cumsum(repeats) - repeats, repeats)
    row = first_row.astype(np.int64)[source] + within
    counts = np.bincount(row, minlength=grid.nodes[1]).astype(np.int64)
    return counts, steep[source[np.argsort(row, kind="stable")]]
