"""Compaction: the linear program that draws an arrangement together.

Each pair of neighbours keeps to the convex piece of free space, beside its no-fit polygon, in
which it lies now; within these the shortest length is a linear program (Li & Milenkovic 1995;
Gomes & Oliveira 2006), solved with GLOP. The pieces of free space are chosen anew and the program
solved again until nothing is gained.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.geometry.freespace import free_space
from marker.geometry.minkowski import PLAY_MM
from marker.placement.problem import Arrangement, PlacementProblem, Position, strip_length

Boundaries = dict[tuple[int, int], FloatArray]
"""No-fit polygon edges of each pair of shapes a <= b, as `nofit.boundaries` makes them."""

FIT_MM = 0.01
"""Where nothing else helps, positions may pass the far edge by this much: outlines that fill the
width exactly can lose as much to their rounding."""

GAIN_MM = 0.01
ROUNDS = 12


@dataclass(frozen=True)
class _Program:
    """Separation constraints n · (p_second - p_first) >= c, one row each."""

    first: list[int]
    second: list[int]
    normal: list[tuple[float, float]]
    offset: list[float]


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
    current, length = arrangement, np.inf
    for _ in range(ROUNDS):
        program = _separations(problem, edges_of, current)
        solved = _solve(problem, program, current, 0.0)
        solved = solved or _solve(problem, program, current, FIT_MM)
        if solved is None:
            break
        gain = length - strip_length(problem, solved)
        current, length = solved, strip_length(problem, solved)
        if gain < GAIN_MM or length > hopeless:
            break
    return current if length < np.inf else None


def _separations(
    problem: PlacementProblem, edges_of: Boundaries, arrangement: Arrangement
) -> _Program:
    shapes = [
        item.orientations[position.orientation].shape
        for item, position in zip(problem.items, arrangement, strict=True)
    ]
    at = np.array([[position.x, position.y] for position in arrangement])
    size = np.array([problem.extent(shape) for shape in shapes])
    program = _Program([], [], [], [])
    for i, j in _neighbours(at, size, 2 * _reach(problem)):
        a, b = (i, j) if shapes[i] <= shapes[j] else (j, i)
        for nx, ny, c in free_space(edges_of[shapes[a], shapes[b]], *(at[b] - at[a])):
            program.first.append(a)
            program.second.append(b)
            program.normal.append((nx, ny))
            program.offset.append(c + PLAY_MM)
    return program


def _neighbours(at: FloatArray, size: FloatArray, distance: float) -> list[tuple[int, int]]:
    """Pairs i < j whose bounding boxes come within `distance` of each other on both axes."""
    beyond = at[None, :] - (at + size)[:, None]
    gap = np.maximum(beyond, beyond.transpose(1, 0, 2)).max(axis=2)
    return [(int(i), int(j)) for i, j in np.argwhere(np.triu(gap <= distance, 1))]


def _reach(problem: PlacementProblem) -> float:
    """How far one item may move in one solution: pairs farther apart than twice this, which the
    program leaves out, cannot meet. Short, for pairs cost more than solving again."""
    return 0.03 * problem.width


def _solve(
    problem: PlacementProblem, program: _Program, arrangement: Arrangement, beyond: float
) -> Arrangement | None:
    """Shortest arrangement that keeps all separations, `beyond` the far edge at most; or None."""
    from ortools.linear_solver import pywraplp

    solver = pywraplp.Solver.CreateSolver("GLOP")
    length = solver.NumVar(0.0, solver.infinity(), "length")
    reach = _reach(problem)
    xs, ys = [], []
    for item, position in zip(problem.items, arrangement, strict=True):
        along, across = problem.extent(item.orientations[position.orientation].shape)
        room = max(problem.width - across, 0.0) + beyond
        x = solver.NumVar(max(0.0, position.x - reach), position.x + reach, "")
        ys.append(solver.NumVar(max(0.0, position.y - reach), min(room, position.y + reach), ""))
        xs.append(x)
        solver.Add(length - x >= along)
    for first, second, (nx, ny), offset in zip(
        program.first, program.second, program.normal, program.offset, strict=True
    ):
        row = solver.Constraint(offset, solver.infinity())
        row.SetCoefficient(xs[second], nx)
        row.SetCoefficient(xs[first], -nx)
        row.SetCoefficient(ys[second], ny)
        row.SetCoefficient(ys[first], -ny)
    # the small share of all positions draws pieces off the far end leave to move up, too
    solver.Minimize(length + 1e-3 / len(xs) * solver.Sum(xs))
    if solver.Solve() != pywraplp.Solver.OPTIMAL:
        return None
    return tuple(
        Position(max(x.solution_value(), 0.0), max(y.solution_value(), 0.0), position.orientation)
        for x, y, position in zip(xs, ys, arrangement, strict=True)
    )
