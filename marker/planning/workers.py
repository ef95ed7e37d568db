"""Markers laid at once, each in a process of its own, on this machine or on a cluster's workers.

Where there are more processes than markers, and time is what ends a search, one marker is searched
several times at once (see `heats`).
"""

from __future__ import annotations

import multiprocessing
import time
from collections import Counter, deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, CancelledError, Executor, Future, wait
from concurrent.futures import ProcessPoolExecutor as Processes
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, Protocol

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, StoppedEarly
from marker.job import Job
from marker.layout import CheckedLayout
from marker.placement.stop import Flag
from marker.planning import ctrl_c
from marker.planning.heats import ANEW, Heats
from marker.planning.marker_work import (
    Begin,
    MarkerEffort,
    MarkerSearch,
    WantedMarker,
    Work,
    begin_process,
    compiling,
)

_ASK_AGAIN_SECONDS = 0.2

MOST_LOST = 3
"""Workers that one piece of work may take with it."""

_KILLED = (
    "A process that laid a marker was lost, for want of memory perhaps. Lay fewer at a time "
    "(--workers), or cut fewer garments in a marker."
)

OnDone = Callable[[int, Any], None]
"""Told of a piece of work by its number, and of what came of it."""


class SharedFlag(Flag, Protocol):
    """An event that other processes see."""

    def set(self) -> None: ...


class WorkersLost(CannotBeDone):
    """No worker is left that could lay a marker."""


class PlaceLost(Exception):
    """The worker that was at a piece of work is lost; another may do it."""


