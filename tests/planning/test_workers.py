"""Markers laid in processes: the same wherever they are laid, and though a worker is lost."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections import Counter
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import dask
import numpy as np
import pytest
from distributed import LocalCluster

from marker import judge
from marker.errors import FaultyInput
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.layout import CheckedLayout
from marker.orders.lengths import mix
from marker.placement.stop import Flag
from marker.planning import cluster, marker_work
from marker.planning.carrying import of_fewer_garments
from marker.planning.cluster import cluster_pool
from marker.planning.laid_markers import inherit
from marker.planning.limits import SearchLimits, usual_workers
from marker.planning.marker_work import MarkerEffort, followed
from marker.planning.workers import WorkerPool, local_pool
from tests.cli.commands import job_file
from tests.cli.test_order_job import SASHES
from tests.jobfile.writer import HEAD, piece
from tests.planning.processes import patient

MIXES = [{"S": 1}, {"M": 2}, {"S": 2, "M": 1}, {"S": 1, "M": 3}]
TRIANGLES = HEAD + piece(
    "points = [[0, 0], [260, 0], [40, 180]]", "cut = 8", "pair = true", name="gusset"
)
ITERATIONS = MarkerEffort(None, 3)


@pytest.fixture(scope="module")
def sashes(tmp_path_factory: pytest.TempPathFactory) -> Job:
    return read_job(job_file(tmp_path_factory.mktemp("sashes"), SASHES))


def laid(
    pool: WorkerPool, job: Job, effort: MarkerEffort = ITERATIONS, stop: Flag | None = None
) -> list[CheckedLayout]:
    found: dict[int, CheckedLayout] = {}
    pool.lay(job, job.cloths[0], MIXES, effort, stop or threading.Event(), found.__setitem__)
    return [found[number] for number in range(len(MIXES))]


@pytest.fixture(scope="module")
def here(sashes: Job) -> list[CheckedLayout]:
    """Laid on this machine."""
    stop = threading.Event()
    with local_pool(2) as pool:
        found = laid(pool, sashes, stop=stop)
        stop.set()  # the same processes then end with the best they have
        started = time.monotonic()
        assert len(laid(pool, sashes, MarkerEffort(300.0, None), stop)) == len(MIXES)
        assert time.monotonic() - started < 100
    return found


def test_markers_hold_their_garments(here: list[CheckedLayout]) -> None:
    assert [Counter(each.garments) for each in here] == [Counter(mix) for mix in MIXES]


def test_garments_taken_out_leave_the_rest_where_it_lay(here: list[CheckedLayout]) -> None:
    """Of three garments M the one that reaches furthest goes; the judge has seen what is left."""
    whole = here[3]
    left = of_fewer_garments(whole, ("S", "M", "M"), 0.0)
    assert left is not None
    assert left.garments == ("S", "M", "M")
    reach = {
        number: max(
            float(place.outline_mm[:, 0].max())
            for place in whole.layout.placements
            if place.garment == number
        )
        for number in range(1, 5)
    }
    kept = [reach[1], *sorted(reach[number] for number in (2, 3, 4))[:2]]
    assert left.layout.length_mm == max(kept)
    assert of_fewer_garments(whole, ("S", "S"), 0.0) is None


def test_fewer_garments_never_take_more(here: list[CheckedLayout]) -> None:
    """A layout drawn out for the test inherits that of the marker with more garments."""
    long = here[1]
    moved = tuple(
        replace(p, x_mm=p.x_mm + 900, outline_mm=p.outline_mm + np.array([900, 0]))
        for p in long.layout.placements
    )
    length = long.layout.length_mm + 900
    drawn_out = judge.check(
        replace(long.layout, placements=moved, length_mm=length), long.cut_pieces, long.garments
    )
    laid = {mix({"M": 2}): drawn_out, mix({"S": 1, "M": 3}): here[3]}
    inherit(laid)
    shorter = laid[mix({"M": 2})]
    assert shorter.garments == ("M", "M")
    assert shorter.layout.length_mm <= here[3].layout.length_mm < length


class Noting(ThreadPoolExecutor):
    """Keeps what it was given to do."""

    def __init__(self) -> None:
        super().__init__(1)
        self.done: list[Future[CheckedLayout]] = []

    def submit(self, *work: Any, **named: Any) -> Future[Any]:
        self.done.append(super().submit(*work, **named))
        return self.done[-1]


def test_one_marker_is_searched_by_all_and_the_best_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two places and one marker: two searches in each of three heats, none of the last ones longer
    than the best before them."""
    monkeypatch.setattr(marker_work, "LEAST_HEAT_SECONDS", 0.3)
    stop = threading.Event()
    job = read_job(job_file(tmp_path, TRIANGLES))
    with Noting() as executor:
        pool = WorkerPool(executor, stop, stop, places=lambda: 2)
        told: dict[int, CheckedLayout] = {}
        effort = MarkerEffort(0.9, None)
        pool.lay(job, job.cloths[0], [{"38": 3}], effort, stop, told.__setitem__)
    lengths = [each.result().layout.length_mm for each in executor.done]
    assert len(lengths) == 6
    assert told[0].layout.length_mm == min(lengths)
    assert len({each.result().layout.seed for each in executor.done}) == 6
    assert max(lengths[4:]) <= min(lengths[:4])


