"""Markers laid at once, each in a process of its own, on this machine or on a cluster's workers.

Where there are more processes than markers, and time is what ends a search, one marker is searched
several times at once (see `heats`).
"""

from __future__ import annotations

import multiprocessing
import os
import threading
import time
from collections import Counter, deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, CancelledError, Executor, Future, wait
from concurrent.futures import ProcessPoolExecutor as Processes
from concurrent.futures import ThreadPoolExecutor as Threads
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field, replace
from functools import partial
from multiprocessing.connection import wait as wait_for
from threading import Event
from typing import Any, Protocol

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, StoppedEarly
from marker.job import Job
from marker.layout import CheckedLayout
from marker.placement.search.windows import ALONE
from marker.placement.stop import Flag
from marker.placement.warming import warm_up_first_layouts, warm_up_search
from marker.planning import ctrl_c
from marker.planning.events import unheard
from marker.planning.heats import ANEW, Heats, Search, Start
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import loads, spread

HEATS, LEAST_HEAT_SECONDS = 4, 3.0
"""Parts of the time of a marker that several searches lay at once; fewer where they get short."""

_ASK_AGAIN_SECONDS, _ASK_AFAR_SECONDS = 0.2, 0.5

MOST_LOST = 3
"""Workers that one piece of work may take with it."""

_KILLED = (
    "A process that laid a marker was lost, for want of memory perhaps. Lay fewer at a time "
    "(--workers), or cut fewer garments in a marker."
)

_enough: Any = None  # of a local process: set once its parent wants no more


@dataclass(frozen=True)
class MarkerEffort:
    """What each marker gets, seconds or iterations of search, and where it starts from."""

    seconds: float | None
    iterations: int | None
    seed: int = 0

    @property
    def heats(self) -> int:
        """How often the better of several searches go on, and one more. Asks for seconds."""
        assert self.seconds is not None
        return max(1, min(HEATS, int(self.seconds / LEAST_HEAT_SECONDS)))

    @property
    def heat_seconds(self) -> float:
        """What each heat takes. Asks for seconds."""
        assert self.seconds is not None
        return self.seconds / self.heats

    def heat(self, number: int, search: Search) -> MarkerEffort:
        """What one search gets in one heat. Those that share a layout have the same seed. Asks for
        seconds."""
        apart = search.number if search.start.share == ALONE else 0
        seed = self.seed + 1000 * number + apart
        return replace(self, seconds=self.heat_seconds, seed=seed)


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

    executor : gives them work. enough : tells them to end with the best they have. sent : what
    travels with each piece of work; None for processes that know the flag already. places : how
    many markers are laid at once now. lost : why nothing more is to be expected of them, or None.
    losses : errors of a piece of work that mean the same, and what is said of them. patience :
    seconds that they have to end once they are told to.
    """

    executor: Executor
    enough: SharedFlag
    sent: Travelling | None = None
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
        orders = [_Ordered(job.with_order(mix), cloth.name) for mix in mixes]
        if self._searches(orders, effort) < 2:
            until = self._until(effort.seconds, len(orders))
            work = [_Searched(each, effort, ANEW, until) for each in orders]
            self._run([each.begun for each in work], stop, on_laid, again=True)
            return
        heats = Heats(len(orders))
        try:
            for number in range(effort.heats):
                if number and stop.is_set():
                    break
                self._run_heat(heats, number, orders, effort, stop)
        finally:
            for at, layouts in enumerate(heats.best):
                if layouts:
                    on_laid(at, layouts[0])

    def _searches(self, orders: Sequence[_Ordered], effort: MarkerEffort) -> int:
        """Of each marker at once."""
        return self.places() // max(len(orders), 1) if effort.seconds else 1

    def _until(self, seconds: float | None, count: int) -> float | None:
        """When so many pieces of work are over that take so long each, by the monotonic clock."""
        if seconds is None:
            return None
        return time.monotonic() + seconds * -(-count // self.places())

    def _run_heat(
        self,
        heats: Heats,
        number: int,
        orders: Sequence[_Ordered],
        effort: MarkerEffort,
        stop: Flag,
    ) -> None:
        """All searches of one heat; those that are done count, whatever comes of the others. One
        that is lost is dropped: by then there is hardly any time left for it."""
        searches = heats.begin(number, max(1, self._searches(orders, effort)))
        until = self._until(effort.heat_seconds, len(searches))
        work = [
            _Searched(orders[each.marker], effort.heat(number, each), each.start, until)
            for each in searches
        ]
        laid: dict[int, CheckedLayout] = {}
        try:
            self._run([each.begun for each in work], stop, laid.__setitem__, again=False)
        finally:
            heats.end([(searches[at], each) for at, each in laid.items()])

    def compile_kernels(self, stop: Flag) -> None:
        """Have one process of this machine, or all workers of a cluster, compile the search. Raises
        StoppedEarly where `stop` is set before that is done."""
        each = [_compiling] * (1 if self.is_here else self.places())
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


Work = Callable[["Travelling | None"], Any]
Begin = Callable[[int], Work]
"""Makes a piece of work once there is a place for it, told in how many turns it and all that wait
will be done."""

OnDone = Callable[[int, Any], None]


def _raised_by(future: Future[Any]) -> BaseException | None:
    """What a piece of work that has ended has raised."""
    return CancelledError() if future.cancelled() else future.exception()


@dataclass(frozen=True)
class Travelling:
    """What a piece of work carries to a worker elsewhere.

    enough : the flag that says to end.
    """

    enough: Flag


@dataclass(frozen=True)
class _Ordered:
    """A job whose order is the garments of one marker, and the name of its cloth."""

    job: Job
    cloth: str


@dataclass(frozen=True)
class _Searched:
    """One search of a marker. until : when it and all that wait for a place are to be over, by the
    monotonic clock; None where no seconds limit it."""

    order: _Ordered
    effort: MarkerEffort
    start: Start
    until: float | None

    def begun(self, turns: int) -> Work:
        """It as a piece of work. It gets its part of the time that is left, so that all are over in
        time even if workers were lost meanwhile."""
        effort = self.effort
        if self.until is not None:
            effort = replace(effort, seconds=max(self.until - time.monotonic(), 0.0) / turns)
        return partial(_laid, self.order, effort, self.start)


def _compiling(_turns: int) -> Work:
    return _compiled


def first_layout(job: Job, cloth: Cloth, mix: Mapping[str, int], stop: Flag) -> CheckedLayout:
    """The marker of one mix as it is first laid, here and at once, judged like any other."""
    effort = MarkerEffort(None, 0)
    return _laid(_Ordered(job.with_order(mix), cloth.name), effort, ANEW, Travelling(stop))


@contextmanager
def local_pool(processes: int) -> Iterator[WorkerPool]:
    """So many processes of this machine, kept until the end."""
    context = multiprocessing.get_context("spawn")  # a fork would copy the threads of the kernels
    enough = context.Event()
    before = set(multiprocessing.active_children())
    with Processes(processes, context, _begin, (enough,)) as executor:
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


def _begin(enough: Any) -> None:
    """In a local process, before its first marker."""
    global _enough
    ctrl_c.ignore()
    _enough = enough
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """Nobody waits for what a process does whose parent is gone, however that ended: it ends, too,
    and with the last of them what they share in memory goes."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait_for([parent.sentinel])
        os._exit(1)


