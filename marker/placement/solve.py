"""Lay a problem: assembly of first layouts, search and stop rules. Holds no algorithm."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import partial
from typing import NamedTuple

import numpy as np

from marker.layout import Ending
from marker.placement.exact import bounds
from marker.placement.exact.bounds import relax
from marker.placement.exact.proof import askable, is_within_reach, prove
from marker.placement.exact.questions import Allowance
from marker.placement.lp.compaction import compact
from marker.placement.lp.tilt import may_tilt, tilted
from marker.placement.params import DEFAULT, PlacementParams
from marker.placement.problem.statement import Arrangement, PlacementProblem, in_a_row, strip_length
from marker.placement.search.first_layouts import FirstLayouts, Ordering
from marker.placement.search.hull_layouts import HullLayouts
from marker.placement.search.state import Choices, choices
from marker.placement.search.strategy import Search
from marker.placement.search.trajectory import Shared
from marker.placement.search.windows import ALONE, Share, Windows, has_windows
from marker.placement.stop import Progress, Stop, Verdict
from marker.placement.tables.cache import cached_grids, cached_polygons
from marker.placement.tables.no_fit_polygons import Abandoned, NoFitPolygons, count_of_polygons
from marker.placement.warming import warm_up_first_layouts, warm_up_search


@dataclass(frozen=True)
class Result:
    """The answer: the best arrangement, what is proven of it, and how it came about.

    problem : the one solved, with further orientations behind its own where pieces were tilted; the
        arrangement is one of it.
    length, bound : mm. history : (seconds, length) at each improvement.
    """

    problem: PlacementProblem
    arrangement: Arrangement
    length: float
    bound: float
    ending: Ending
    iterations: int
    seconds: float
    history: tuple[tuple[float, float], ...]


class Begun(NamedTuple):
    """A layout that is there. share : of the work on it, where its strip is long."""

    layout: Arrangement
    share: Share = ALONE


def solve(
    problem: PlacementProblem,
    stop: Stop,
    seed: int,
    workers: int,
    on_progress: Callable[[Progress], None],
    params: PlacementParams = DEFAULT,
) -> Result:
    """Search until `stop` says so; the best layout met is the answer. Nothing to lay is laid.

    The same problem, seed, workers and number of iterations give the same answer.
    """
    if not problem.items:
        length = strip_length(problem, ())
        return Result(problem, (), length, length, Ending.PROVEN, 0, 0.0, ())
    warm_up_first_layouts()
    run = _Run(problem, stop, on_progress, params, in_a_row(problem), bounds.simple(problem))
    return _solved(run, None, seed, workers)


def go_on(
    problem: PlacementProblem,
    begun: Begun,
    stop: Stop,
    seed: int,
    workers: int,
    on_progress: Callable[[Progress], None],
) -> Result:
    """The same from a layout that is there, of at least one item, which is never made longer."""
    warm_up_first_layouts()
    run = _Run(problem, stop, on_progress, DEFAULT, begun.layout, bounds.simple(problem))
    return _solved(run, begun, seed, workers)


@dataclass
class _Run:
    """What is known in the course of one run, and who is told. ending : why it has ended, if so.
    trying : as of `Progress`."""

    problem: PlacementProblem
    stop: Stop
    on_progress: Callable[[Progress], None]
    params: PlacementParams
    best: Arrangement
    bound: float
    started: float = field(default_factory=time.monotonic)
    iterations: int = 0
    history: list[tuple[float, float]] = field(default_factory=list)
    ending: Ending | None = None
    trying: Callable[[], Arrangement] | None = None

    @property
    def length(self) -> float:
        return strip_length(self.problem, self.best)

    def offer(self, arrangement: Arrangement) -> None:
        """Take over an arrangement of the problem where it is shorter."""
        if strip_length(self.problem, arrangement) < self.length:
            self.best = arrangement

    def progress(self) -> Progress:
        """Where the run stands."""
        return self._standing(self.length)

    def _standing(self, length: float) -> Progress:
        seconds = time.monotonic() - self.started
        utilisation = self.problem.area / (length * self.problem.usable_width)
        return Progress(
            seconds, self.iterations, length, self.bound, utilisation, self.problem, self.best,
            self.trying,
        )  # fmt: skip

    def has_ended(self) -> bool:
        """Whether it is over, by the stop rules or for good."""
        if self.ending in (None, Ending.ITERATIONS_UP):  # by hand, it may end later
            self.ending = self.stop(self.progress()).ending or self.ending
        return self.ending is not None

    def is_over(self) -> bool:
        """Whether it has ended, but for iterations that are used up: some stages take none."""
        return self.has_ended() and self.ending is not Ending.ITERATIONS_UP

    def is_late(self) -> bool:
        """Whether the clock or a person has ended it, whatever was found. For any thread: what the
        others have found by now differs from run to run."""
        return self.stop(self._standing(np.inf)).ending not in (None, Ending.ITERATIONS_UP)

    @contextmanager
    def uncounted(self) -> Iterator[None]:
        """Work that the search is not charged for."""
        before = time.monotonic()
        yield
        self.started += time.monotonic() - before

    def report(self) -> Verdict:
        """Tell where the run stands, and ask whether to stop."""
        progress = self.progress()
        if not self.history or progress.length < self.history[-1][1]:
            self.history.append((progress.seconds, progress.length))
        self.on_progress(progress)
        verdict = self.stop(progress)
        self.ending = verdict.ending or self.ending
        return replace(verdict, ending=self.ending)

    def result(self) -> Result:
        """What came of it."""
        assert self.ending is not None, "a whole allowance was used up"
        return Result(
            self.problem, self.best, self.length, self.bound, self.ending, self.iterations,
            time.monotonic() - self.started, tuple(self.history),
        )  # fmt: skip


def _solved(run: _Run, begun: Begun | None, seed: int, workers: int) -> Result:
    """All stages of a run: hulls where polygons are many, tables, first layouts, the search.

    begun : what it starts from in place of first layouts.
    """
    problem, params = run.problem, run.params
    rng = np.random.default_rng(seed)
    flat = choices(problem)
    count = count_of_polygons(problem)
    too_many = count > params.first.most  # for tables of all of them
    if too_many or (count > params.first.many and begun is None):
        _lay_by_hulls(run, flat, rng, workers, to_the_end=too_many)
        if run.has_ended():
            return run.result()
    try:
        polygons = cached_polygons(problem, run.is_over if begun or run.history else _never)
    except Abandoned:
        return run.result()
    starts = [begun.layout] if begun else _first_layouts(run, polygons, flat, rng, workers)
    if run.is_over():  # what is not searched for needs no search made ready
        return run.result()
    with run.uncounted():
        warm_up_search(may_tilt(problem))
    try:
        grids = cached_grids(problem, polygons, params.grids, workers, run.is_over)
    except Abandoned:
        return run.result()
    shared = Shared(
        problem, polygons, grids, flat, params.search, params.separation, params.perturbation,
        params.compaction,
    )  # fmt: skip
    search = _search_from(shared, starts, rng, workers, begun.share if begun else ALONE, params)
    _in_stages(run, search, polygons, seed, workers)
    return run.result()


def _search_from(
    shared: Shared,
    starts: Sequence[Arrangement],
    rng: np.random.Generator,
    workers: int,
    share: Share,
    params: PlacementParams,
) -> Search | Windows:
    """The search that suits the length of the strip. starts : layouts, best first."""
    if has_windows(shared.problem, starts[0], params.windows):
        return Windows(shared, starts, rng, workers, (params.heats, params.windows), share)
    return Search(shared, starts, rng, workers, params.heats)


def _in_stages(
    run: _Run, search: Search | Windows, polygons: NoFitPolygons, seed: int, workers: int
) -> None:
    """The search, with the exact model and tilting where they may help, until the end."""
    problem, params = run.problem, run.params
    relaxed = relax(problem).problem
    since = 0.0
    if is_within_reach(relaxed, params.exact):
        _search(run, search, params.stages.exact_from)
        _prove(run, polygons, seed, workers, params.stages.exact_share)
        search.adopt(run.best)
        search.begin_again()
        since = run.report().share
    elif 2 * askable(relaxed, params.exact) >= len(relaxed.items):
        _search(run, search, params.stages.bound_from, 1.0)
        _prove(run, polygons, seed, workers, params.stages.bound_share)
        search.adopt(run.best)
    if may_tilt(problem):
        _search(run, search, params.stages.tilt_from, since=since)
        _tilt(run, search)
    _search(run, search, 1.0, since=since)


def _lay_by_hulls(
    run: _Run, flat: Choices, rng: np.random.Generator, workers: int, *, to_the_end: bool
) -> None:
    """A layout before all polygons are made; where there are too many of them, ever more layouts
    until the end."""
    params = run.params
    layouts = HullLayouts(run.problem, flat, rng, params.first, params.compaction)
    with ThreadPoolExecutor(workers) as executor:
        while not run.history or (to_the_end and not run.has_ended()):
            laid = layouts.laid(executor, run.is_late)
            if laid is None:
                break
            run.offer(laid)
            if run.report().ending is None:
                run.iterations += to_the_end
                run.offer(layouts.drawn_together(laid, run.is_late))
                run.report()


def _never() -> bool:
    """Of what goes on to its end."""
    return False


def _first_layouts(
    run: _Run, polygons: NoFitPolygons, flat: Choices, rng: np.random.Generator, workers: int
) -> list[Arrangement]:
    """Some first layouts drawn together, best first; in place of one that can't be, a row."""
    problem, params = run.problem, run.params
    layouts = FirstLayouts(problem, polygons, flat, rng, params.first)

    def made(ordering: Ordering) -> Arrangement:
        laid = layouts.laid(ordering)
        drawn = compact(problem, polygons, laid, params.compaction, run.is_late)
        return drawn or in_a_row(problem)

    starts: list[Arrangement] = []
    with ThreadPoolExecutor(workers) as executor:
        while len(starts) < params.first.tries:
            most = params.first.tries - len(starts)
            for arrangement in layouts.made(made, executor, run.is_late, most):
                starts.append(arrangement)
                run.offer(arrangement)
            verdict = run.report()
            if verdict.ending or verdict.share > params.stages.start:
                break
    return sorted(starts, key=partial(strip_length, problem))


