"""The overlap grids: for every pair of shapes, how bad an overlap is, ready for the kernels.

For each pair a <= b there are the no-fit polygon's edges bucketed by rows of a grid, and on the
grid's nodes the overlap penalty, the quantity that the search drives to zero. A look-up costs a few
memory reads instead of a walk round two outlines; only in cells that the boundary crosses is the
exact polygon asked, so whether a pair overlaps at all is decided exactly. The idea of looking
penetration up in precomputed maps is that of Sato et al. (2019).

The penalty of a pair joins two measures in their geometric mean: the penetration depth (how far
one piece must move, in the nearest direction, to be free) and the root of the area the two have
in common. Depth alone counts a corner like a whole side that laps as far; area alone gives no way
out of a piece that covers the other. It is scaled by the pieces' sizes, so that small pieces make
way for large ones (as Gardeyn, Vanden Berghe & Wauters 2025 scale theirs by the hulls). Near zero
depth it follows a hyperbola instead of vanishing, so that pieces that barely overlap still feel
which way is out (same paper).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import MultiPoint

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.geometry.raster import common_areas
from marker.placement.checking import at_least
from marker.placement.problem.statement import PlacementProblem
from marker.placement.tables.no_fit_polygons import Boundaries


@dataclass(frozen=True)
class GridParams:
    """How fine the grids are. cells : along the longer side of a no-fit polygon."""

    cells: int = 80

    def __post_init__(self) -> None:
        at_least(self, 4, "cells")


class NoFitTable(NamedTuple):
    """Flat arrays over all pairs; `pair[a, b]` is the index of a pair, a <= b, and means nothing
    for two shapes of obstacles.

    grid : (p, 6) for each pair, side by side so that one look-up reads them all: first node's x
        and y, mm; nodes per mm; nodes along x; where its nodes begin in `value` (row by row along
        x); where its rows begin in `row_edges`. The counts are whole numbers.
    value : float32, penalty at each node, of the form explained in `penalty`.
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


def no_fit_table(
    problem: PlacementProblem, edges_of: Boundaries, params: GridParams = GridParams()
) -> NoFitTable:
    """The kernels' table of all pairs."""
    shapes = problem.shapes
    sizes = [hull_size(shape) for shape in shapes]
    grids = [
        _grid(edges, (shapes[a], shapes[b]), sizes[a] * sizes[b], params.cells)
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


def _grid(
    edges: FloatArray, pair: tuple[FloatArray, FloatArray], weight: float, cells: int
) -> _Grid:
    points = edges[:, :2]
    low, high = points.min(axis=0), points.max(axis=0)
    cell = float((high - low).max()) / cells
    origin = low - 0.4321 * cell  # nodes should not fall on edges
    nx, ny = (int(n) for n in np.ceil((high - origin) / cell) + 1)
    depth = signed_depth(edges, origin, cell, nx, ny)
    kind = cell_kinds(depth, cell)
    common = common_areas(*pair, origin, cell, nx, ny)
    value = overlap_penalty(depth, common, cell) * weight
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


def hull_size(outline: FloatArray) -> float:
    """Fourth root of the area of the convex hull; a pair weighs as much as the product of both."""
    return float(MultiPoint(outline).convex_hull.area ** 0.25)


def overlap_penalty(depth: FloatArray, common: FloatArray, soft: float) -> FloatArray:
    """Geometric mean, mm, of the depth and the root of the common area.

    depth : mm. Where it exceeds `soft` it counts as it is, below (and outside) as a hyperbola that
    stays positive. common : mm².
    """
    deep = np.where(depth > soft, depth, soft**2 / (2 * soft - np.minimum(depth, soft)))
    wide: FloatArray = np.sqrt(deep * np.sqrt(common + soft**2))
    return wide


def signed_depth(
    edges: FloatArray, origin: FloatArray, cell: float, nx: int, ny: int
) -> FloatArray:
    """Distance of each grid node to the nearest edge, positive inside. Returns (ny, nx)."""
    along = edges[:, 2:] - edges[:, :2]
    square = (along**2).sum(axis=1)
    lines = np.ascontiguousarray(np.column_stack([edges[:, :2], along, 1.0 / square]).T)
    xs = origin[0] + cell * np.arange(nx)
    ys = origin[1] + cell * np.arange(ny)
    distance = np.sqrt(_square_distances(lines, xs, ys))
    return np.where(_insides(edges, xs, ys), distance, -distance)


@kernel(allocates=True, fastmath=True)
def _square_distances(lines: FloatArray, xs: FloatArray, ys: FloatArray) -> FloatArray:
    """Square of each node's distance to the nearest edge. lines : (5, k) x, y, ux, uy, 1/|u|²."""
    squares = np.empty((len(ys), len(xs)))
    x1, y1, ux, uy, inverse = lines
    for row in range(len(ys)):
        for column in range(len(xs)):
            nearest = np.inf
            for k in range(len(x1)):
                px, py = xs[column] - x1[k], ys[row] - y1[k]
                t = min(max((px * ux[k] + py * uy[k]) * inverse[k], 0.0), 1.0)
                px -= t * ux[k]
                py -= t * uy[k]
                nearest = min(nearest, px * px + py * py)
            squares[row, column] = nearest
    return squares


@kernel(allocates=True)
def _insides(edges: FloatArray, xs: FloatArray, ys: FloatArray) -> NDArray[np.bool_]:
    """Whether each node lies inside: every crossing of its row turns all nodes to its left over."""
    inside = np.zeros((len(ys), len(xs)), dtype=np.bool_)
    for row in range(len(ys)):
        y = ys[row]
        for k in range(len(edges)):
            x1, y1, x2, y2 = edges[k, 0], edges[k, 1], edges[k, 2], edges[k, 3]
            if (y1 > y) != (y2 > y):
                crossing = x1 + (y - y1) * (x2 - x1) / (y2 - y1)
                for column in range(len(xs)):
                    if xs[column] >= crossing:
                        break
                    inside[row, column] = not inside[row, column]
    return inside


def cell_kinds(depth: FloatArray, cell: float) -> NDArray[np.int8]:
    """0 where a node's cell lies wholly outside, 1 wholly inside, 2 where the edge may cross.

    A cell is at most √2 × its side from its own node, so a depth beyond that settles it.
    """
    reach = cell * np.sqrt(2.0)
    return np.where(depth > reach, 1, np.where(depth < -reach, 0, 2)).astype(np.int8)
