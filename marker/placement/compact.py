"""Compaction: the linear program that draws an arrangement together.

Each pair of neighbours keeps to the convex piece of free space, beside its no-fit polygon, in
which it lies now; within these the shortest length is a linear program (Li & Milenkovic 1995;
Gomes & Oliveira 2006), solved with GLOP. The pieces of free space are chosen anew and the program
solved again until nothing is gained. The rows are found by a kernel and handed over as arrays;
neither this nor GLOP holds the interpreter lock.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.placement.boundary import Boundaries
from marker.placement.halfplanes import Separations, separations

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix
from marker.placement.problem import Arrangement, PlacementProblem, Position

FIT_MM = 0.01
"""Where nothing else helps, positions may pass the far edge by this much: outlines that fill the
width exactly can lose as much to their rounding."""

GAIN_MM = 0.01
ROUNDS = 12

REACH = 0.03
"""How far an item may move in one solution, as a part of the width. Short, for the rows of pairs
that could meet cost more than solving again."""


def compact(
    problem: PlacementProblem,
    edges_of: Boundaries,
    arrangement: Arrangement,
    hopeless: float = np.inf,
) -> Arrangement | None:
    """The arrangement drawn together, exactly free of overlap; None if it can't be made so.

    hopeless : mm, go no further with a solution that is longer than this.
    Orientations stay. Overlaps up to the no-fit polygons' play are resolved on the way, so even
    the first solution may be a hair longer than the arrangement given.
    """
    shape, size = _shapes(problem, arrangement)
    room = np.maximum(problem.width - size[:, 1], 0.0)
    reach = REACH * problem.width
    at = np.array([[position.x, position.y] for position in arrangement])
    length = np.inf
    for _ in range(ROUNDS):
        rows = separations(at, size, shape, edges_of.pair, edges_of.start, edges_of.edge, reach)
        solved = _solve(rows, at, size, room, reach)
        if solved is None:
            solved = _solve(rows, at, size, room + FIT_MM, reach)
        if solved is None:
            break
        before, length = length, float((solved + size)[:, 0].max()) - 2 * problem.margin
        at = solved
        if before - length < GAIN_MM or length > hopeless:
            break
    if length == np.inf:
        return None
    ways = [position.orientation for position in arrangement]
    return tuple(Position(x, y, way) for (x, y), way in zip(at.tolist(), ways, strict=True))


def _shapes(problem: PlacementProblem, arrangement: Arrangement) -> tuple[IntArray, FloatArray]:
    """Shape (n,) and bounding box (n, 2) of each item as it lies."""
    shape = np.array(
        [
            item.orientations[position.orientation].shape
            for item, position in zip(problem.items, arrangement, strict=True)
        ]
    )
    extent = np.array([problem.extent(each) for each in range(len(problem.shapes))])
    return shape, extent[shape]


def _solve(
    rows: Separations, at: FloatArray, size: FloatArray, room: FloatArray, reach: float
) -> FloatArray | None:
    """Positions (n, 2) of least length that keep all separations; None if there are none.

    room : (n,) greatest y of each item, mm.
    """
    from ortools.linear_solver.python import model_builder_helper as builder

    matrix, floor = _rows(rows, size)
    count = len(at)
    model = builder.ModelBuilderHelper()
    model.fill_model_from_sparse_data(
        np.concatenate([[0.0], np.maximum(at - reach, 0.0).T.ravel()]),
        np.concatenate([[np.inf], at[:, 0] + reach, np.minimum(room, at[:, 1] + reach)]),
        # the small share of all positions draws pieces off the far end leave to move up, too
        np.concatenate([[1.0], np.full(count, 1e-3 / count), np.zeros(count)]),
        floor,
        np.full(len(floor), np.inf),
        matrix,
    )
    solver = builder.ModelSolverHelper("GLOP")
    solver.solve(model)
    if solver.status() != builder.SolveStatus.OPTIMAL:
        return None
    solution: FloatArray = np.maximum(solver.variable_values()[1:], 0.0)
    return solution.reshape(2, count).T


def _rows(rows: Separations, size: FloatArray) -> tuple[csr_matrix, FloatArray]:
    """All constraints, matrix · variables >= floor: the length passes the far end of each item,
    then the separations. The variables are the length, every x, every y."""
    from scipy.sparse import csr_matrix

    count = len(size)
    far_ends = np.column_stack([np.zeros(count), np.arange(1, count + 1)])
    first, second = rows.pair.T + 1
    pairs = np.column_stack([first, second, first + count, second + count])
    nx, ny = rows.normal.T
    columns = np.concatenate([far_ends.ravel(), pairs.ravel()])
    values = np.concatenate(
        [np.tile([1.0, -1.0], count), np.column_stack([-nx, nx, -ny, ny]).ravel()]
    )
    starts = np.concatenate([np.arange(0, 2 * count, 2), np.arange(2 * count, len(values) + 1, 4)])
    floor = np.concatenate([size[:, 0], rows.offset])
    shape = len(floor), 2 * count + 1
    return csr_matrix((values, columns, starts), shape=shape), floor
