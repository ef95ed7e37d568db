"""Markers laid at once, each in a process of its own, on this machine or on a cluster's workers."""

from __future__ import annotations

import multiprocessing
import signal
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Event
from typing import Any, Protocol

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, Fault, FaultyInput
from marker.job import Job
from marker.layout import CheckedLayout
from marker.placement.stop import Flag
from marker.planning.lay import Limits, lay, loads, spread

_ASK_AGAIN_SECONDS = 0.2
_ANSWER_SECONDS = 5.0

_stop: Any = None  # of a local process: set once its parent wants no more


@dataclass(frozen=True)
class Effort:
    """What each marker gets, seconds or iterations of search, and where it starts from."""

    seconds: float | None
    iterations: int | None
    seed: int = 0


class SharedFlag(Flag, Protocol):
    """An event that other processes see."""

    def set(self) -> None: ...


@dataclass(frozen=True)
class Crew:
    """Processes that lay markers.

    executor : gives them work. stop : tells them to end with the best they have; sent : the same as
    it travels with each piece of work, None where they know it already. interrupted : when to tell.
    """

    executor: Executor
    stop: SharedFlag
    sent: Flag | None
    interrupted: Event

    def lay(
        self,
        job: Job,
        cloth: Cloth,
        mixes: Sequence[Mapping[str, int]],
        effort: Effort,
        on_laid: Callable[[CheckedLayout], None],
    ) -> list[CheckedLayout]:
        """The marker of each mix (size -> garments) on one of the job's cloths, judged.

        The same markers by seed and iterations, wherever and on however many processes they are
        laid. Raises what laying one of them raises.
        """
        futures: list[Future[CheckedLayout]] = [
            self.executor.submit(_laid, job.with_order(mix), cloth.name, effort, self.sent)
            for mix in mixes
        ]
        waiting = set(futures)
        while waiting:
            done, waiting = wait(waiting, _ASK_AGAIN_SECONDS, FIRST_COMPLETED)
            for future in done:
                on_laid(future.result())
            if self.interrupted.is_set():
                self.stop.set()
        return [future.result() for future in futures]


@contextmanager
def local_crew(processes: int, interrupted: Event) -> Iterator[Crew]:
    """So many processes of this machine, kept until the end."""
    context = multiprocessing.get_context("spawn")  # a fork would copy the threads of the kernels
    stop = context.Event()
    try:
        with ProcessPoolExecutor(processes, context, _begin, (stop,)) as pool:
            yield Crew(pool, stop, None, interrupted)
    except BrokenProcessPool as error:
        raise CannotBeDone(
            "A process that laid a marker was lost, for want of memory perhaps. Lay fewer at a "
            "time (--workers), or cut fewer garments in a marker."
        ) from error


@contextmanager
def cluster_crew(address: str, interrupted: Event) -> Iterator[Crew]:
    """The workers of a dask.distributed scheduler, each of which needs this version of marker. What
    a lost worker was laying goes to another. Raises FaultyInput where nobody answers."""
    try:
        from distributed import Client
        from distributed import Event as SharedEvent
        from distributed.comm import parse_address
    except ImportError as error:
        problem, remedy = "dask.distributed is not installed", "Install marker[cluster]"
        raise FaultyInput([Fault("--cluster", problem, remedy)]) from error
    try:
        parse_address(address, strict=True)  # what is none would be tried for long, with complaints
        client = Client(address, timeout=_ANSWER_SECONDS, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        problem = f"no scheduler answers at {address}"
        remedy = "Give the address that it prints when it starts, such as tcp://host:8786"
        raise FaultyInput([Fault("--cluster", problem, remedy)]) from error
    with client, _losses_told():
        if not client.scheduler_info()["workers"]:
            raise CannotBeDone(f"The scheduler at {address} has no workers. Start one or more.")
        stop = SharedEvent(client=client)
        yield Crew(client.get_executor(pure=False), stop, stop, interrupted)


@contextmanager
def _losses_told() -> Iterator[None]:
    from distributed import KilledWorker

    try:
        yield
    except KilledWorker as error:
        raise CannotBeDone(
            "Worker after worker was lost over one marker. See their logs"
        ) from error
    except ModuleNotFoundError as error:
        raise CannotBeDone(f"A worker lacks {error.name}. Install marker where it runs.") from error


def _begin(stop: Any) -> None:
    """In a local process: Ctrl-C is for the parent, who passes it on."""
    global _stop
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _stop = stop


def _laid(job: Job, cloth_name: str, effort: Effort, stop: Flag | None) -> CheckedLayout:
    cloth = next(cloth for cloth in job.cloths if cloth.name == cloth_name)
    (load,) = loads(job, [cloth])
    limits = Limits(effort.seconds, effort.iterations, effort.seed, 1, stop or _stop)
    return lay(spread(load, cloth.spread), limits, lambda _: None)
