"""Linear programs, handed to GLOP as arrays: neither the hand-over nor GLOP holds the interpreter
lock."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from marker.geometry.arrays import FloatArray

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
