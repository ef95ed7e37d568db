"""The overlap grids: for every pair of shapes, how bad an overlap is, ready for the kernels.

Each pair has the edges of its no-fit polygon, bucketed by rows of a grid. The grid's nodes hold the
overlap penalty, which the search drives to zero. A look-up costs a few memory reads instead of a
walk round two outlines. Only in cells that the boundary crosses is the exact polygon asked, so
whether a pair overlaps at all is decided exactly. The idea of looking penetration up in precomputed
maps is that of Sato et al. (2019).

The penalty of a pair joins two measures in their geometric mean. These are the penetration depth
(how far one piece must move, in the nearest direction, to be free) and the root of the area the two
have in common. Depth alone counts a corner like a whole side that laps as far; area alone gives no
way out of a piece that covers the other. It is scaled by the pieces' sizes, so that small pieces
make way for large ones (as Gardeyn, Vanden Berghe & Wauters 2025 scale theirs by the hulls). Near
zero depth it follows a hyperbola instead of vanishing, so that pieces that barely overlap still
feel which way is out (same paper).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import MultiPoint

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.geometry.raster import common_areas
from marker.placement.checking import ascending, at_least, positive
from marker.placement.tables.likeness import Moves, seen_as
from marker.placement.tables.no_fit_polygons import (
    CODE_BITS,
    CODES,
    EXCHANGED,
    FLIPPED_X,
    FLIPPED_Y,
    TURNED,
    Abandoned,
    NoFitPolygons,
    moves_of,
)

OUTSIDE, INSIDE, BOUNDARY = 0, 1, 2

_BESIDE = 0.4321  # of a cell: the first node lies this far off, so that nodes fall on no edge
_HAIR = 1e-3  # of a cell: an edge that ends on a border of cells counts for both
_FAR = 1e30
_CHUNK = 16
_BYTES_A_NODE = 5


@dataclass(frozen=True)
class GridParams:
    """How fine the grids are.

    cells : along the longer side of a no-fit polygon. memory_mb : what all grids may take; where it
    would be more, there are fewer cells, but no fewer than `fewest`.
    """

    cells: int = 80
    fewest: int = 24
    memory_mb: float = 600.0

    def __post_init__(self) -> None:
        at_least(self, 4, "fewest")
        ascending(self, "fewest", "cells")
        positive(self, "memory_mb")


class OverlapGrids(NamedTuple):
    """Flat arrays over all polygons.

    grid : (p, 6) for each polygon: first node's x and y, mm; nodes per mm; nodes along x; where
        its nodes begin in `value`, row by row along x; where its rows begin in `row_edges`.
    look : (s, s, 8) from any two shapes straight to their grid. Its x, in cells, is entry 0 × the
        distance along + entry 1; its y is entry 2 × that across + entry 3. Both are exchanged
        before where entry 4 is not 0. Then come the last three of `grid`.
    value : float32, penalty at each node, of the form explained in `overlap_penalty`.
    kind : int8, for the cell whose lower left node it is: OUTSIDE, INSIDE or BOUNDARY.
    row_edges : int64, `edge` range of each row: row r holds row_edges[r] to row_edges[r + 1].
    edge : (e, 4) y low, y high, x at y low, dx/dy: the edges crossing each row, in cells.
    extent : as in `NoFitPolygons`.
    """

    grid: FloatArray
    look: FloatArray
    value: NDArray[np.float32]
    kind: NDArray[np.int8]
    row_edges: IntArray
    edge: FloatArray
    extent: FloatArray


def overlap_grids(
    polygons: NoFitPolygons,
    shapes: Sequence[FloatArray],
    params: GridParams = GridParams(),
    workers: int = 1,
    stopped: Callable[[], bool] = lambda: False,
) -> OverlapGrids:
    """The grids of all polygons.

    shapes : whose polygons they are. workers : threads that share the work. stopped : asked now and
    then whether to give up, which raises Abandoned.
    """
    grids = _laid_out(polygons, params)
    sizes = [hull_size(shape) for shape in shapes]
    pairs = list(_pair_of_each(polygons))

    def fill(first: int) -> None:
        for p in range(first, min(first + _CHUNK, len(pairs))):
            if not stopped():
                a, b, moves = pairs[p]
                outlines = seen_as(shapes[a], moves), seen_as(shapes[b], moves)
                _fill(polygons, grids, p, outlines, sizes[a] * sizes[b])

    with ThreadPoolExecutor(workers) as executor:
        list(executor.map(fill, range(0, len(pairs), _CHUNK)))
    if stopped():
        raise Abandoned
    return grids


def _laid_out(polygons: NoFitPolygons, params: GridParams) -> OverlapGrids:
    """Empty grids, and in them all that does not depend on nodes."""
    count = len(polygons.start) - 1
    points = [polygons.edge[polygons.start[p] : polygons.start[p + 1], :2] for p in range(count)]
    low = np.array([each.min(axis=0) for each in points]).reshape(-1, 2)
    size = np.array([each.max(axis=0) for each in points]).reshape(-1, 2) - low
    cell, nodes = _cells(size, params)
    grid = np.zeros((count, 6))
    grid[:, :2] = low - _BESIDE * cell[:, None]
    grid[:, 2] = 1 / cell
    grid[:, 3] = nodes[:, 0]
    starts = np.cumsum(np.vstack([np.zeros(2), np.stack([nodes.prod(axis=1), nodes[:, 1]], 1)]), 0)
    grid[:, 4:] = starts[:-1]
    (nodes_in_all, rows_in_all) = starts[-1].astype(np.int64)
    counts = np.zeros(rows_in_all + 1, dtype=np.int64)
    _sort_into_rows(polygons, grid, counts, np.empty((0, 4)))
    row_edges = np.cumsum(counts)
    edge = np.empty((row_edges[-1], 4))
    _sort_into_rows(polygons, grid, row_edges.copy(), edge)
    return OverlapGrids(
        grid=grid,
        look=_looked_up(polygons, grid),
        value=np.empty(nodes_in_all, dtype=np.float32),
        kind=np.empty(nodes_in_all, dtype=np.int8),
        row_edges=row_edges,
        edge=edge,
        extent=polygons.extent,
    )


def _looked_up(polygons: NoFitPolygons, grid: FloatArray) -> FloatArray:
    """`OverlapGrids.look`: what `seen` does, then from mm to cells, once for all."""
    code, own = polygons.pair & CODES - 1, grid[polygons.pair >> CODE_BITS]
    back = np.where(code & EXCHANGED, -1.0, 1.0)
    turned = (code & TURNED) != 0
    longer = back[..., None] * (polygons.extent[:, None] - polygons.extent[None])
    look = np.empty((*code.shape, 8))
    rows, columns = np.indices(code.shape)
    for axis, flip in enumerate((FLIPPED_X, FLIPPED_Y)):
        flipped = (code & flip) != 0
        sign = np.where(flipped, -back, back)
        to = np.where(turned, 1 - axis, axis)  # the grid's axis that this one becomes
        start = np.where(flipped, longer[..., axis], 0.0) - np.where(to, own[..., 1], own[..., 0])
        look[rows, columns, 2 * to] = sign * own[..., 2]
        look[rows, columns, 2 * to + 1] = start * own[..., 2]
    look[..., 4] = turned
    look[..., 5:] = own[..., 3:]
    return look


def _cells(size: FloatArray, params: GridParams) -> tuple[FloatArray, IntArray]:
    """(p,) side of the cells, mm, and (p, 2) nodes along x and y, of polygons so large."""
    for cells in range(params.cells, params.fewest - 1, -4):
        cell = size.max(axis=1) / cells
        nodes = np.ceil(size / cell[:, None] + _BESIDE).astype(np.int64) + 1
        if nodes.prod(axis=1).sum() * _BYTES_A_NODE <= params.memory_mb * 1e6:
            break
    return cell, nodes


def _pair_of_each(polygons: NoFitPolygons) -> Iterator[tuple[int, int, Moves]]:
    """Two shapes for each polygon, and what moves them to where it sees them."""
    flat = polygons.pair.ravel()
    _, first = np.unique(flat // CODES, return_index=True)
    for entry in first[flat[first] >= 0].tolist():
        a, b = divmod(entry, len(polygons.pair))
        code = int(flat[entry]) % CODES
        if code & EXCHANGED:
            a, b = b, a
        yield a, b, moves_of(code).back()


def _fill(
    polygons: NoFitPolygons,
    grids: OverlapGrids,
    p: int,
    outlines: tuple[FloatArray, FloatArray],
    weight: float,
) -> None:
    """Make the nodes of one polygon."""
    origin, cell = grids.grid[p, :2], 1 / grids.grid[p, 2]
    first, nx = int(grids.grid[p, 4]), int(grids.grid[p, 3])
    after = int(grids.grid[p + 1, 4]) if p + 1 < len(grids.grid) else len(grids.value)
    ny = (after - first) // nx
    common = common_areas(*outlines, origin, cell, nx, ny)
    depth = _depths(polygons, p, grids.kind[first:after].reshape(ny, nx), origin, cell)
    value = overlap_penalty(depth, common, cell) * weight
    grids.value[first:after] = value.ravel()


@kernel()
def _sort_into_rows(
    polygons: NoFitPolygons, grid: FloatArray, place: IntArray, edge: FloatArray
) -> None:
    """Edges that cross each row of cells, row by row.

    place : (r + 1,) where the next edge of each row goes in `edge`; if that is empty, the edges of
    row r are counted in place[r + 1].
    """
    counting = len(edge) == 0
    for p in range(len(grid)):
        low_y, per_mm, before = grid[p, 1], grid[p, 2], int(grid[p, 5])
        last = (int(grid[p + 1, 5]) if p + 1 < len(grid) else len(place) - 1) - before - 1
        for k in range(polygons.start[p], polygons.start[p + 1]):
            x1, y1 = polygons.edge[k, 0], polygons.edge[k, 1]
            x2, y2 = polygons.edge[k, 2], polygons.edge[k, 3]
            if y1 == y2:
                continue
            if y1 > y2:
                x1, y1, x2, y2 = x2, y2, x1, y1
            from_row = max(int(np.floor((y1 - low_y) * per_mm - _HAIR)), 0)
            to_row = min(int(np.floor((y2 - low_y) * per_mm + _HAIR)), last)
            for row in range(before + from_row, before + to_row + 1):
                if counting:
                    place[row + 1] += 1
                    continue
                entry = place[row]
                edge[entry, 0], edge[entry, 1] = (y1 - low_y) * per_mm, (y2 - low_y) * per_mm
                edge[entry, 2] = (x1 - grid[p, 0]) * per_mm
                edge[entry, 3] = (x2 - x1) / (y2 - y1)
                place[row] += 1


@kernel(allocates=True)
def _depths(
    polygons: NoFitPolygons, p: int, kind: NDArray[np.int8], origin: FloatArray, cell: float
) -> FloatArray:
    """Distance of each node to about the nearest edge, positive inside, (ny, nx); and the kind of
    each cell.

    Nodes of cells that an edge crosses know that edge. All others learn from their neighbours, in
    sweeps to and fro, which edges may be near them (Danielsson 1980).
    """
    ny, nx = kind.shape
    nearest = np.empty((ny, nx), dtype=np.int64)
    square = np.empty((ny, nx))
    for row in range(ny):
        for column in range(nx):
            nearest[row, column], square[row, column] = -1, _FAR
            kind[row, column] = OUTSIDE
    for k in range(polygons.start[p], polygons.start[p + 1]):
        _cross(polygons.edge, k, kind, origin, cell, nearest, square)
    for sweep in range(4):
        side = sweep % 2 * 2 - 1
        for step in range(ny * nx):
            row, column = divmod(step if side < 0 else ny * nx - 1 - step, nx)
            _learn(polygons.edge, origin, cell, nearest, square, (row, column, side))
    _tell_inside(polygons, p, kind, origin, cell, square)
    return square


@kernel()
def _cross(
    edge: FloatArray,
    k: int,
    kind: NDArray[np.int8],
    origin: FloatArray,
    cell: float,
    nearest: IntArray,
    square: FloatArray,
) -> None:
    """Mark the cells that an edge crosses or touches, and have their corners know it."""
    ny, nx = kind.shape
    x1, y1 = (edge[k, 0] - origin[0]) / cell, (edge[k, 1] - origin[1]) / cell
    x2, y2 = (edge[k, 2] - origin[0]) / cell, (edge[k, 3] - origin[1]) / cell
    if y1 > y2:
        x1, y1, x2, y2 = x2, y2, x1, y1
    for row in range(max(int(y1 - _HAIR), 0), min(int(y2 + _HAIR), ny - 1) + 1):
        low, high = x1, x2
        if y2 - y1 > _HAIR:
            slope = (x2 - x1) / (y2 - y1)
            low = x1 + slope * (min(max(row - _HAIR, y1), y2) - y1)
            high = x1 + slope * (min(max(row + 1.0 + _HAIR, y1), y2) - y1)
        if low > high:
            low, high = high, low
        for column in range(max(int(low - _HAIR), 0), min(int(high + _HAIR), nx - 1) + 1):
            kind[row, column] = BOUNDARY
            for corner_row in range(row, min(row + 2, ny)):
                for corner in range(column, min(column + 2, nx)):
                    _try(edge, k, origin, cell, nearest, square, (corner_row, corner))


@kernel(inline=True)
def _try(
    edge: FloatArray,
    k: int,
    origin: FloatArray,
    cell: float,
    nearest: IntArray,
    square: FloatArray,
    node: tuple[int, int],
) -> None:
    """Have a node know an edge that is nearer than what it knows."""
    row, column = node
    x, y = origin[0] + cell * column - edge[k, 0], origin[1] + cell * row - edge[k, 1]
    ux, uy = edge[k, 2] - edge[k, 0], edge[k, 3] - edge[k, 1]
    share = (x * ux + y * uy) / (ux * ux + uy * uy)
    share = min(max(share, 0.0), 1.0)
    x -= share * ux
    y -= share * uy
    off = x * x + y * y
    if off < square[row, column]:
        square[row, column], nearest[row, column] = off, k


@kernel()
def _learn(
    edge: FloatArray,
    origin: FloatArray,
    cell: float,
    nearest: IntArray,
    square: FloatArray,
    node: tuple[int, int, int],
) -> None:
    """Have a node know the edges that its neighbours on one side know."""
    row, column, side = node
    ny, nx = nearest.shape
    for step in range(4):
        other_row = row if step == 0 else row + side
        other = column + side if step == 0 else column + step - 2
        if 0 <= other_row < ny and 0 <= other < nx:
            k = nearest[other_row, other]
            if k >= 0 and k != nearest[row, column]:
                _try(edge, k, origin, cell, nearest, square, (row, column))


@kernel(allocates=True)
def _tell_inside(
    polygons: NoFitPolygons,
    p: int,
    kind: NDArray[np.int8],
    origin: FloatArray,
    cell: float,
    square: FloatArray,
) -> None:
    """From squares of distances to depths, negative outside, and cells inside from those outside:
    every crossing of a row turns all nodes to its left over."""
    ny, nx = kind.shape
    inside = np.zeros((ny, nx), dtype=np.bool_)
    for k in range(polygons.start[p], polygons.start[p + 1]):
        x1, y1 = polygons.edge[k, 0], polygons.edge[k, 1]
        x2, y2 = polygons.edge[k, 2], polygons.edge[k, 3]
        first = int(np.ceil((min(y1, y2) - origin[1]) / cell - _HAIR))
        last = int((max(y1, y2) - origin[1]) / cell + _HAIR)
        for row in range(max(first, 0), min(last, ny - 1) + 1):
            y = origin[1] + cell * row
            if (y1 > y) != (y2 > y):
                crossing = x1 + (y - y1) * (x2 - x1) / (y2 - y1)
                for column in range(nx):
                    if origin[0] + cell * column >= crossing:
                        break
                    inside[row, column] = not inside[row, column]
    for row in range(ny):
        for column in range(nx):
            depth = np.sqrt(square[row, column])
            square[row, column] = depth if inside[row, column] else -depth
            if inside[row, column] and kind[row, column] == OUTSIDE:
                kind[row, column] = INSIDE


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
