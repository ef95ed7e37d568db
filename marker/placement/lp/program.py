"""Linear programs over positions: the half-planes that keep items apart, and GLOP to solve them.

Rows are found by a kernel and handed over as arrays; neither this nor GLOP holds the interpreter
lock.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.free_space import free_space
from marker.geometry.kernels import kernel
from marker.placement.tables.no_fit_polygons import (
    CODE_BITS,
    CODES,
    EXCHANGED,
    FLIPPED_X,
    FLIPPED_Y,
    TURNED,
    NoFitPolygons,
    seen,
)
from marker.tolerances import PLAY_MM

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix


def least(
    cost: FloatArray, low: FloatArray, high: FloatArray, matrix: csr_matrix, floor: FloatArray
) -> FloatArray | None:
    """The variables (v,) of least cost within low <= variables <= high for which
    matrix · variables >= floor; None if there are none."""
    from ortools.linear_solver.python import model_builder_helper as builder

    model = builder.ModelBuilderHelper()
    model.fill_model_from_sparse_data(low, high, cost, floor, np.full(len(floor), np.inf), matrix)
    solver = builder.ModelSolverHelper("GLOP")
    solver.solve(model)
    if solver.status() != builder.SolveStatus.OPTIMAL:
        return None
    values: FloatArray = solver.variable_values()
    return values


class Separations(NamedTuple):
    """Constraints normal · (p_second - p_first) >= offset, one row each.

    pair : (m, 2) first and second item. normal : (m, 2) unit vectors. offset : (m,) mm.
    """

    pair: IntArray
    normal: FloatArray
    offset: FloatArray


@kernel(allocates=True)
def separations(
    at: FloatArray,
    size: FloatArray,
    shape: IntArray,
    polygons: NoFitPolygons,
    reach: float,
    movable: int,
) -> Separations:
    """All rows that could matter while no item moves farther than `reach` along or across.

    at, size : (k, 2) positions and bounding boxes, mm. shape : (k,). movable : how many of these,
    the first ones, are items; the others are obstacles, which need no rows between them.
    polygons : of the shapes. Two that have none keep apart by their bounding boxes, so these must
    not overlap.
    """
    row = np.empty((256, 5))
    found = 0
    for i in range(len(at)):
        for j in range(min(i, movable)):
            if _far(at, size, i, j, 2 * reach):
                continue
            entry = polygons.pair[shape[i], shape[j]]
            if entry < 0:
                if found == len(row):
                    row = np.concatenate((row, row))
                row[found, 0], row[found, 1] = j, i
                row[found, 2], row[found, 3], row[found, 4] = _beside(at, size, i, j)
                found += 1
                continue
            code, p = entry & CODES - 1, entry >> CODE_BITS
            a, b = (j, i) if code & EXCHANGED else (i, j)
            code &= ~EXCHANGED
            x, y = at[b, 0] - at[a, 0], at[b, 1] - at[a, 1]
            first, last = polygons.start[p], polygons.start[p + 1]
            boxes = (size[a, 0], size[a, 1]), (size[b, 0], size[b, 1])
            seen_x, seen_y = seen(code, (x, y), boxes[0], boxes[1])
            for plane in free_space(polygons.edge[first:last], seen_x, seen_y):
                nx, ny, c = _half_plane(code, (plane[0], plane[1], plane[2]), boxes)
                offset = c + PLAY_MM
                if nx * x + ny * y - offset > 2 * reach * (abs(nx) + abs(ny)):
                    continue
                if found == len(row):
                    row = np.concatenate((row, row))
                row[found, 0], row[found, 1] = a, b
                row[found, 2], row[found, 3], row[found, 4] = nx, ny, offset
                found += 1
    return Separations(row[:found, :2].astype(np.int64), row[:found, 2:4], row[:found, 4])


@kernel(inline=True)
def _half_plane(
    code: int,
    plane: tuple[float, float, float],
    boxes: tuple[tuple[float, float], tuple[float, float]],
) -> tuple[float, float, float]:
    """A half-plane of what `seen` gives, in terms of what it was given."""
    nx, ny, c = plane
    (along, across), (other_along, other_across) = boxes
    if code & TURNED:
        nx, ny = ny, nx
    if code & FLIPPED_X:
        c -= nx * (along - other_along)
        nx = -nx
    if code & FLIPPED_Y:
        c -= ny * (across - other_across)
        ny = -ny
    return nx, ny, c


@kernel(allocates=True)
def _beside(at: FloatArray, size: FloatArray, i: int, j: int) -> tuple[float, float, float]:
    """The half-plane that keeps the bounding box of i on the side of that of j where it lies
    farthest off."""
    beyond, before = at[i, 0] - at[j, 0] - size[j, 0], at[j, 0] - at[i, 0] - size[i, 0]
    above, below = at[i, 1] - at[j, 1] - size[j, 1], at[j, 1] - at[i, 1] - size[i, 1]
    most = max(beyond, before, above, below)
    if beyond == most:
        return 1.0, 0.0, size[j, 0]
    if before == most:
        return -1.0, 0.0, size[i, 0]
    if above == most:
        return 0.0, 1.0, size[j, 1]
    return 0.0, -1.0, size[i, 1]


@kernel(allocates=True)
def _far(at: FloatArray, size: FloatArray, i: int, j: int, distance: float) -> bool:
    """Whether two bounding boxes lie farther apart than this along or across."""
    return bool(
        at[i, 0] - at[j, 0] - size[j, 0] > distance
        or at[j, 0] - at[i, 0] - size[i, 0] > distance
        or at[i, 1] - at[j, 1] - size[j, 1] > distance
        or at[j, 1] - at[i, 1] - size[i, 1] > distance
    )
