"""Questions to CP-SAT: whether the largest items fit a length.

Each core asks of another length by itself: several searches of one length helped each other little.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, field, replace
from math import inf
from threading import Event
from typing import TYPE_CHECKING

from marker.placement.checking import at_least, positive, share
from marker.placement.exact.covering import Covering, InnerPolygons, Model, build, hint
from marker.placement.problem.statement import Arrangement, Position

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
    cheap : a refutation is cheap if it took less than this share of what was left.
    harder, easier : how the step changes after a cheap refutation, and after no answer.
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
    question: float = 0.3

    def __post_init__(self) -> None:
        at_least(self, 0, "most_items", "most_orientations", "most_asked")
        at_least(self, 1, "harder")
        positive(self, "first_step", "easier", "question")
        share(self, "first_step", "cheap", "easier", "question")
        if not self.levels or min(min(each) for each in self.levels) <= 0.0:
            raise ValueError("ExactParams.levels must be pairs of lengths above 0")


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
class Left:
    """What is left of an allowance. ends : by the monotonic clock."""

    given: Allowance
    ends: float | None
    effort: float | None

    @property
    def used_up(self) -> bool:
        """Whether nothing worth a question is left."""
        if self.given.stopped():
            return True
        no_time = self.ends is not None and self.ends - time.monotonic() < 0.05
        return no_time or (self.effort is not None and self.effort < 0.01)

    @property
    def share(self) -> float:
        """What share of the allowance is left."""
        shares = [1.0]
        if self.ends is not None and self.given.seconds:
            shares.append((self.ends - time.monotonic()) / self.given.seconds)
        if self.effort is not None and self.given.effort:
            shares.append(self.effort / self.given.effort)
        return max(0.0, min(shares))

    def parts(self, share: float, count: int, decided: Event) -> list[Left]:
        """This share of it for so many that ask at once. By seconds, they end once the event is
        set; by effort alone they do not, so that the same call gives the same answer."""
        now = time.monotonic()
        ends = None if self.ends is None else now + share * (self.ends - now)
        effort = None if self.effort is None else share * self.effort / count
        given = self.given
        if ends is not None:
            stopped = given.stopped
            given = replace(given, stopped=lambda: decided.is_set() or stopped())
        return [Left(given, ends, effort) for _ in range(count)]

    def charge(self, effort: float) -> None:
        """Take off effort that was used."""
        if self.effort is not None:
            self.effort -= effort


@dataclass(frozen=True)
class Answer:
    """refuted : no arrangement is as short as asked. bound : mm, proven. solution : of the model,
    positions of all items, those left out as they were; None where not all of those that may be
    asked of are known to fit."""

    refuted: bool
    bound: float
    solution: Arrangement | None


@dataclass
class Questions:
    """Asks of the first items of an order. fits : a length that so many of them are known to fit,
    one item at the first place."""

    inner: InnerPolygons
    order: Sequence[int]
    left: Left
    params: ExactParams
    fits: list[float] = field(init=False)

    def __post_init__(self) -> None:
        self.fits = [0.0] + [inf] * (len(self.order) - 1)

    def ask(
        self, bound: float, lengths: Sequence[float], level: int, known: Arrangement
    ) -> list[Answer]:
        """Whether the items fit each of these lengths, the shortest first.

        bound : mm, proven. known : an arrangement of all items that the solver may start from.
        """
        decided = Event()
        asked = [
            _Asked(self, Covering((), *self.params.levels[level], bound, longest), known, left)
            for longest, left in zip(
                lengths,
                self.left.parts(self.params.question, len(lengths), decided),
                strict=True,
            )
        ]

        def answered(one: _Asked) -> Answer:
            answer = one.answered()
            if answer.solution or (answer.refuted and one is asked[-1]):
                decided.set()  # no other answer can say more
            return answer

        with ThreadPoolExecutor(len(asked)) as executor:
            answers = list(executor.map(answered, asked))
        self.fits = [min(each) for each in zip(*(one.fits for one in asked), strict=True)]
        self.left.charge(sum(one.used for one in asked))
        return answers


@dataclass
class _Asked:
    """One length asked of more and more items. used : effort."""

    questions: Questions
    covering: Covering
    known: Arrangement
    left: Left
    fits: list[float] = field(init=False)
    used: float = 0.0

    def __post_init__(self) -> None:
        self.fits = list(self.questions.fits)

    def answered(self) -> Answer:
        """Refuted for some of the items, or the shortest that all of them fit, or neither in the
        time."""
        order, bound = self.questions.order, self.covering.shortest
        while not self.left.used_up:
            count = 1 + sum(length <= self.covering.longest for length in self.fits[:-1])
            every = count == len(order)
            answer = self._ask(replace(self.covering, items=tuple(order[:count]), minimal=every))
            if answer.solution is None or every:
                return answer
            self.fits[count - 1] = self.covering.longest
        return Answer(False, bound, None)

    def _ask(self, covering: Covering) -> Answer:
        from ortools.sat.python import cp_model

        inner = self.questions.inner
        model = build(inner.problem, covering, inner)
        hint(model, self.known)
        solver = self._solver()
        status = _solve(solver, model, self.left.given.stopped)
        effort = max(solver.response_proto.deterministic_time, 0.01)
        self.left.charge(effort)
        self.used += effort
        if status == cp_model.INFEASIBLE:
            return Answer(True, covering.longest, None)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Answer(False, covering.shortest, None)
        least = solver.best_objective_bound * covering.unit
        bound = least if covering.minimal else covering.shortest
        return Answer(False, bound, _positions(self.known, model, solver))

    def _solver(self) -> cp_model.CpSolver:
        """A solver that may use up what is left. Linear relaxations of the slices are too weak to
        pay."""
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        parameters = solver.parameters
        parameters.random_seed = self.left.given.seed
        parameters.num_workers = 1
        parameters.linearization_level = 0
        parameters.catch_sigint_signal = False
        if self.left.ends is not None:
            parameters.max_time_in_seconds = max(0.0, self.left.ends - time.monotonic())
        if self.left.effort is not None:
            parameters.max_deterministic_time = self.left.effort
        return solver


def _solve(
    solver: cp_model.CpSolver, model: Model, stopped: Callable[[], bool]
) -> cp_model.CpSolverStatus:
    """Solve in a thread, so that this one can end the solver when it is told to."""
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
