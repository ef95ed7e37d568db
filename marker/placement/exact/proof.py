"""Exact placement of small jobs: a proven lower bound on the length, sometimes the optimum.

The bound climbs by refutation: CP-SAT is asked for an arrangement of the k largest items shorter
than the bound plus a step. If there is none, the bound rises to that length and the step grows. If
there is one, the next largest item joins. If time ran out, the step shrinks. What holds for some of
the items holds for all. Each length is asked of as few items as are not known to fit it, for of
fewer a refutation comes sooner. Of some of the items any arrangement will do. Of all that may be
asked of, the shortest is looked for, and then the model is refined.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from marker.geometry.outline import signed_area
from marker.placement.exact import bounds
from marker.placement.exact.bounds import Relaxation, relax
from marker.placement.exact.covering import InnerPolygons
from marker.placement.exact.questions import Allowance, ExactParams, Left, Questions
from marker.placement.lp.compaction import compact
from marker.placement.problem.statement import Arrangement, PlacementProblem, strip_length
from marker.placement.tables.no_fit_polygons import NoFitPolygons
from marker.tolerances import PROVEN_WITHIN_MM

_DEFAULT = ExactParams()

Progress = Callable[[float, Arrangement | None], None]


@dataclass(frozen=True)
class Proof:
    """What is proven of a problem.

    arrangement : shorter than the one given and exactly free of overlap; None if none was found.
    bound : mm, no arrangement of the problem's outlines is shorter.
    optimal : whether the best arrangement known is within PROVEN_WITHIN_MM of the bound.
    """

    arrangement: Arrangement | None
    bound: float
    optimal: bool


@dataclass
class _State:
    """What is known so far. bound, length : mm."""

    problem: PlacementProblem
    relaxation: Relaxation
    polygons: NoFitPolygons
    best: Arrangement
    bound: float
    length: float
    on_progress: Progress | None
    found: Arrangement | None = None
    order: tuple[int, ...] = field(init=False)

    def __post_init__(self) -> None:
        self.order = _largest_first(self.relaxation.problem)

    @property
    def closed(self) -> bool:
        """Whether bound and length have met."""
        return self.length - self.bound <= PROVEN_WITHIN_MM

    def raise_bound(self, bound: float) -> None:
        """A new bound is proven; it counts no further than the best length."""
        if bound > self.bound:
            self.bound = min(bound, self.length)
            self._report(None)

    def take(self, positions: Arrangement) -> None:
        """Take over what the compaction makes of a solution of the model, free of overlap."""
        drawn = compact(self.problem, self.polygons, positions)
        if drawn is None:
            return
        length = strip_length(self.problem, drawn)
        if length < self.length:
            self.length, self.best, self.found = length, drawn, drawn
            self._report(drawn)

    def _report(self, arrangement: Arrangement | None) -> None:
        if self.on_progress is not None:
            self.on_progress(self.bound, arrangement)


def prove(
    problem: PlacementProblem,
    polygons: NoFitPolygons,
    arrangement: Arrangement,
    allowance: Allowance,
    on_progress: Progress | None = None,
    params: ExactParams = _DEFAULT,
) -> Proof:
    """Raise the lower bound, and shorten the arrangement given where a shorter one turns up.

    on_progress : called with the bound, mm, and with the arrangement if a shorter one was found.
    """
    seconds = allowance.seconds
    ends = None if seconds is None else time.monotonic() + seconds
    state = _State(
        problem,
        relax(problem),
        polygons,
        arrangement,
        bounds.simple(problem),
        strip_length(problem, arrangement),
        on_progress,
    )
    _climb(state, Left(allowance, ends, allowance.effort), params)
    return Proof(state.found, min(state.bound, state.length), state.closed)


def is_within_reach(relaxed: PlacementProblem, params: ExactParams) -> bool:
    """Whether all items of a relaxation can be asked of, which then comes before the search."""
    orientations = sum(len(item.orientations) for item in relaxed.items)
    few = len(relaxed.items) <= params.most_items and orientations <= params.most_orientations
    return few or orientations <= params.most_asked


def askable(relaxed: PlacementProblem, params: ExactParams) -> int:
    """How many of the largest items of a relaxation can be asked of."""
    largest = [relaxed.items[item] for item in _largest_first(relaxed)]
    orientations = np.cumsum([len(item.orientations) for item in largest])
    fit = int(np.searchsorted(orientations, params.most_orientations, side="right"))
    return min(fit, max(params.most_asked, params.most_items))


def _climb(state: _State, left: Left, params: ExactParams) -> None:
    relaxed = state.relaxation.problem
    total = askable(relaxed, params)
    if total == 0:  # tilts so wide that they share nothing
        return
    inner = InnerPolygons(relaxed, state.relaxation.gap)
    questions = Questions(inner, state.order[:total], left, params)
    step, level = params.first_step, 0
    while not (state.closed or left.used_up) and level < len(params.levels):
        before, reach = left.share, step * (state.length - state.bound)
        lengths = _lengths(state, reach, left.given.workers)
        known = state.relaxation.relaxed(state.best)
        answers = questions.ask(state.bound, lengths, level, known)
        state.raise_bound(max(answer.bound for answer in answers))
        solution = next((answer.solution for answer in answers if answer.solution), None)
        if solution:
            if total == len(state.order):
                state.take(state.relaxation.restored(state.best, solution))
            level += 1
        elif answers[-1].refuted:
            if before - left.share < params.cheap * before:
                step = min(1.0, step * params.harder)
        else:
            if reach < PROVEN_WITHIN_MM:
                return
            step *= params.easier


def _lengths(state: _State, reach: float, count: int) -> list[float]:
    """So many lengths, or fewer, evenly spread over the reach beyond the bound, the last at its
    end; but none as long as the best arrangement."""
    least = PROVEN_WITHIN_MM
    reach = min(max(reach, least), state.length - state.bound - least / 2)
    count = max(1, min(count, int(reach / least)))
    return [state.bound + reach * (k + 1) / count for k in range(count)]


def _largest_first(problem: PlacementProblem) -> tuple[int, ...]:
    size = [signed_area(problem.shapes[item.orientations[0].shape]) for item in problem.items]
    return tuple(int(item) for item in np.argsort(-np.array(size), kind="stable"))
