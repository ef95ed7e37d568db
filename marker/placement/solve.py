"""Lay a problem: assembly of first layouts, search and stop rules. Holds no algorithm."""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import islice

import numpy as np

from marker.placement import bounds
from marker.placement.compact import compact
from marker.placement.construct import first_layouts
from marker.placement.nofit import boundaries, no_fit_table
from marker.placement.problem import Arrangement, PlacementProblem, strip_length
from marker.placement.search import Search, Shared, Worker
from marker.placement.separate import Effort
from marker.placement.state import choices, state_of
from marker.placement.stop import Progress, Stop

FIRST_LAYOUTS = 12
BY_HAND = "stopped by hand"


@dataclass(frozen=True)
class Result:
    """The answer: the best arrangement, what is proven of it, and how it came about.

    length, bound : mm. history : (seconds, length) at each improvement.
    """

    arrangement: Arrangement
    length: float
    bound: float
    stopped_because: str
    iterations: int
    seconds: float
    history: tuple[tuple[float, float], ...]


def solve(
    problem: PlacementProblem,
    stop: Stop,
    seed: int,
    workers: int,
    on_progress: Callable[[Progress], None],
) -> Result:
    """Search until `stop` says so or the user interrupts; the best layout met is the answer.

    The same problem, seed, workers and number of iterations give the same answer.
    """
    started = time.monotonic()
    rng = np.random.default_rng(seed)
    edges_of = boundaries(problem)
    shared = Shared(problem, edges_of, no_fit_table(problem, edges_of), choices(problem), Effort())
    bound = bounds.simple(problem)
    search = _first_search(shared, rng, workers)
    history: list[tuple[float, float]] = []
    iteration = 0

    def report() -> Progress:
        seconds = time.monotonic() - started
        progress = Progress(
            seconds, iteration, search.length, bound,
            problem.area / (search.length * problem.usable_width),
        )  # fmt: skip
        if not history or search.length < history[-1][1]:
            history.append((seconds, search.length))
        on_progress(progress)
        return progress

    verdict = stop(report())
    reason = verdict.reason
    try:
        with ThreadPoolExecutor(workers) as executor:
            while reason is None:
                search.iterate(executor, verdict.share)
                iteration += 1
                verdict = stop(report())
                reason = verdict.reason
    except KeyboardInterrupt:
        reason = BY_HAND
    return Result(
        search.best, search.length, bound, reason, iteration,
        time.monotonic() - started, tuple(history),
    )  # fmt: skip


def _first_search(shared: Shared, rng: np.random.Generator, workers: int) -> Search:
    layouts = islice(
        first_layouts(shared.problem, shared.table, shared.choices, rng), FIRST_LAYOUTS
    )
    best: Arrangement | None = None
    for _, arrangement in sorted(layouts, key=lambda entry: entry[0])[:3]:
        drawn = compact(shared.problem, shared.edges_of, arrangement)
        if drawn is not None and (
            best is None or strip_length(shared.problem, drawn) < strip_length(shared.problem, best)
        ):
            best = drawn
    assert best is not None
    search = Search(shared, [], best, rng)
    for stream in rng.spawn(workers):
        worker = Worker(shared, stream, state_of(shared.problem, best, search.length, 0), search.length)
        search.workers.append(worker)
        search._follow(worker, compressing=False)
    return search
