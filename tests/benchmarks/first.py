"""How soon large jobs have a first layout, and how good: `python -m tests.benchmarks.first`."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Sequence

from marker.placement.problem.statement import PlacementProblem
from marker.placement.solve import solve
from marker.placement.stop import Progress
from tests.benchmarks.fresh import in_fresh_process, peak_memory_mb
from tests.benchmarks.garments import different, eleven_shirts, shirts
from tests.benchmarks.options import positive, positive_count, words
from tests.benchmarks.run import warm_up
from tests.benchmarks.table import markdown, markdown_row
from tests.benchmarks.watch import Watch

JOBS: dict[str, Callable[[], PlacementProblem]] = {
    "shirts-220": eleven_shirts,
    "shirts-1000": lambda: shirts(1000),
    "different-50": lambda: different(50),
    "different-100": lambda: different(100),
    "different-900": lambda: different(900),
}
_HEAD = ("job", "shapes", "first, s", "density, %", "after", "density, %", "peak MB", "load before")


def main(arguments: Sequence[str] | None = None) -> None:
    """Print one row a job, each laid in a process of its own."""
    parser = argparse.ArgumentParser("python -m tests.benchmarks.first", description=__doc__)
    add = parser.add_argument
    add("--jobs", type=words, default=list(JOBS), help=f"of {', '.join(JOBS)}")
    add("--seconds", type=positive, default=10.0, help="of a run (default 10)")
    add("--workers", type=positive_count, default=2, help="threads of a run (default 2)")
    add("--seed", type=int, default=0, help="(default 0)")
    add("--processor-time", action="store_true", help="seconds are processor time ÷ workers")
    options = parser.parse_args(arguments)
    in_fresh_process(warm_up, options.workers)
    print(markdown(_HEAD, []))
    for job in options.jobs:
        load = os.getloadavg()[0]
        cells = in_fresh_process(
            measure, job, options.seconds, options.seed, options.workers, options.processor_time
        )
        print(markdown_row((*cells, f"{load:.1f}")), flush=True)


def measure(
    job: str, seconds: float, seed: int, workers: int, processor_time: bool
) -> tuple[str, ...]:
    """The cells of a job's row but the last."""
    problem = JOBS[job]()
    warm_up(workers)
    watch = Watch(workers if processor_time else 0)
    told: list[tuple[float, float]] = []

    def note(progress: Progress) -> None:
        told.append((watch.seconds, 100 * progress.utilisation))

    solve(problem, watch.after(seconds), seed, workers, note)
    return (
        job,
        str(len(problem.shapes)),
        *(f"{value:.1f}" for value in (*told[0], *told[-1])),
        f"{peak_memory_mb():.0f}",
    )


if __name__ == "__main__":
    main()
