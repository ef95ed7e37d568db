"""What more workers of a cluster are worth: `python -m tests.benchmarks.cluster --help`."""

from __future__ import annotations

import argparse
import tempfile
import threading
import time
from collections.abc import Sequence
from pathlib import Path
from statistics import mean

from marker.job import Job
from marker.jobfile.reading import read_job
from marker.layout import CheckedLayout
from marker.placement.warming import warm_up_first_layouts, warm_up_search
from marker.planning.cluster import cluster_pool
from marker.planning.marker_work import MarkerEffort
from marker.planning.workers import WorkerPool
from tests.benchmarks.options import counts, positive, positive_count
from tests.benchmarks.table import markdown, markdown_row
from tests.planning.processes import Processes, end, wait_for

JOB = Path(__file__).parents[2] / "pieces" / "choir-dress" / "job.toml"
_HEAD = (
    "workers", "markers", "pieces in each", "seconds", "share of the cloth used, %",
    "length of the first, mm", "wall, s",
)  # fmt: skip


def main(arguments: Sequence[str] | None = None) -> None:
    """Print one row for each number of workers, on a scheduler and workers started here."""
    parser = argparse.ArgumentParser("python -m tests.benchmarks.cluster", description=__doc__)
    add = parser.add_argument
    add("--job", type=Path, default=JOB, help="job file (default: that of the choir dress)")
    add("--workers", type=counts, default=[2, 4, 8, 16], help="so many (default 2,4,8,16)")
    add("--seconds", type=positive, default=60.0, help="for all markers (default 60)")
    add("--markers", type=positive_count, default=1, help="laid at once (default 1)")
    add("--garments", type=positive_count, default=24, help="in each (default 24)")
    add("--seed", type=int, default=0)
    options = parser.parse_args(arguments)
    warm_up_first_layouts()  # compiled once, so that workers only load it
    warm_up_search(False)
    job = read_job(options.job)
    mixes = _mixes(job, options.markers, options.garments)
    print(markdown(_HEAD, []))
    for workers in options.workers:
        turns = -(-len(mixes) // workers)
        effort = MarkerEffort(options.seconds / turns, None, options.seed)
        print(markdown_row(_measured(job, mixes, effort, workers)), flush=True)


def _mixes(job: Job, markers: int, garments: int) -> list[dict[str, int]]:
    """As evenly of all sizes as can be; each with a garment of a size moved to another."""
    sizes = list(job.sizes)
    found = []
    for number in range(markers):
        mix = {size: garments // len(sizes) for size in sizes}
        for k in range(garments % len(sizes)):
            mix[sizes[k]] += 1
        give, take = number % len(sizes), (number + 1 + number // len(sizes)) % len(sizes)
        if number and mix[sizes[give]] > 1:
            mix[sizes[give]] -= 1
            mix[sizes[take]] += 1
        found.append(mix)
    return found


def _measured(
    job: Job, mixes: list[dict[str, int]], effort: MarkerEffort, workers: int
) -> list[str]:
    with tempfile.TemporaryDirectory() as folder:
        cluster = Processes(Path(folder))
        started = [cluster.worker() for _ in range(workers)]
        try:
            wait_for(lambda: _demand_workers(cluster.address, workers))
            with cluster_pool(cluster.address) as pool:
                pool.compile_kernels(threading.Event())
                began = time.monotonic()
                laid = _laid(pool, job, mixes, effort)
                wall = time.monotonic() - began
        finally:
            for process in (*started, cluster.scheduler):
                end(process)
    used = [100 * each.utilisation for each in laid]
    pieces = len(laid[0].layout.placements)
    return [
        str(workers),
        str(len(mixes)),
        str(pieces),
        f"{effort.seconds:.0f}",
        f"{mean(used):.2f}",
        f"{laid[0].layout.length_mm:.0f}",
        f"{wall:.1f}",
    ]


def _demand_workers(address: str, workers: int) -> None:
    """Raises AssertionError while there are fewer."""
    with cluster_pool(address) as pool:
        assert pool.places() == workers


def _laid(
    pool: WorkerPool, job: Job, mixes: list[dict[str, int]], effort: MarkerEffort
) -> list[CheckedLayout]:
    """All markers, judged; raises where workers are lost."""
    found: dict[int, CheckedLayout] = {}
    pool.lay(job, job.cloths[0], mixes, effort, threading.Event(), found.__setitem__)
    return [found[number] for number in range(len(mixes))]


if __name__ == "__main__":
    main()
