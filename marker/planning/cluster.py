"""The workers of a dask.distributed scheduler as a pool that lays markers.

Before any work, scheduler, client and workers compare their marker.
"""

from __future__ import annotations

import asyncio
import functools
import logging
import threading
import time
import warnings
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import CancelledError
from contextlib import contextmanager, suppress
from functools import partial
from importlib.metadata import version
from platform import python_version
from typing import Any

from marker.errors import CannotBeDone, Fault, FaultyInput
from marker.planning.cluster_places import GONE, Places, Watch, answer_by
from marker.planning.events import OnEvent, unheard
from marker.planning.workers import WorkerPool

ANSWER_SECONDS = 6.0
"""How long scheduler and workers may take for all answers before any work: with the start of a
command on a busy machine that is 10 s."""

_PATIENCE_SECONDS, _GOODBYE_SECONDS = 8.0, 2.0
_PACKAGE, _DASK = "marker", "distributed"
_SAME = "Install the same on all."
_REACHED = "Its scheduler must reach it: look for a firewall between them."
_NO_CLIENT = (*GONE, ValueError, TypeError, MemoryError)
"""What dask raises where something else than a scheduler answers, or none that it understands."""


@contextmanager
def cluster_pool(address: str, on_event: OnEvent = unheard) -> Iterator[WorkerPool]:
    """The workers of a scheduler. What a lost worker was laying goes to another.

    address : as 'tcp://host:8786', or 'tls://host:8786' with certificates as dask's configuration
    names them. on_event : told of workers that are lost or left out. Raises FaultyInput where
    nobody answers there, CannotBeDone without workers and where one of them has another marker.
    """
    try:
        import distributed
    except ImportError as error:
        problem, remedy = "dask.distributed is not installed", "Install marker[cluster]"
        raise FaultyInput([Fault("--cluster", problem, remedy)]) from error
    deadline = time.monotonic() + ANSWER_SECONDS
    with _quiet(), _connected(address, deadline) as client:
        places = Places(client)
        watch = _watch(client, address, places, on_event, deadline)
        enough = distributed.Event(client=client)
        watch.start()
        try:
            yield WorkerPool(
                places,
                _SetApart(enough, watch.hurried),
                enough,
                lambda: max(places.count, 1),
                watch.lost,
                {
                    CancelledError: f"The scheduler at {address} is gone.",
                    OSError: f"A worker lost the scheduler at {address}, or its disk is full.",
                },
                _PATIENCE_SECONDS,
            )
        except BaseException:
            with suppress(*GONE):  # nobody waits for what they were doing
                answer_by(time.monotonic() + _GOODBYE_SECONDS, enough.set)
            raise
        finally:
            watch.ended.set()


def _watch(client: Any, address: str, places: Places, on_event: OnEvent, deadline: float) -> Watch:
    """Knows the workers from here on. Raises CannotBeDone without any, and where the scheduler or
    one of them is another."""
    try:
        _demand_same_scheduler(client, address, deadline)
        watch = Watch(client, address, places, partial(_unlike, client), on_event, deadline)
    except OSError:
        raise CannotBeDone(
            f"The scheduler or a worker at {address} does not answer. Try again in ten seconds: a "
            f"worker that stays silent is left out then."
        ) from None
    if watch.left_out:
        raise CannotBeDone(watch.left_out[0])
    if not places.count:
        raise CannotBeDone(
            f"The scheduler at {address} has no workers. Start one: dask worker {address}"
        )
    return watch


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
        client = answer_by(
            deadline, lambda: client_class(address, timeout=seconds, set_as_default=False)
        )
    except _NO_CLIENT as error:
        _demand_same_dask(address, deadline)
        problem = f"no scheduler answers at {address}"
        if address.startswith("tls:"):
            problem += ", or it does not take the certificates that dask's configuration names here"
        remedy = "Give the address that it prints when it starts, such as tcp://host:8786"
        raise FaultyInput([Fault("--cluster", problem, remedy)]) from error
    try:
        yield client
    finally:
        with suppress(*GONE):  # nobody waits for a scheduler that is gone
            client.close(timeout=_GOODBYE_SECONDS)


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