def test_a_cluster_that_loses_a_worker_lays_the_same(
    sashes: Job, here: list[CheckedLayout], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two worker processes, one killed while it lays; dask.distributed is the engine outside."""
    patient(monkeypatch)
    with (
        dask.config.set({"distributed.scheduler.worker-ttl": "30s"}),
        LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50
        ) as engine,
        cluster_pool(engine.scheduler_address) as pool,
    ):
        victim = next(iter(engine.workers.values())).pid
        killer = threading.Timer(0.5, os.kill, (victim, signal.SIGKILL))
        killer.start()
        there = laid(pool, sashes)
        killer.join()
    for one, other in zip(here, there, strict=True):
        assert one.garments == other.garments
        assert one.layout.length_mm == other.layout.length_mm
        for mine, theirs in zip(one.layout.placements, other.layout.placements, strict=True):
            assert np.array_equal(mine.outline_mm, theirs.outline_mm)


def test_nobody_at_the_address_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "ANSWER_SECONDS", 0.3)
    with (
        pytest.raises(FaultyInput, match=r"no scheduler answers at tcp://127\.0\.0\.1:9"),
        cluster_pool("tcp://127.0.0.1:9"),
    ):
        pass


@pytest.mark.parametrize(("cores", "used"), [(1, 1), (2, 2), (3, 2), (8, 7), (64, 16)])
def test_usual_workers_leave_a_core_of_more_than_two(
    cores: int, used: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: set(range(cores)), raising=False)
    assert usual_workers() == SearchLimits().workers == used
    monkeypatch.delattr(os, "sched_getaffinity")  # as on systems that do not know of it
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    assert usual_workers() == used


class AskedBy:
    """A flag that notes which threads ask, and is set once it was asked by more than the first."""

    def __init__(self) -> None:
        self.threads: list[int] = []

    def is_set(self) -> bool:
        self.threads.append(threading.get_ident())
        return len(set(self.threads)) > 1


def test_a_flag_from_afar_is_asked_by_one_thread_after_the_first_time() -> None:
    """The search may ask from any thread, for what it asks is a copy."""
    flag = AskedBy()
    with followed(flag) as copy, ThreadPoolExecutor(4) as executor:
        deadline = time.monotonic() + 20
        while not all(executor.map(lambda _: copy.is_set(), range(8))):
            assert time.monotonic() < deadline
            time.sleep(0.01)
    assert flag.threads[0] == threading.get_ident()
    assert len(set(flag.threads)) == 2


def test_a_search_ends_when_its_flag_cannot_be_asked_any_more() -> None:
    class Lost(AskedBy):
        def is_set(self) -> bool:
            if super().is_set():
                raise OSError("gone")
            return False

    def search() -> None:
        with followed(Lost()) as copy:
            while not copy.is_set():
                time.sleep(0.01)

    with pytest.raises(OSError, match="gone"):
        search()
