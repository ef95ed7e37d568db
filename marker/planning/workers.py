"""Markers laid at once, each in a process of its own, on this machine or on a cluster's workers."""

from __future__ import annotations

import multiprocessing
import signal
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Protocol

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, Fault, FaultyInput
from marker.job import Job
from marker.layout import CheckedLayout
from marker.placement.stop import Flag
from marker.planning.events import unheard
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import loads, spread

_ASK_AGAIN_SECONDS = 0.2
_ANSWER_SECONDS = 5.0

_enough: Any = None  # of a local process: set once its parent wants no more


@dataclass(frozen=True)
class MarkerEffort:
    """What each marker gets, seconds or iterations of search, and where it starts from."""

    seconds: float | None
    iterations: int | None
    seed: int = 0


class SharedFlag(Flag, Protocol):
    """An event that other processes see."""

    def set(self) -> None: ...


@dataclass(frozen=True)
class WorkerPool:
    """Processes that lay markers.

    executor : gives them work. enough : tells them to end with the best they have. sent : the same
    flag as it travels with each piece of work; None where the processes know it already.
    """

    executor: Executor
    enough: SharedFlag
    sent: Flag | None = None

    def lay(
        self,
        job: Job,
        cloth: Cloth,
        mixes: Sequence[Mapping[str, int]],
        effort: MarkerEffort,
        stop: Flag,
        on_laid: Callable[[CheckedLayout], None],
    ) -> list[CheckedLayout]:
        """The marker of each mix (size -> garments) on one of the job's cloths, judged.

        The same markers by seed and iterations, wherever and on however many processes they are
        laid. stop : set it to have every marker end with its best layout so far. Raises what laying
        one of them raises.
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
            if stop.is_set():
                self.enough.set()
        return [future.result() for future in futures]


@contextmanager
def local_pool(processes: int) -> Iterator[WorkerPool]:
    """So many processes of this machine, kept until the end."""
    context = multiprocessing.get_context("spawn")  # a fork would copy the threads of the kernels
    enough = context.Event()
    try:
        with ProcessPoolExecutor(processes, context, _begin, (enough,)) as executor:
            yield WorkerPool(executor, enough)
    except BrokenProcessPool as error:
        raise CannotBeDone(
            "A process that laid a marker was lost, for want of memory perhaps. Lay fewer at a "
            "time (--workers), or cut fewer garments in a marker."
        ) from error


@contextmanager
def cluster_pool(address: str) -> Iterator[WorkerPool]:
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
        enough = SharedEvent(client=client)
        yield WorkerPool(client.get_executor(pure=False), enough, enough)


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


def _begin(enough: Any) -> None:
    """In a local process: Ctrl-C is for the parent, who passes it on."""
    global _enough
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _enough = enough


def _laid(job: Job, cloth_name: str, effort: MarkerEffort, enough: Flag | None) -> CheckedLayout:
    cloth = next(cloth for cloth in job.cloths if cloth.name == cloth_name)
    (load,) = loads(job, [cloth])
    limits = SearchLimits(effort.seconds, effort.iterations, effort.seed, 1, enough or _enough)
    return lay_task(spread(load), limits, unheard)
