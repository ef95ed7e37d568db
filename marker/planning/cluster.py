"""The workers of a dask.distributed scheduler as a pool that lays markers.

Before any work, scheduler, client and workers compare their marker. While they work, the scheduler
is asked again and again, so that what is lost is told within seconds.
"""

from __future__ import annotations

import functools
import logging
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from typing import Any, TypeVar

from marker.errors import CannotBeDone, Fault, FaultyInput
from marker.planning.workers import Travelling, WorkerPool

Answer = TypeVar("Answer")

ANSWER_SECONDS = 6.0
"""How long scheduler and workers may take for all answers before any work: with the start of a
command on a busy machine that is 10 s."""

_ASK_AGAIN_SECONDS = 1.0
_LOST_SECONDS = 6.0  # without an answer, or without a worker: another may be starting
_PATIENCE_SECONDS = 8.0
_PACKAGE = "marker"

_GONE = (OSError, TimeoutError, RuntimeError, CancelledError)
"""What dask raises where a scheduler, or the client's own loop, is gone."""


@contextmanager
def cluster_pool(address: str) -> Iterator[WorkerPool]:
    """The workers of a scheduler. What a lost worker was laying goes to another.

    address : as 'tcp://host:8786', or 'tls://host:8786' with certificates as dask's configuration
    names them. Raises FaultyInput where nobody answers there, CannotBeDone without workers and
    where one of them has another marker.
    """
    try:
        import distributed
    except ImportError as error:
        problem, remedy = "dask.distributed is not installed", "Install marker[cluster]"
        raise FaultyInput([Fault("--cluster", problem, remedy)]) from error
    deadline = time.monotonic() + ANSWER_SECONDS
    with _quiet(), _connected(address, deadline) as client:
        watch = _Watch(client, address, deadline)
        if not watch.places:
            raise CannotBeDone(
                f"The scheduler at {address} has no workers. Start one: dask worker {address}"
            )
        _demand_same(client, address, deadline)
        enough = distributed.Event(client=client)
        sent = Travelling(enough, functools.partial(demand_state, state()))
        watch.start()
        try:
            yield WorkerPool(
                client.get_executor(pure=False),
                _SetApart(enough),
                sent,
                lambda: max(watch.places, 1),
                watch.lost,
                {
                    distributed.KilledWorker: "Worker after worker was lost over one marker.",
                    CancelledError: f"The scheduler at {address} is gone.",
                    ImportError: "A worker that came later has no marker. Install it there.",
                    OSError: f"The scheduler at {address} does not answer a worker.",
                },
                _PATIENCE_SECONDS,
            )
        finally:
            watch.ended.set()


@contextmanager
def _connected(address: str, deadline: float) -> Iterator[Any]:
    from distributed import Client
    from distributed.comm import parse_address

    _demand_certificates(address)
    # one that was never answered is not asked to say goodbye when it is forgotten: that takes 8 s
    client_class = type("MarkerClient", (Client,), {"__del__": lambda _: None})
    try:
        parse_address(address, strict=True)  # what is none would be tried for long, with complaints
        seconds = 0.8 * ANSWER_SECONDS  # a silent port keeps it longer than it was told
        client = _by(deadline, lambda: client_class(address, timeout=seconds, set_as_default=False))
    except (*_GONE, ValueError, TypeError, MemoryError) as error:
        problem = f"no scheduler answers at {address}"
        if address.startswith("tls:"):
            problem += ", or it does not take the certificates that dask's configuration names here"
        remedy = "Give the address that it prints when it starts, such as tcp://host:8786"
        raise FaultyInput([Fault("--cluster", problem, remedy)]) from error
    try:
        yield client
    finally:
        with suppress(*_GONE):  # nobody waits for a scheduler that is gone
            client.close(timeout=2)


def _demand_certificates(address: str) -> None:
    """Raises FaultyInput for an address of TLS where dask's configuration names no certificates, or
    some that can't be used."""
    from distributed import Security

    if not address.startswith("tls:"):
        return
    remedy = "Name ca-file, cert and key under distributed.comm.tls"
    try:
        found = Security().get_connection_args("client")["ssl_context"]
    except OSError as error:
        given = Security().get_tls_config_for_role("client")
        named = (str(given[each]) for each in ("ca_file", "cert", "key") if given[each])
        files = ", ".join(each for each in named if "\n" not in each)  # or it is a key itself
        why = error.strerror or str(error)
        problem = f"certificates that dask's configuration names can't be used ({why}): {files}"
        raise FaultyInput([Fault("--cluster", problem, remedy)]) from error
    if not found:
        problem = f"{address} asks for certificates, and dask's configuration here names none"
        raise FaultyInput([Fault("--cluster", problem, remedy)])


@contextmanager
def _quiet() -> Iterator[None]:
    """Without what dask says of lost connections: it is told once, in this project's words."""
    before = logging.root.manager.disable
    logging.disable(logging.CRITICAL)
    try:
        yield
    finally:
        logging.disable(before)