def _search(
    run: _Run,
    search: Search | Windows,
    share: float,
    of: float | None = None,
    since: float = 0.0,
) -> None:
    """Search until this share of the allowance is used up, as if that were all there is, or as if
    there were the greater share `of`. since : share at which what there is begins."""
    run.trying = lambda: search.trying
    verdict = run.report()
    with ThreadPoolExecutor(search.workers) as executor:
        while verdict.ending is None and verdict.share < share:
            search.iterate(executor, (verdict.share - since) / ((of or share) - since))
            run.iterations += 1
            run.offer(search.best)
            verdict = run.report()
    run.trying = None


def _prove(run: _Run, polygons: NoFitPolygons, seed: int, workers: int, share: float) -> None:
    """The exact model with this share of what is left of the allowance."""
    if run.has_ended():
        return

    def learn(bound: float, arrangement: Arrangement | None) -> None:
        run.bound = max(run.bound, bound)
        run.best = arrangement or run.best
        run.report()

    left = run.report()
    seconds = left.seconds_left and left.seconds_left * share
    effort = left.iterations_left and left.iterations_left * run.params.stages.effort_per_iteration
    allowance = Allowance(seconds, effort, seed, workers, run.has_ended)
    proof = prove(run.problem, polygons, run.best, allowance, learn, run.params.exact)
    if proof.optimal:
        run.ending = Ending.PROVEN_CLOSELY
    else:
        run.report()


def _tilt(run: _Run, search: Search | Windows) -> None:
    """Turn what may tilt in the search's layouts, best first. Iterations that are used up do not
    keep from this, for it takes none."""
    given = run.problem
    for layout in search.layouts:
        if run.is_over():
            break
        problem, turned = tilted(given, layout, run.is_over, run.params.tilt)
        if strip_length(problem, turned) < run.length:
            run.problem, run.best = problem, turned
        run.report()
