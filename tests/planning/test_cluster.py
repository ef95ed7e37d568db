"""A cluster of real processes: what is refused, and what is kept of it when it is lost."""

from __future__ import annotations

import shutil
import signal
import socket
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from types import SimpleNamespace

import dask
import distributed
import pytest

import marker
from marker.errors import CannotBeDone, FaultyInput
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.layout import CheckedLayout
from marker.planning import cluster, cluster_places
from marker.planning.cluster import cluster_pool
from marker.planning.cluster_places import Places, Watch
from marker.planning.events import PlanningEvent, WorkerLeftOut, unheard
from marker.planning.marker_work import MarkerEffort
from marker.planning.workers import WorkerPool, WorkersLost
from tests.cli.commands import job_file
from tests.jobfile.writer import HEAD, piece
from tests.planning.processes import WAIT_SECONDS, Processes, end, patient, wait_for

GUSSETS = HEAD + piece(
    "points = [[0, 0], [260, 0], [40, 180]]", "cut = 8", "pair = true", name="gusset"
)
"""Nobody proves soon how short these can be laid."""

BARE = """
import sys
class Without:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] == "marker":
            raise ModuleNotFoundError(name=name)
sys.meta_path.insert(0, Without())
"""
LONG, SHORT = MarkerEffort(3600.0, None), MarkerEffort(None, 0)


@pytest.fixture(autouse=True)
def _patience(monkeypatch: pytest.MonkeyPatch) -> None:
    patient(monkeypatch)


@pytest.fixture(scope="module")
def gussets(tmp_path_factory: pytest.TempPathFactory) -> Job:
    return read_job(job_file(tmp_path_factory.mktemp("gussets"), GUSSETS))


@pytest.fixture(scope="module")
def processes(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Processes]:
    found = Processes(tmp_path_factory.mktemp("cluster"))
    yield found
    end(found.scheduler)


def refusal(address: str) -> str:
    """Why a cluster is refused."""
    with pytest.raises((CannotBeDone, FaultyInput)) as caught, cluster_pool(address):
        pass
    return str(caught.value)


def taken_on(address: str) -> None:
    """Raises CannotBeDone while there is no worker."""
    with cluster_pool(address):
        pass


def lay(
    pool: WorkerPool,
    job: Job,
    effort: MarkerEffort,
    stop: threading.Event,
    on_first: Callable[[], None] = lambda: None,
) -> int:
    """How many of two markers were laid, one after the other. on_first : called after the one, once
    the other is being laid: the first is proven shortest in no time."""
    told: dict[int, CheckedLayout] = {}

    def tell(number: int, laid: CheckedLayout) -> None:
        told[number] = laid
        if len(told) == 1:
            threading.Timer(0.3, on_first).start()

    try:
        pool.lay(job, job.cloths[0], [{"38": 1}, {"38": 3}], effort, stop, tell)
    except WorkersLost:
        assert len(told) == 1
        raise
    return len(told)


def _of_another_day(folder: Path) -> dict[str, str]:
    """The environment of a worker whose marker is another."""
    shutil.copytree(Path(marker.__file__).parent, folder / "other" / "marker")
    with (folder / "other" / "marker" / "units.py").open("a") as units:
        units.write("# of another day\n")
    return {"PYTHONPATH": str(folder / "other")}


class Broken(threading.Event):
    """A flag that cannot be asked once a search has begun."""

    def __init__(self) -> None:
        super().__init__()
        self._begins = time.monotonic() + 1.0

    def is_set(self) -> bool:
        if time.monotonic() > self._begins:
            raise KeyError
        return False


def _demand(there: bool) -> None:
    assert there


@pytest.mark.parametrize("answer", [b"", b"HTTP/1.1 400 Bad Request\r\n\r\n" * 9])
def test_a_port_that_answers_nothing_or_something_else(
    answer: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster, "ANSWER_SECONDS", 0.5)
    with socket.socket() as port:
        port.bind(("127.0.0.1", 0))
        port.listen()
        threading.Thread(target=lambda: port.accept()[0].sendall(answer), daemon=True).start()
        address = f"tcp://127.0.0.1:{port.getsockname()[1]}"
        assert f"no scheduler answers at {address}" in refusal(address)


