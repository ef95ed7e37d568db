"""Lay a problem: assembly of first layouts, search and stop rules. Holds no algorithm."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from itertools import chain, islice

import numpy as np

from marker.layout.ending import Ending
from marker.placement.exact import bounds
from marker.placement.exact.bounds import relax
from marker.placement.exact.proof import Allowance, ExactParams, prove
from marker.placement.lp.rotations import compile_contacts
from marker.placement.lp.tilt import may_tilt, tilted
from marker.placement.params import DEFAULT, PlacementParams
from marker.placement.problem.statement import Arrangement, PlacementProblem, strip_length
from marker.placement.search.overlaps import choices
from marker.placement.search.strategy import Search, compacted_layouts
from marker.placement.search.trajectory import Shared
from marker.placement.stop import Progress, Stop, Verdict
from marker.placement.tables.no_fit_polygons import Boundaries, boundaries
from marker.placement.tables.overlap_grids import no_fit_table


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


@dataclass
class _Run:
    """What is known in the course of one run, and who is told."""

    problem: PlacementProblem
    stop: Stop
    on_progress: Callable[[Progress], None]
    params: PlacementParams
    best: Arrangement
    bound: float
    started: float
    iterations: int = 0
    history: list[tuple[float, float]] = field(default_factory=list)

    @property
    def length(self) -> float:
        return strip_length(self.problem, self.best)

    def progress(self) -> Progress:
        """Where the run stands."""
        length = self.length
        seconds = time.monotonic() - self.started
        utilisation = self.problem.area / (length * self.problem.usable_width)
        return Progress(
            seconds, self.iterations, length, self.bound, utilisation, self.problem, self.best
        )

    def report(self) -> Verdict:
        """Tell where the run stands, and ask whether to stop."""
        progress = self.progress()
        if not self.history or progress.length < self.history[-1][1]:
            self.history.append((progress.seconds, progress.length))
        self.on_progress(progress)
        return self.stop(progress)


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
    started = time.monotonic()
    rng = np.random.default_rng(seed)
    edges_of = boundaries(problem)
    table = no_fit_table(problem, edges_of, params.grids)
    shared = Shared(
        problem, edges_of, table, choices(problem), params.search, params.separation,
        params.perturbation, params.compaction,
    )  # fmt: skip
    layouts = compacted_layouts(shared, rng, params.first)
    first = next(layouts)
    run = _Run(problem, stop, on_progress, params, first, bounds.simple(problem), started)
    exact = _within_exact_reach(problem, params.exact)
    starts, ending = _start(run, chain([first], islice(layouts, params.first.tries - 1)))
    search = Search(shared, starts, rng, workers, params.heats)
    run.started += search.compile() + (compile_contacts() if may_tilt(problem) else 0.0)
    if ending is None and exact:
        ending = _search(run, search, params.stages.exact_from) or _prove(
            run, edges_of, seed, workers
        )
        search.adopt(run.best)
    if may_tilt(problem):
        ending = _tilt(run, search, ending or _search(run, search, params.stages.tilt_from))
    ending = ending or _search(run, search, 1.0)
    assert ending is not None  # a whole allowance was used up
    return Result(
        run.problem, run.best, run.length, run.bound, ending, run.iterations,
        time.monotonic() - started, tuple(run.history),
    )  # fmt: skip


def _within_exact_reach(problem: PlacementProblem, params: ExactParams) -> bool:
    items = relax(problem).problem.items
    orientations = sum(len(item.orientations) for item in items)
    return len(items) <= params.most_items and orientations <= params.most_orientations


def _start(run: _Run, layouts: Iterable[Arrangement]) -> tuple[list[Arrangement], Ending | None]:
    """Some first layouts, best first; and the reason to stop for good, if any."""
    starts = []
    verdict = run.report()
    for layout in layouts:
        starts.append(layout)
        run.best = min(run.best, layout, key=partial(strip_length, run.problem))
        verdict = run.report()
        if verdict.ending or verdict.share > run.params.stages.start:
            break
    return sorted(starts, key=partial(strip_length, run.problem)), verdict.ending


def _search(run: _Run, search: Search, share: float) -> Ending | None:
    """Search until this share of the allowance is used up, as if that were all there is; the reason
    to stop for good, if any."""
    verdict = run.report()
    with ThreadPoolExecutor(search.workers) as executor:
        while verdict.ending is None and verdict.share < share:
            search.iterate(executor, verdict.share / share)
            run.best = min(run.best, search.best, key=partial(strip_length, run.problem))
            run.iterations += 1
            verdict = run.report()
    return verdict.ending


def _prove(run: _Run, edges_of: Boundaries, seed: int, workers: int) -> Ending | None:
    """The exact model with what is left of the allowance; the reason to stop for good, if any."""

    def learn(bound: float, arrangement: Arrangement | None) -> None:
        run.bound = max(run.bound, bound)
        run.best = arrangement or run.best
        run.report()

    def stopped() -> bool:
        return run.stop(run.progress()).ending is not None

    left = run.report()
    seconds = left.seconds_left and left.seconds_left * run.params.stages.exact_share
    effort = left.iterations_left and left.iterations_left * run.params.stages.effort_per_iteration
    allowance = Allowance(seconds, effort, seed, workers, stopped)
    proof = prove(run.problem, edges_of, run.best, allowance, learn, run.params.exact)
    return Ending.PROVEN_CLOSELY if proof.optimal else run.report().ending


def _tilt(run: _Run, search: Search, ending: Ending | None) -> Ending | None:
    """Turn what may tilt in the search's layouts, best first; the reason to stop for good, if any.

    ending : why the search ended, if it did. Iterations that are used up do not keep from this, for
    it takes none.
    """

    def ends(ending: Ending | None) -> bool:
        return ending not in (None, Ending.ITERATIONS_UP)

    def stopped() -> bool:
        return ends(run.stop(run.progress()).ending)

    given = run.problem
    for layout in search.layouts:
        if ends(ending):
            break
        problem, turned = tilted(given, layout, stopped, run.params.tilt)
        if strip_length(problem, turned) < run.length:
            run.problem, run.best = problem, turned
        ending = run.report().ending
    return ending
