"""How far small jobs are proven: `python -m tests.benchmarks.small --help`."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from marker.jobfile.reading import read_job
from marker.placement.problem.cuts import Label
from marker.placement.problem.statement import PlacementProblem
from marker.placement.solve import solve
from marker.placement.stop import Progress, after_seconds, at_bound, first_of
from marker.planning.tasks import tasks
from tests.benchmarks.folder import ROOT, default_folder, instance_files, read_instance
from tests.benchmarks.fresh import in_fresh_process
from tests.benchmarks.options import counts, positive, positive_count, words
from tests.benchmarks.published import SMALL_OPTIMA
from tests.benchmarks.run import warm_up
from tests.benchmarks.strip import strip_of
from tests.benchmarks.table import markdown, markdown_row
from tests.placement.problems import on_cloth

GARMENTS = ("choir-dress", "pinafore", "shirt")
_HEAD = ("job", "pieces", "known optimum", "length", "bound", "gap, %", "s", "load before")


@dataclass(frozen=True)
class Job:
    """What is laid. unit : mm in one unit of the lengths shown. optimum : known, in units."""

    name: str
    problem: PlacementProblem
    unit: float
    optimum: float | None = None


def main(arguments: Sequence[str] | None = None) -> None:
    """Print one row a job, each laid in a process of its own."""
    parser = argparse.ArgumentParser("python -m tests.benchmarks.small", description=__doc__)
    add = parser.add_argument
    add("--instances", type=Path, default=default_folder() / "small", help="instance files")
    add("--names", type=words, help="instances to run (default: all)")
    add("--pieces", type=counts, default=[3, 4, 5, 6, 7, 8], help="sizes of the random jobs")
    add("--draws", type=positive_count, default=1, help="random jobs a size and garment")
    add("--gap", type=float, default=0.0, help="gap between the random jobs' pieces, mm")
    add("--tolerance", type=float, default=0.0, help="their grain tolerance, degrees")
    add("--seconds", type=positive, default=60.0, help="wall time of a run (default 60)")
    add("--workers", type=positive_count, default=2, help="threads of a run (default 2)")
    options = parser.parse_args(arguments)
    in_fresh_process(warm_up, options.workers)
    print(markdown(_HEAD, []))
    for job in (*_published(options), *_drawn(options)):
        load = os.getloadavg()[0]
        cells = in_fresh_process(measure, job, options.seconds, options.workers)
        print(markdown_row((*cells, f"{load:.1f}")), flush=True)


def measure(job: Job, seconds: float, workers: int) -> tuple[str, ...]:
    """The cells of a job's row but the last."""
    warm_up(workers)
    stop = first_of(after_seconds(seconds), at_bound())
    result = solve(job.problem, stop, 0, workers, _in_silence)
    return (
        job.name,
        str(len(job.problem.items)),
        "–" if job.optimum is None else f"{job.optimum:g}",
        f"{result.length / job.unit:.4g}",
        f"{result.bound / job.unit:.4g}",
        f"{100 * (1 - result.bound / result.length):.2f}",
        f"{result.seconds:.1f}",
    )


def _published(options: argparse.Namespace) -> Iterator[Job]:
    for path in instance_files(options.instances, options.names):
        instance = read_instance(path)
        strip = strip_of(instance)
        yield Job(instance.name, strip.problem, strip.scale, SMALL_OPTIMA.get(instance.name))


def _drawn(options: argparse.Namespace) -> Iterator[Job]:
    """Random pieces of one garment on its own cloth, each drawn at most as often as it is cut."""
    for garment in GARMENTS:
        task = tasks(read_job(ROOT / "pieces" / garment / "job.toml"))[0]
        cloth = replace(task.cloth, gap_mm=options.gap)
        every = _tilting(task.load.items, options.tolerance)
        for count in options.pieces:
            for draw in range(options.draws):
                rng = np.random.default_rng((count, draw))
                chosen = sorted(rng.choice(len(task.load.items), count, replace=False).tolist())
                items = [every[k] for k in chosen]
                yield Job(f"{garment} {draw + 1}", on_cloth(items, cloth), 1.0)


def _tilting(items: Sequence[Label], tolerance: float) -> list[Label]:
    """The same labels with pieces of this grain tolerance, each piece made once."""
    made = {id(item.piece): replace(item.piece, grain_tolerance_deg=tolerance) for item in items}
    return [replace(item, piece=made[id(item.piece)]) for item in items]


def _in_silence(progress: Progress) -> None:
    """Nobody watches a benchmark."""


if __name__ == "__main__":
    main()
