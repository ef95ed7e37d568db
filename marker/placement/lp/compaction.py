"""Compaction: the linear program that draws an arrangement together.

Each pair of neighbours keeps to the convex piece of free space, beside its no-fit polygon, in
which it lies now. Within these the shortest length is a linear program (Li & Milenkovic 1995;
Gomes & Oliveira 2006), solved with GLOP. The pieces of free space are chosen anew and the program
solved again until nothing is gained. The rows are found by a kernel and handed over as arrays;
neither this nor GLOP holds the interpreter lock.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from marker.geometry.arrays import FloatArray, IntArray
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
    params: CompactionParams = CompactionParams(),
    is_late: Callable[[], bool] = lambda: False,
) -> Arrangement | None:
    """The arrangement drawn together, exactly free of overlap; None if it can't be made so.

    Orientations stay. Overlaps up to the no-fit polygons' play are resolved on the way, so even
    the first solution may be a hair longer than the arrangement given.
    is_late : asked after each solution whether to be content with it.
    """
    found = _last(_solutions(problem, polygons, arrangement, _FREE, params), lambda _: is_late())
    return None if found is None else _drawn(arrangement, found)


class FarEnd(NamedTuple):
    """Where a window ends, and what lies beyond.

    length : mm, of the window, margins included. hung : (m,) which obstacles move with its end.
    """

    length: float
    hung: NDArray[np.bool_]


_FREE = FarEnd(np.inf, np.zeros(0, dtype=np.bool_))


def compact_window(
    problem: PlacementProblem,
    polygons: NoFitPolygons,
    arrangement: Arrangement,
    far_end: FarEnd,
    hopeless: float,
    params: CompactionParams,
) -> tuple[Arrangement, float] | None:
    """The same within a window of a longer strip: what hangs at its far end moves with that.

    hopeless : mm, go no further with a solution that is longer than this.
    Returns the window's length as well, mm, without margins.
    """
    solutions = _solutions(problem, polygons, arrangement, far_end, params)
    found = _last(solutions, lambda each: each.length > hopeless)
    return None if found is None else (_drawn(arrangement, found), found.length)


class _Solution(NamedTuple):
    """at : (k, 2) positions of items and obstacles, mm. length : mm, without margins."""

    at: FloatArray
    length: float


def _solutions(
    problem: PlacementProblem,
    polygons: NoFitPolygons,
    arrangement: Arrangement,
    far_end: FarEnd,
    params: CompactionParams,
) -> Iterator[_Solution]:
    """Ever shorter ones, while they gain something."""
    shape, at = laid(problem, arrangement)
    extent = np.array([problem.extent(each) for each in range(len(problem.shapes))])
    size = extent[shape]
    limits = _limits(problem, arrangement, at, size)
    at = np.where(limits.fixed, limits.low, at)  # rows are for moves within reach of where it lies
    reach = params.reach * problem.width
    items = len(arrangement)
    hung = items + np.flatnonzero(far_end.hung)
    end, length = far_end.length, np.inf
    for _ in range(params.rounds):
        rows = separations(at, size, shape, polygons, reach, items)
        model = _Model(at, size[:items], hung, end, reach)
        solved = _solve(model, rows, limits)
        if solved is None:
            solved = _solve(model, rows, limits.wider(params.past_edge_mm))
        if solved is None and limits.fixed.any() and not len(hung):
            rows = rows._replace(offset=rows.offset - params.lap_mm)
            solved = _solve(model, rows, limits.wider(params.past_edge_mm))
        if solved is None:
            return
        at, end = solved
        before, length = length, end - 2 * problem.margin
        yield _Solution(at, length)
        if before - length < params.gain_mm:
            return


def _last(solutions: Iterator[_Solution], enough: Callable[[_Solution], bool]) -> _Solution | None:
    """The first that is enough, or the last there is."""
    found = None
    for found in solutions:
        if enough(found):
            break
    return found


def _drawn(arrangement: Arrangement, solution: _Solution) -> Arrangement:
    """The items of an arrangement where a solution has them."""
    return tuple(
        Position(x, y, position.orientation)
        for position, (x, y) in zip(arrangement, solution.at.tolist(), strict=False)
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


class _Model(NamedTuple):
    """What the rows of one program are made from.

    at : (k, 2) positions, mm. size : (n, 2) bounding boxes of the items, which come first.
    hung : (h,) numbers of those that move with the far end. end : where that is, mm; inf where
    nothing hangs there. reach : how far all may move, mm.
    """

    at: FloatArray
    size: FloatArray
    hung: IntArray
    end: float
    reach: float


def _solve(model: _Model, rows: Separations, limits: _Limits) -> tuple[FloatArray, float] | None:
    """Positions (k, 2) of least length that keep all separations, and the far end; None if there
    are none."""
    low, high, fixed = limits
    at, reach, hung = model.at, model.reach, model.hung
    matrix, floor = _rows(model, rows)
    count = len(at)
    # the small share of all positions draws pieces off the far end leave to move up, too
    cost = np.concatenate([[1.0], np.full(count, 1e-3 / count), np.zeros(count)])
    lowest = np.where(fixed, low, np.maximum(low, at - reach)).T.ravel()
    highest = np.where(fixed, high, np.minimum(high, at + reach)).T.ravel()
    nearest, farthest = (model.end - reach, model.end + reach) if len(hung) else (0.0, np.inf)
    found = least(
        cost, np.concatenate([[nearest], lowest]), np.concatenate([[farthest], highest]),
        matrix, floor,
    )  # fmt: skip
    if found is None:
        return None
    solved = np.clip(found[1:].reshape(2, count).T, low, high)
    if not len(hung):
        return solved, float((solved[: len(model.size)] + model.size)[:, 0].max())
    end = float(found[0])
    solved[hung, 0] = at[hung, 0] + end - model.end
    return solved, end


def _rows(model: _Model, rows: Separations) -> tuple[csr_matrix, FloatArray]:
    """All constraints, matrix · variables >= floor: the length passes the far end of each item,
    then the separations. The variables are the length, every x, every y, `count` of each; in place
    of the x of what hangs at the far end it is the length."""
    from scipy.sparse import csr_matrix

    size, count = model.size, len(model.at)
    items = len(size)
    of_x, beyond = np.arange(1, count + 1), np.zeros(count)
    of_x[model.hung], beyond[model.hung] = 0, model.at[model.hung, 0] - model.end
    far_ends = np.column_stack([np.zeros(items), np.arange(1, items + 1)])
    first, second = rows.pair.T
    pairs = np.column_stack([of_x[first], of_x[second], first + 1 + count, second + 1 + count])
    nx, ny = rows.normal.T
    columns = np.concatenate([far_ends.ravel(), pairs.ravel()])
    values = np.concatenate(
        [np.tile([1.0, -1.0], items), np.column_stack([-nx, nx, -ny, ny]).ravel()]
    )
    starts = np.concatenate([np.arange(0, 2 * items, 2), np.arange(2 * items, len(values) + 1, 4)])
    floor = np.concatenate([size[:, 0], rows.offset - nx * (beyond[second] - beyond[first])])
    shape = len(floor), 2 * count + 1
    return csr_matrix((values, columns, starts), shape=shape), floor