def test_a_fault_of_our_own_is_not_taken_for_silence(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is asked in a thread raises where the answer is waited for."""

    class Broken:
        def __init__(self, *_: object, **__: object) -> None:
            raise KeyError("of our own")

    monkeypatch.setattr(distributed, "Client", Broken)
    with pytest.raises(KeyError, match="of our own"), cluster_pool("tcp://127.0.0.1:8786"):
        pass


def test_tls_asks_for_certificates() -> None:
    assert "names none" in refusal("tls://127.0.0.1:8786")


def test_certificates_that_cannot_be_used_are_named_and_a_key_is_not_told(tmp_path: Path) -> None:
    missing = str(tmp_path / "missing.pem")
    certificates = {"ca-file": missing, "client.cert": missing, "client.key": "secret\nkey"}
    given = {f"distributed.comm.tls.{name}": value for name, value in certificates.items()}
    with dask.config.set(given):
        said = refusal("tls://127.0.0.1:8786")
    assert f"can't be used (No such file or directory): {missing}" in said
    assert "secret" not in said


def test_other_markers_are_refused_with_both_named(processes: Processes, tmp_path: Path) -> None:
    assert "has no workers" in refusal(processes.address)
    (tmp_path / "bare").mkdir()
    (tmp_path / "bare" / "sitecustomize.py").write_text(BARE)
    bare = {"PYTHONPATH": str(tmp_path / "bare")}
    other = _of_another_day(tmp_path)
    for environment, said in ((bare, "has no marker"), (other, "Install the same on all")):
        worker = processes.worker(environment)

        def refused(said: str = said) -> None:
            assert said in refusal(processes.address)

        wait_for(refused)
        assert cluster.state() in refusal(processes.address)
        end(worker)


def test_the_others_go_on_without_a_worker_that_falls_silent(
    processes: Processes, gussets: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of two workers one is frozen while both search; it is named, and works again once it wakes
    up. A third that has another marker comes later, and is left out."""
    events: list[PlanningEvent] = []
    workers = [processes.worker(), processes.worker()]
    cloth, mixes, stop = gussets.cloths[0], [{"38": 3}, {"38": 4}], threading.Event()

    def heard(event: PlanningEvent) -> None:
        events.append(event)
        stop.set()  # nobody would end a search that is given to the frozen one

    def lay_both(pool: WorkerPool, effort: MarkerEffort) -> list[int]:
        told: list[int] = []
        pool.lay(gussets, cloth, mixes, effort, stop, lambda number, _: told.append(number))
        return sorted(told)

    def both_serve() -> None:
        with cluster_pool(processes.address) as pool:
            assert pool.places() == 2

    wait_for(both_serve)
    with cluster_pool(processes.address, heard) as pool:
        pool.compile_kernels(stop)  # then they are silent for seconds
        monkeypatch.setattr(cluster_places, "_SILENT_SECONDS", 5.0)
        threading.Timer(0.5, workers[0].send_signal, (signal.SIGSTOP,)).start()
        assert lay_both(pool, LONG) == [0, 1]
        assert pool.places() == 1
        patient(monkeypatch)
        workers[0].send_signal(signal.SIGCONT)
        workers.append(processes.worker(_of_another_day(tmp_path)))
        wait_for(lambda: _demand(pool.places() == 2 and len(events) == 2))
        assert lay_both(pool, SHORT) == [0, 1]
    said = [each.why for each in events if isinstance(each, WorkerLeftOut)]
    assert [why.partition("tcp")[0] for why in said] == ["The worker at "] * 2
    assert "does not answer" in said[0]
    assert "Install the same on all" in said[1]
    for worker in workers:
        end(worker)


def test_nothing_is_late_after_this_process_was_stopped(
    processes: Processes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As by Ctrl-Z, or a laptop that is shut: the clock has run on."""
    worker = processes.worker()
    wait_for(lambda: taken_on(processes.address))
    with cluster_pool(processes.address) as pool:
        later = SimpleNamespace(monotonic=lambda: time.monotonic() + 3600.0)
        monkeypatch.setattr(cluster_places, "time", later)
        assert pool.lost() is None
    end(worker)


def test_a_worker_that_its_scheduler_does_not_reach_is_named(
    processes: Processes, monkeypatch: pytest.MonkeyPatch
) -> None:
    worker = processes.worker()
    wait_for(lambda: taken_on(processes.address))

    def run(*_: object, workers: Sequence[str], on_error: str) -> dict[str, Exception]:
        assert on_error == "return"
        return {name: OSError("timed out") for name in workers}

    monkeypatch.setattr(distributed.Client, "run", run)
    assert "can't be asked what it runs (timed out)" in refusal(processes.address)
    end(worker)


class Told:
    """A scheduler that tells of workers, each heard just now."""

    status = "running"

    def __init__(self) -> None:
        self.names = ["one"]

    def scheduler_info(self, n_workers: int) -> dict[str, dict[str, dict[str, object]]]:
        assert n_workers == -1
        heard = {"last_seen": time.time(), "nthreads": 1, "status": "running"}
        return {"workers": {name: dict(heard) for name in self.names}}


def test_a_new_worker_that_does_not_say_which_marker_it_has_is_asked_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One whose machine goes off meanwhile keeps the others from nothing."""
    monkeypatch.setattr(cluster_places, "_COMPARING_SECONDS", 0.1)
    monkeypatch.setattr(cluster_places, "_ASK_AGAIN_SECONDS", 0.1)
    asked: list[str] = []
    answers, never = threading.Event(), threading.Event()

    def unlike(names: Sequence[str]) -> dict[str, str]:
        asked.extend(names)
        if "two" in names and not answers.is_set():
            never.wait(WAIT_SECONDS)
        return {}

    scheduler = Told()
    places = Places(scheduler)
    deadline = time.monotonic() + WAIT_SECONDS
    watch = Watch(scheduler, "tcp://there", places, unlike, unheard, deadline)
    watch.deadline = 0.0  # for later answers there is a moment only
    scheduler.names.append("two")
    watch.start()
    wait_for(lambda: _demand(asked.count("two") > 1))
    assert places.count == 1
    assert watch.lost() is None
    answers.set()
    wait_for(lambda: _demand(places.count == 2))
    for event in (watch.ended, never):
        event.set()


@pytest.mark.parametrize("gone", cluster_places.GONE)
def test_a_scheduler_that_is_gone_is_asked_again(
    gone: type[Exception], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever its client raises then."""
    monkeypatch.setattr(cluster_places, "_ASK_AGAIN_SECONDS", 0.01)
    raised: list[object] = []

    class Going(Told):
        def scheduler_info(self, n_workers: int) -> dict[str, dict[str, dict[str, object]]]:
            if self.status != "running":
                raised.append(gone)
                raise gone
            return super().scheduler_info(n_workers)

    scheduler = Going()
    places = Places(scheduler)
    deadline = time.monotonic() + WAIT_SECONDS
    watch = Watch(scheduler, "tcp://there", places, lambda _: {}, unheard, deadline)
    watch.start()
    scheduler.status = "closed"
    assert watch.lost() == "The scheduler at tcp://there is gone."
    wait_for(lambda: _demand(len(raised) > 1))
    scheduler.names.append("two")
    scheduler.status = "running"
    wait_for(lambda: _demand(places.count == 2))
    watch.ended.set()


def test_no_other_worker_is_waited_for_after_ctrl_c(processes: Processes) -> None:
    worker = processes.worker()
    wait_for(lambda: taken_on(processes.address))
    with cluster_pool(processes.address) as pool:
        end(worker)
        pool.enough.set()
        wait_for(lambda: _demand("no workers any more" in str(pool.lost())))


@pytest.mark.parametrize("connects", [True, False])
def test_another_dask_is_refused_with_both_named(
    processes: Processes, connects: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where a client of the one does not understand the scheduler of the other."""

    def unknown(*_: object, **__: object) -> None:
        raise TypeError("Scheduler.identity() got an unexpected keyword argument")

    there = distributed.__version__
    monkeypatch.setattr(distributed, "__version__", "2020.1.0")
    if not connects:
        monkeypatch.setattr(distributed, "Client", type("Client", (), {"__init__": unknown}))
    told = f"has dask.distributed {there}, and here is 2020.1.0"
    assert told in refusal(processes.address)


def test_what_is_lost_is_told(
    processes: Processes, gussets: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C ends a search at once, and so does an error here. While there is another a worker
    falls silent, as one whose machine went off; then the scheduler goes."""
    worker = processes.worker()
    wait_for(lambda: taken_on(processes.address))
    with cluster_pool(processes.address) as pool:
        pool.compile_kernels(threading.Event())
        assert lay(pool, gussets, SHORT, threading.Event()) == 2
        stop = threading.Event()
        assert lay(pool, gussets, LONG, stop, stop.set) == 2
    with pytest.raises(KeyError), cluster_pool(processes.address) as pool:
        lay(pool, gussets, LONG, Broken())
    with cluster_pool(processes.address) as pool:  # the one before has ended there, too
        assert lay(pool, gussets, SHORT, threading.Event()) == 2

    def silent() -> None:
        worker.send_signal(signal.SIGSTOP)
        monkeypatch.setattr(cluster_places, "_SILENT_SECONDS", 4.5)

    with (
        cluster_pool(processes.address) as pool,
        pytest.raises(WorkersLost, match="has no workers any more"),
    ):
        lay(pool, gussets, LONG, threading.Event(), silent)
    patient(monkeypatch)
    end(worker)
    worker = processes.worker()
    wait_for(lambda: taken_on(processes.address))
    with (
        cluster_pool(processes.address) as pool,
        pytest.raises(WorkersLost, match=f"scheduler at {processes.address} is gone"),
    ):
        lay(pool, gussets, LONG, threading.Event(), processes.scheduler.kill)
    end(worker)