def _compiled(_sent: Travelling | None) -> None:
    warm_up_first_layouts()
    warm_up_search(False)


def _laid(
    order: _Ordered, effort: MarkerEffort, start: Start, sent: Travelling | None
) -> CheckedLayout:
    job = order.job
    cloth = next(cloth for cloth in job.cloths if cloth.name == order.cloth)
    (load,) = loads(job, [cloth])
    task = spread(load)
    with nullcontext(_enough) if sent is None else followed(sent.enough) as stopped:
        limits = SearchLimits(effort.seconds, effort.iterations, effort.seed, 1, stopped)
        return lay_task(task, limits, unheard, begun=start.begun, share=start.share)


@contextmanager
def followed(flag: Flag) -> Iterator[Flag]:
    """A flag that any thread may ask at any time, and that is set soon after the given one.

    That one is asked by this thread first, since a cluster's flag finds its worker by the thread
    that asks. From then on one watching thread alone asks it, now and then: each answer may come
    over the network. What asking raises sets the flag, and is raised at the end.
    """
    plain, unwatched = Event(), Event()

    def watch() -> None:
        try:
            while not plain.is_set() and not unwatched.wait(_ASK_AFAR_SECONDS):
                if flag.is_set():
                    plain.set()
        except Exception:  # any: it is raised again, where the search ends
            plain.set()
            raise

    if flag.is_set():
        plain.set()
    with Threads(1) as executor:
        watching = executor.submit(watch)
        try:
            yield plain
        finally:
            unwatched.set()
        watching.result()
