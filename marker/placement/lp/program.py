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
    pair: IntArray,
    start: IntArray,
    edge: FloatArray,
    reach: float,
    movable: int,
) -> Separations:
    """All rows that could matter while no item moves farther than `reach` along or across.

    at, size : (k, 2) positions and bounding boxes, mm. shape : (k,). movable : how many of these,
    the first ones, are items; the others are obstacles, which need no rows between them.
    pair, start, edge : see `Boundaries`.
    """
    row = np.empty((256, 5))
    found = 0
    for i in range(len(at)):
        for j in range(min(i, movable)):
            if _far(at, size, i, j, 2 * reach):
                continue
            a, b = (i, j) if shape[i] <= shape[j] else (j, i)
            p = pair[shape[a], shape[b]]
            x, y = at[b, 0] - at[a, 0], at[b, 1] - at[a, 1]
            for nx, ny, c in free_space(edge[start[p] : start[p + 1]], x, y):
                offset = c + PLAY_MM
                if nx * x + ny * y - offset > 2 * reach * (abs(nx) + abs(ny)):
                    continue
                if found == len(row):
                    row = np.concatenate((row, row))
                row[found, 0], row[found, 1] = a, b
                row[found, 2], row[found, 3], row[found, 4] = nx, ny, offset
                found += 1
    return Separations(row[:found, :2].astype(np.int64), row[:found, 2:4], row[:found, 4])


@kernel(allocates=True)
def _far(at: FloatArray, size: FloatArray, i: int, j: int, distance: float) -> bool:
    """Whether two bounding boxes lie farther apart than this along or across."""
    return bool(
        at[i, 0] - at[j, 0] - size[j, 0] > distance
        or at[j, 0] - at[i, 0] - size[i, 0] > distance
        or at[i, 1] - at[j, 1] - size[j, 1] > distance
        or at[j, 1] - at[i, 1] - size[i, 1] > distance
    )