def _demand_same_dask(address: str, deadline: float) -> None:
    """Raises CannotBeDone where the scheduler's dask is another, so that no client understands it;
    one that answers nothing is left to others."""
    from distributed import Security
    from distributed.core import rpc

    async def versions() -> Any:
        arguments = Security().get_connection_args("client")
        async with rpc(address, connection_args=arguments) as scheduler:
            return await scheduler.versions()

    try:
        there = answer_by(deadline, lambda: asyncio.run(versions()))["packages"][_DASK]
    except (*_NO_CLIENT, KeyError):
        return
    if wrong := _other_dask(f"The scheduler at {address}", there):
        raise CannotBeDone(wrong)


@contextmanager
def _quiet() -> Iterator[None]:
    """Without what dask says of lost connections and other versions: it is told once, in this
    project's words."""
    from distributed.versions import VersionMismatchWarning

    before = logging.root.manager.disable
    logging.disable(logging.CRITICAL)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", VersionMismatchWarning)
            yield
    finally:
        logging.disable(before)


class _SetApart:
    """A cluster's flag, set without waiting for a scheduler that may be gone. here : set, too."""

    def __init__(self, flag: Any, here: threading.Event) -> None:
        self._flag, self._here = flag, here

    def is_set(self) -> bool:
        return bool(self._flag.is_set())

    def set(self) -> None:
        self._here.set()
        threading.Thread(target=self._set, daemon=True).start()

    def _set(self) -> None:
        with suppress(*GONE):  # `lost` says so
            self._flag.set()


def _demand_same_scheduler(client: Any, address: str, deadline: float) -> None:
    """Raises CannotBeDone where the scheduler has another Python or marker than this one. One
    without marker will do: it only hands on."""
    who = f"The scheduler at {address}"
    asked = partial(answer_by, deadline)
    wrong = _other_python(who, asked(partial(client.run_on_scheduler, python_version)))
    wrong = wrong or _other_dask(who, asked(partial(client.run_on_scheduler, version, _DASK)))
    if not wrong:
        there = asked(partial(client.run_on_scheduler, _asked()))
        wrong = "" if there is None else _other_marker(who, there)
    if wrong:
        raise CannotBeDone(wrong)


def _unlike(client: Any, workers: Sequence[str]) -> dict[str, str]:
    """Of those workers that have another Python, dask or marker than this one, or that can't be
    asked, what to say of each."""
    found: dict[str, str] = {}
    for other, *ask in (
        (_other_python, python_version),
        (_other_dask, version, _DASK),
        (_other_marker, _asked()),
    ):
        alike = [name for name in workers if name not in found]
        told = client.run(*ask, workers=alike, on_error="return") if alike else {}
        for name, there in told.items():
            who = f"The worker at {name}"
            if isinstance(there, Exception):  # heard, and not reached, as behind a firewall
                found[name] = f"{who} can't be asked what it runs ({there}). {_REACHED}"
            elif wrong := other(who, there):
                found[name] = wrong
    return found


def _other_python(who: str, there: str) -> str:
    """What to say of another Python, or nothing. Code travels between equal versions only."""
    there, here = (each.rpartition(".")[0] for each in (there, python_version()))
    return "" if there == here else f"{who} runs Python {there}, and here runs {here}. {_SAME}"


def _other_dask(who: str, there: str) -> str:
    """What to say of another dask, or nothing. Its versions do not always understand each other."""
    from distributed import __version__ as here

    return "" if there == here else f"{who} has dask.{_DASK} {there}, and here is {here}. {_SAME}"


def _other_marker(who: str, there: str | None) -> str:
    """What to say of another marker, or of none; nothing where it is the same."""
    here = state()
    if there is None:
        return f"{who} has no {_PACKAGE}. Install {_PACKAGE} {here} where it runs."
    if there != here:
        return f"{who} has {_PACKAGE} {there}, and here is {here}. {_SAME}"
    return ""


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
