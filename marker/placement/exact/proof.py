"""Exact placement of small jobs: a proven lower bound on the length, sometimes the optimum.

The bound climbs by refutation: CP-SAT is asked for an arrangement of the k largest items shorter
than the bound plus a step. If there is none, the bound rises to that length and the step grows;
if there is one, the next largest item joins; if time ran out, the step shrinks. What holds for
some of the items holds for all. Each length is asked of as few items as are not known to fit it:
of fewer a refutation comes sooner. Of some of the items any arrangement will do; once all are in
that may be asked of, the shortest is looked for, and then the model is refined.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, field, replace
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from marker.geometry.outline import signed_area
from marker.placement.checking import at_least, positive, share
from marker.placement.exact import bounds
from marker.placement.exact.bounds import Relaxation, relax
from marker.placement.exact.covering import Covering, InnerPolygons, Model, build, hint
from marker.placement.lp.compaction import compact
from marker.placement.problem.statement import Arrangement, PlacementProblem, Position, strip_length
from marker.placement.tables.no_fit_polygons import NoFitPolygons
from marker.tolerances import PROVEN_WITHIN_MM

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


@dataclass(frozen=True)
class ExactParams:
    """What the exact model is asked.

    most_items, most_orientations : it is asked of a whole job with no more items, nor more
    orientations of all of them together (eight items of four each). Of 12 items with more of them
    it proved nothing in 30 s, measured on one instance.
    most_asked : of more items it is asked where they have no more orientations than this: of 14
    with one each it took half off the gap. A bound rests on no more of the largest items.
    levels : (grid of positions, tolerance of polygons) from coarse to fine, mm.
    first_step : share of the gap between bound and length that the first question asks for.
    harder, easier : how that share changes after a refutation that took less than the share `cheap`
    of what was left of the allowance, and after an answer that did not come.
    subsolvers : CP-SAT's strategies that refuted most here, best first; linear relaxations of the
    slices are too weak to pay, so a single worker goes without.
    question : share of what is left of the allowance that questions of one length may use.
    """

    most_items: int = 12
    most_orientations: int = 32
    most_asked: int = 16
    levels: tuple[tuple[float, float], ...] = ((0.25, 2.0), (0.1, 0.25), (0.02, 0.05))
    first_step: float = 1 / 3
    cheap: float = 1 / 20
    harder: float = 2.0
    easier: float = 0.5
    subsolvers: tuple[str, ...] = (
        "no_lp", "default_lp", "quick_restart_no_lp", "reduced_costs",
    )  # fmt: skip
    question: float = 0.4

    def __post_init__(self) -> None:
        at_least(self, 0, "most_items", "most_orientations", "most_asked")
        at_least(self, 1, "harder")
        positive(self, "first_step", "easier", "question")
        share(self, "first_step", "cheap", "easier", "question")
        if not self.levels or min(min(each) for each in self.levels) <= 0.0:
            raise ValueError("ExactParams.levels must be pairs of lengths above 0")


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


@dataclass(frozen=True)
class Allowance:
    """How long may be asked, and how.

    seconds, effort : limits, at least one of them; with the second alone, in the solver's own unit,
    the same call gives the same answer. stopped : asked now and then whether to end early.
    """

    seconds: float | None
    effort: float | None
    seed: int = 0
    workers: int = 1
    stopped: Callable[[], bool] = lambda: False


@dataclass
class _Left:
    """What is left of an allowance. kept : share of it that the present question leaves."""

    given: Allowance
    ends: float | None
    effort: float | None
    kept: float = 0.0

    @property
    def share(self) -> float:
        """What share of the allowance is left."""
        shares = [0.0 if self.given.stopped() else 1.0]
        if self.ends is not None and self.given.seconds is not None:
            shares.append((self.ends - time.monotonic() - 0.05) / max(self.given.seconds, 0.05))
        if self.effort is not None and self.given.effort is not None:
            shares.append((self.effort - 0.01) / max(self.given.effort, 0.01))
        return max(0.0, min(shares))

    @property
    def used_up(self) -> bool:
        """Whether nothing worth a question is left."""
        return self.share <= self.kept

    def solver(self, params: ExactParams) -> cp_model.CpSolver:
        """A solver that may use up what is left but for what is kept."""
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        parameters = solver.parameters
        parameters.random_seed = self.given.seed
        parameters.num_workers = workers = self.given.workers
        if workers == 1:
            parameters.linearization_level = 0
        else:
            parameters.subsolvers.extend(params.subsolvers[:workers])
        allowed = max(0.0, self.share - self.kept)
        if self.given.seconds is not None:
            parameters.max_time_in_seconds = self.given.seconds * allowed
        if self.given.effort is not None:
            parameters.max_deterministic_time = self.given.effort * allowed
            parameters.interleave_search = workers > 1
        return solver

    def charge(self, solver: cp_model.CpSolver) -> None:
        """Take off the effort that a solver used."""
        if self.effort is not None:
            self.effort -= max(solver.response_proto.deterministic_time, 0.01)


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
    params: ExactParams = ExactParams(),
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
    _climb(state, _Left(allowance, ends, allowance.effort), params)
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


def _climb(state: _State, left: _Left, params: ExactParams) -> None:
    total = askable(state.relaxation.problem, params)
    if total == 0:  # tilts so wide that they share nothing
        return
    questions = _Questions(state, left, params, total)
    step, level = params.first_step, 0
    while not state.closed and left.share > 0.0 and level < len(params.levels):
        gap, before = state.length - state.bound, left.share
        longest = min(
            state.bound + max(step * gap, PROVEN_WITHIN_MM), state.length - PROVEN_WITHIN_MM / 2
        )
        left.kept = before * (1.0 - params.question)
        answer = questions.ask(longest, level)
        if answer.refuted:
            state.raise_bound(longest)
            if before - left.share < params.cheap * before:
                step = min(1.0, step * params.harder)
        elif answer.solution is None:
            if step * gap < PROVEN_WITHIN_MM:
                return
            step *= params.easier
        else:
            if total == len(state.order):
                state.take(state.relaxation.restored(state.best, answer.solution))
            level += 1


@dataclass
class _Questions:
    """Asks of the largest items, `total` at most. fits : a length that so many are known to fit,
    one item at the first place."""

    state: _State
    left: _Left
    params: ExactParams
    total: int
    fits: list[float] = field(init=False)
    inner: InnerPolygons = field(init=False)

    def __post_init__(self) -> None:
        self.fits = [0.0] + [inf] * (self.total - 1)
        self.inner = InnerPolygons(self.state.relaxation.problem, self.state.relaxation.gap)

    def ask(self, longest: float, level: int) -> _Answer:
        """Whether the items fit a length: of some of them first, until that is refuted, or all that
        may be asked of do, as tightly as can be."""
        state, (unit, tolerance) = self.state, self.params.levels[level]
        while True:
            count = 1 + sum(length <= longest for length in self.fits[:-1])
            covering = Covering(
                state.order[:count], unit, tolerance, state.bound, longest, count == self.total
            )
            model = build(state.relaxation.problem, covering, self.inner)
            answer = _ask(state, model, self.left, self.params)
            state.raise_bound(answer.bound)
            if answer.solution is None or count == self.total:
                return answer
            self.fits[count - 1] = longest
            if self.left.used_up:
                return replace(answer, solution=None)


@dataclass(frozen=True)
class _Answer:
    """refuted : no arrangement is as short as asked. bound : mm, proven. solution : of the model,
    positions of all items, those left out as they were."""

    refuted: bool
    bound: float
    solution: Arrangement | None


def _ask(state: _State, model: Model, left: _Left, params: ExactParams) -> _Answer:
    from ortools.sat.python import cp_model

    covering, known = model.covering, state.relaxation.relaxed(state.best)
    hint(model, known)
    solver = left.solver(params)
    status = _solve(solver, model, left.given.stopped)
    left.charge(solver)
    if status == cp_model.INFEASIBLE:
        return _Answer(True, covering.longest, None)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return _Answer(False, covering.shortest, None)
    bound = solver.best_objective_bound * covering.unit if covering.minimal else covering.shortest
    return _Answer(False, bound, _positions(known, model, solver))


def _solve(
    solver: cp_model.CpSolver, model: Model, stopped: Callable[[], bool]
) -> cp_model.CpSolverStatus:
    """Solve in a thread, so that this one can end the solver when it is told to."""
    solver.parameters.catch_sigint_signal = False
    with ThreadPoolExecutor(1) as executor:
        solving = executor.submit(solver.solve, model.cp)
        while not wait([solving], timeout=0.1).done:
            if stopped():
                solver.stop_search()
        return solving.result()


def _positions(given: Arrangement, model: Model, solver: cp_model.CpSolver) -> Arrangement:
    positions = list(given)
    for item, x, y, orientations in zip(
        model.covering.items, model.x, model.y, model.chosen, strict=True
    ):
        orientation = [bool(solver.value(literal)) for literal in orientations].index(True)
        unit = model.covering.unit
        positions[item] = Position(solver.value(x) * unit, solver.value(y) * unit, orientation)
    return tuple(positions)


def _largest_first(problem: PlacementProblem) -> tuple[int, ...]:
    size = [signed_area(problem.shapes[item.orientations[0].shape]) for item in problem.items]
    return tuple(int(item) for item in np.argsort(-np.array(size), kind="stable"))