@dataclass(frozen=True)
class WorkerPool:
    """Processes that lay markers.

    executor : gives them work.
    enough : tells them to end with the best they have.
    sent : the same flag as it travels with each piece of work; None for local processes, which
        have it.
    places : how many markers are laid at once now.
    lost : why nothing more is to be expected of them, or None.
    losses : errors of a piece of work that mean the same, and what is said of them.
    patience : seconds that they have to end once they are told to.
    """

    executor: Executor
    enough: SharedFlag
    sent: Flag | None = None
    places: Callable[[], int] = field(default=lambda: 1)
    lost: Callable[[], str | None] = field(default=lambda: None)
    losses: Mapping[type[BaseException], str] = field(default_factory=dict)
    patience: float = float("inf")

    @property
    def is_here(self) -> bool:
        """Whether they are processes of this machine."""
        return self.sent is None

    def lay(
        self,
        job: Job,
        cloth: Cloth,
        mixes: Sequence[Mapping[str, int]],
        effort: MarkerEffort,
        stop: Flag,
        on_laid: Callable[[int, CheckedLayout], None],
    ) -> None:
        """Lay the marker of each mix (size -> garments) on one of the job's cloths; each is judged.

        on_laid : told of each by its number. By iterations, each is laid once: the same wherever
        and on however many processes. By seconds, with more processes than markers, each gets
        several searches. stop : set it to have every marker end with its best layout so far. Raises
        WorkersLost, after telling of those that were laid, and what laying one of them raises.
        """
        markers = [WantedMarker.of(job, cloth, mix) for mix in mixes]
        if self._searches(len(markers), effort) < 2:
            until = self._until(effort.seconds, len(markers))
            work = [MarkerSearch(each, effort, ANEW, until) for each in markers]
            self._run([each.begun for each in work], stop, on_laid, again=True)
            return
        heats = Heats(len(markers))
        try:
            for number in range(effort.heats):
                if number and stop.is_set():
                    break
                self._run_heat(heats, number, markers, effort, stop)
        finally:
            for at, layouts in enumerate(heats.best):
                if layouts:
                    on_laid(at, layouts[0])

    def _searches(self, markers: int, effort: MarkerEffort) -> int:
        """Of each of so many markers at once."""
        return self.places() // max(markers, 1) if effort.seconds else 1

    def _until(self, seconds: float | None, count: int) -> float | None:
        """When so many pieces of work are over that take so long each, by the monotonic clock."""
        if seconds is None:
            return None
        return time.monotonic() + seconds * -(-count // self.places())

    def _run_heat(
        self,
        heats: Heats,
        number: int,
        markers: Sequence[WantedMarker],
        effort: MarkerEffort,
        stop: Flag,
    ) -> None:
        """All searches of one heat; those that are done count, whatever comes of the others. One
        that is lost is dropped: by then there is hardly any time left for it."""
        entrants = heats.begin(number, max(1, self._searches(len(markers), effort)))
        until = self._until(effort.heat_seconds, len(entrants))
        work = [
            MarkerSearch(markers[each.marker], effort.heat(number, each), each.start, until)
            for each in entrants
        ]
        laid: dict[int, CheckedLayout] = {}
        try:
            self._run([each.begun for each in work], stop, laid.__setitem__, again=False)
        finally:
            heats.end([(entrants[at], each) for at, each in laid.items()])

    def compile_kernels(self, stop: Flag) -> None:
        """Have one process of this machine, or all workers of a cluster, compile the search. Raises
        StoppedEarly where `stop` is set before that is done."""
        each = [compiling] * (1 if self.is_here else self.places())
        self._run(each, _RaisesWhenSet(stop), lambda _number, _none: None, again=False)

    def _run(self, work: Sequence[Begin], stop: Flag, on_done: OnDone, *, again: bool) -> None:
        """All pieces of work, as places become free. again : what a lost worker was at is done by
        another."""
        queue, begun, lost = deque(range(len(work))), dict[Future[Any], int](), Counter[int]()
        stopped: float | None = None
        while queue or begun:
            while queue and len(begun) < self.places():
                turns = -(-len(queue) // self.places())
                at = queue.popleft()
                begun[self._submitted(work[at](turns))] = at
            done, _ = wait(begun, _ASK_AGAIN_SECONDS, FIRST_COMPLETED)
            for at in self._told({future: begun.pop(future) for future in done}, on_done):
                lost[at] += 1
                if again:
                    queue.appendleft(at)
            if max(lost.values(), default=0) == MOST_LOST:
                raise WorkersLost(self.lost() or "Worker after worker was lost over one marker.")
            if queue or begun:
                self._demand_workers(stopped)
            if stopped is None and stop.is_set():
                self.enough.set()
                stopped = time.monotonic()

    def _told(self, ended: Mapping[Future[Any], int], on_done: OnDone) -> list[int]:
        """Tell of work that is done; the numbers of what was lost with its worker. Raises
        WorkersLost where all are lost."""
        raised = {future: _raised_by(future) for future in ended}
        losses = (*self.losses, PlaceLost)
        for future, what in raised.items():
            if not isinstance(what, losses):
                on_done(ended[future], future.result())
        for what in raised.values():
            for kind, said in self.losses.items():
                if isinstance(what, kind):
                    raise WorkersLost(self.lost() or said) from what
        return [at for future, at in ended.items() if isinstance(raised[future], PlaceLost)]

    def _submitted(self, work: Work) -> Future[Any]:
        """A piece of work that has begun, or waits for a place."""
        try:
            with ctrl_c.kept_from_children():
                return self.executor.submit(work, self.sent)
        except RuntimeError as error:  # of a pool, or a client, that has closed
            raise WorkersLost(self.lost() or f"The workers are lost: {error}.") from error

    def _demand_workers(self, stopped: float | None) -> None:
        """Raise WorkersLost where no more is to be expected. stopped : when they were told to end,
        by the monotonic clock; None where they were not."""
        reason = self.lost()
        if reason is not None:
            raise WorkersLost(reason)
        if stopped is not None and time.monotonic() - stopped > self.patience:
            raise WorkersLost(f"The workers did not end within {self.patience:.0f} s.")


def _raised_by(future: Future[Any]) -> BaseException | None:
    """What a piece of work that has ended has raised."""
    return CancelledError() if future.cancelled() else future.exception()


@contextmanager
def local_pool(processes: int) -> Iterator[WorkerPool]:
    """So many processes of this machine, kept until the end."""
    context = multiprocessing.get_context("spawn")  # a fork would copy the threads of the kernels
    enough = context.Event()
    before = set(multiprocessing.active_children())
    with Processes(processes, context, begin_process, (enough,)) as executor:
        try:
            yield WorkerPool(
                executor, enough, places=lambda: processes, losses={BrokenProcessPool: _KILLED}
            )
        except BaseException:
            for child in set(multiprocessing.active_children()) - before:
                child.terminate()  # nobody waits for what they were doing
            raise


class _RaisesWhenSet:
    """A flag that ends what asks it."""

    def __init__(self, flag: Flag) -> None:
        self._flag = flag

    def is_set(self) -> bool:
        if self._flag.is_set():
            raise StoppedEarly
        return False