@dataclass
class _Watch:
    """Asks a scheduler for its workers, in a thread of its own.

    deadline : for the first answer, by the monotonic clock.
    places : markers that are laid at once. ended : set it when nobody wants to know any more.
    """

    client: Any
    address: str
    deadline: float
    places: int = field(init=False, default=0)
    ended: threading.Event = field(default_factory=threading.Event)
    _heard: dict[str, float] = field(init=False, default_factory=dict)
    _answered: float = field(init=False)
    _had_workers: float = field(init=False)

    def __post_init__(self) -> None:
        self._answered = self._had_workers = time.monotonic()
        try:
            _by(self.deadline, self._ask)
        except OSError:
            raise CannotBeDone(f"The scheduler at {self.address} does not answer.") from None

    def start(self) -> None:
        """Ask from now on."""
        threading.Thread(target=self._keep_asking, daemon=True).start()

    def lost(self) -> str | None:
        """Why nothing more is to be expected, or None."""
        now = time.monotonic()
        if self.client.status != "running":
            return f"The scheduler at {self.address} is gone."
        if now - self._answered > _LOST_SECONDS:
            return f"The scheduler at {self.address} does not answer any more."
        if now - self._had_workers > _LOST_SECONDS:
            return f"The scheduler at {self.address} has no workers any more."
        return None

    def _ask(self) -> None:
        # without workers once the scheduler is gone; some versions tell of five workers only
        known = self.client.scheduler_info(n_workers=-1)
        workers = known.get("workers", {})
        self.places = sum(worker["nthreads"] for worker in workers.values())
        now = time.monotonic()
        if self.client.status == "running":
            self._answered = now
        # a machine that went off stays in the list for minutes, but is not heard any more
        heard = {name: worker["last_seen"] for name, worker in workers.items()}
        if heard.items() - self._heard.items():
            self._had_workers = now
        self._heard = heard

    def _keep_asking(self) -> None:
        while not self.ended.wait(_ASK_AGAIN_SECONDS):
            with suppress(*_GONE):  # `lost` says so when it has lasted
                self._ask()


class _SetApart:
    """A cluster's flag, set without waiting for a scheduler that may be gone."""

    def __init__(self, flag: Any) -> None:
        self._flag = flag

    def is_set(self) -> bool:
        return bool(self._flag.is_set())

    def set(self) -> None:
        threading.Thread(target=self._set, daemon=True).start()

    def _set(self) -> None:
        with suppress(*_GONE):  # `lost` says so
            self._flag.set()


def _by(deadline: float, ask: Callable[[], Answer]) -> Answer:
    """The answer. Raises TimeoutError where it comes later, and what asking raises."""
    answers: list[Answer] = []
    errors: list[Exception] = []

    def asked() -> None:
        try:
            answers.append(ask())
        except Exception as error:  # any: it is raised again, by whoever waits for the answer
            errors.append(error)

    thread = threading.Thread(target=asked, daemon=True)
    thread.start()
    thread.join(max(deadline - time.monotonic(), 0.0))
    if errors:
        raise errors[0]
    if not answers:
        raise TimeoutError
    return answers[0]


def _demand_same(client: Any, address: str, deadline: float) -> None:
    """Raises CannotBeDone where scheduler or a worker has another Python or marker than this one. A
    scheduler without marker will do: it only hands on."""
    here = state()
    try:
        versions = _by(deadline, client.get_versions)
        _demand_same_python(versions, address)
        of_scheduler = _by(deadline, lambda: client.run_on_scheduler(_asked()))
        of_workers = _by(deadline, lambda: client.run(_asked()))
    except OSError:
        raise CannotBeDone(f"The scheduler or a worker at {address} does not answer.") from None
    if of_scheduler is not None:
        _demand_equal(f"The scheduler at {address}", of_scheduler, here)
    for worker, there in of_workers.items():
        _demand_equal(f"The worker at {worker}", there, here)


def _demand_same_python(versions: Any, address: str) -> None:
    def python(node: Any) -> str:
        return ".".join(str(node["host"]["python"]).split(".")[:2])

    here = python(versions["client"])
    nodes = {f"The scheduler at {address}": versions["scheduler"]}
    nodes |= {f"The worker at {name}": node for name, node in versions["workers"].items()}
    for name, node in nodes.items():
        if python(node) != here:
            raise CannotBeDone(
                f"{name} runs Python {python(node)}, and here runs {here}. Use the same on all."
            )


def _demand_equal(who: str, there: str | None, here: str) -> None:
    if there is None:
        raise CannotBeDone(f"{who} has no {_PACKAGE}. Install {_PACKAGE} {here} where it runs.")
    if there != here:
        raise CannotBeDone(
            f"{who} has {_PACKAGE} {there}, and here is {here}. Install the same on all."
        )


def demand_state(wanted: str) -> None:
    """On a worker, which may have come later: raises CannotBeDone where its marker is another."""
    _demand_equal("A worker", state(), wanted)


@functools.cache
def state() -> str:
    """Version and state of the sources of the marker that runs here."""
    here: str | None = _asked()()
    assert here is not None
    return here


def _asked() -> Callable[[], str | None]:
    """What asks a machine for its marker. It travels as code, since marker may be missing there."""
    package = _PACKAGE

    def asked() -> str | None:
        import hashlib
        import importlib.util
        from importlib.metadata import PackageNotFoundError, version
        from pathlib import Path

        try:
            found = importlib.util.find_spec(package)
        except ImportError:
            found = None
        if found is None or not found.origin:
            return None
        digest = hashlib.sha256()
        for path in sorted(Path(found.origin).parent.rglob("*.py")):
            digest.update(path.read_bytes())
        try:
            return f"{version(package)} (sources {digest.hexdigest()[:8]})"
        except PackageNotFoundError:
            return f"of no version (sources {digest.hexdigest()[:8]})"

    return asked
