"""Compaction: the linear program that draws an arrangement together.

Each pair of neighbours keeps to the convex piece of free space, beside its no-fit polygon, in
which it lies now. Within these the shortest length is a linear program (Li & Milenkovic 1995;
Gomes & Oliveira 2006), solved with GLOP. The pieces of free space are chosen anew and the program
solved again until nothing is gained. The rows are found by a kernel and handed over as arrays;
neither this nor GLOP holds the interpreter lock.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from marker.geometry.arrays import FloatArray
from marker.placement.checking import at_least, positive
from marker.placement.lp.program import Separations, least, separations
from marker.placement.problem.statement import (
    ANY_LANE,
    Arrangement,
    PlacementProblem,
    Position,
    laid,
    on_a_line,
    spans,
)
from marker.placement.tables.no_fit_polygons import NoFitPolygons
from marker.tolerances import PLAY_MM

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix


@dataclass(frozen=True)
class CompactionParams:
    """How an arrangement is drawn together.

    past_edge_mm : where nothing else helps, positions may pass the far edge by this much: outlines
    that fill the width exactly can lose as much to their rounding.
    lap_mm : where outlines are fixed on either side, these may lap by as much: less than the play,
    so that they still count as free. Rounding to the grid can take this from a place of exactly
    their size.
    gain_mm, rounds : it ends with a gain below this, and after so many solutions.
    reach : how far an item may move in one solution, as a part of the width. Short, for the rows of
    pairs that could meet cost more than solving again.
    """

    past_edge_mm: float = 0.01
    lap_mm: float = 0.003
    gain_mm: float = 0.01
    rounds: int = 12
    reach: float = 0.03

    def __post_init__(self) -> None:
        at_least(self, 0, "past_edge_mm", "lap_mm", "gain_mm")
        at_least(self, 1, "rounds")
        positive(self, "reach")
        if self.lap_mm >= PLAY_MM:
            raise ValueError(f"CompactionParams.lap_mm is {self.lap_mm}, not below {PLAY_MM}")


def compact(
    problem: PlacementProblem,
    polygons: NoFitPolygons,
    arrangement: Arrangement,
    hopeless: float = np.inf,
    params: CompactionParams = CompactionParams(),
) -> Arrangement | None:
    """The arrangement drawn together, exactly free of overlap; None if it can't be made so.

    hopeless : mm, go no further with a solution that is longer than this.
    Orientations stay. Overlaps up to the no-fit polygons' play are resolved on the way, so even
    the first solution may be a hair longer than the arrangement given.
    """
    shape, at = laid(problem, arrangement)
    extent = np.array([problem.extent(each) for each in range(len(problem.shapes))])
    size = extent[shape]
    limits = _limits(problem, arrangement, at, size)
    at = np.where(limits.fixed, limits.low, at)  # rows are for moves within reach of where it lies
    reach = params.reach * problem.width
    items = len(arrangement)
    length = np.inf
    for _ in range(params.rounds):
        rows = separations(at, size, shape, polygons, reach, items)
        solved = _solve(rows, at, size[:items], limits, reach)
        if solved is None:
            solved = _solve(rows, at, size[:items], limits.wider(params.past_edge_mm), reach)
        if solved is None and limits.fixed.any():
            rows = rows._replace(offset=rows.offset - params.lap_mm)
            solved = _solve(rows, at, size[:items], limits.wider(params.past_edge_mm), reach)
        if solved is None:
            break
        before, length = length, float((solved + size)[:items, 0].max()) - 2 * problem.margin
        at = solved
        if before - length < params.gain_mm or length > hopeless:
            break
    if length == np.inf:
        return None
    orientations = [position.orientation for position in arrangement]
    return tuple(
        Position(x, y, orientation)
        for (x, y), orientation in zip(at[:items].tolist(), orientations, strict=True)
    )


class _Limits(NamedTuple):
    """(k, 2) least and greatest positions, mm, and which coordinates have but one."""

    low: FloatArray
    high: FloatArray
    fixed: NDArray[np.bool_]

    def wider(self, by: float) -> _Limits:
        """The same with the far edge moved out by `by` mm for what may move."""
        return self._replace(high=self.high + np.where(self.fixed, 0.0, by))


def _limits(
    problem: PlacementProblem, arrangement: Arrangement, at: FloatArray, size: FloatArray
) -> _Limits:
    """Items within the strip and their lanes; obstacles where they are; what is tied to a repeat at
    its nearest position, and what fills its lane in it."""
    count = len(arrangement)
    low, high, fixed = at.copy(), at.copy(), np.ones(at.shape, dtype=np.bool_)
    fixed[:count] = False
    low[:count] = 0.0
    high[:count] = np.inf
    high[:count, 1] = np.maximum(problem.width - size[:count, 1], 0.0)
    for k, (item, position) in enumerate(zip(problem.items, arrangement, strict=True)):
        orientation = item.orientations[position.orientation]
        if not any(item.repeat) and orientation.lane == ANY_LANE:
            continue
        for axis, span in enumerate(spans(problem, item, orientation, np.inf)):
            low[k, axis], high[k, axis] = span.low, span.high
            if span.step > 0.0 or (axis == 1 and on_a_line(problem, orientation)):
                low[k, axis] = high[k, axis] = span.nearest(at[k, axis])
                fixed[k, axis] = True
    return _Limits(low, high, fixed)


def _solve(
    rows: Separations, at: FloatArray, size: FloatArray, limits: _Limits, reach: float
) -> FloatArray | None:
    """Positions (k, 2) of least length that keep all separations; None if there are none.

    size : (n, 2) bounding boxes of the items, which come first.
    """
    low, high, fixed = limits
    matrix, floor = _rows(rows, size, len(at))
    count = len(at)
    # the small share of all positions draws pieces off the far end leave to move up, too
    cost = np.concatenate([[1.0], np.full(count, 1e-3 / count), np.zeros(count)])
    lowest = np.where(fixed, low, np.maximum(low, at - reach)).T.ravel()
    highest = np.where(fixed, high, np.minimum(high, at + reach)).T.ravel()
    found = least(
        cost, np.concatenate([[0.0], lowest]), np.concatenate([[np.inf], highest]), matrix, floor
    )
    return None if found is None else np.clip(found[1:].reshape(2, count).T, low, high)


def _rows(rows: Separations, size: FloatArray, count: int) -> tuple[csr_matrix, FloatArray]:
    """All constraints, matrix · variables >= floor: the length passes the far end of each item,
    then the separations. The variables are the length, every x, every y, `count` of each."""
    from scipy.sparse import csr_matrix

    items = len(size)
    far_ends = np.column_stack([np.zeros(items), np.arange(1, items + 1)])
    first, second = rows.pair.T + 1
    pairs = np.column_stack([first, second, first + count, second + count])
    nx, ny = rows.normal.T
    columns = np.concatenate([far_ends.ravel(), pairs.ravel()])
    values = np.concatenate(
        [np.tile([1.0, -1.0], items), np.column_stack([-nx, nx, -ny, ny]).ravel()]
    )
    starts = np.concatenate([np.arange(0, 2 * items, 2), np.arange(2 * items, len(values) + 1, 4)])
    floor = np.concatenate([size[:, 0], rows.offset])
    shape = len(floor), 2 * count + 1
    return csr_matrix((values, columns, starts), shape=shape), floor
