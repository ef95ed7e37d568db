"""One search of a marker as a piece of work: what travels to a worker, and what that does with it.

A worker is a process of this machine, a cluster's worker, or the process that asks.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor as Threads
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace
from functools import partial
from multiprocessing.connection import wait as wait_for
from threading import Event
from typing import Any

from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.layout import CheckedLayout
from marker.placement.search.windows import ALONE
from marker.placement.stop import Flag
from marker.placement.warming import warm_up_first_layouts, warm_up_search
from marker.planning import ctrl_c
from marker.planning.events import unheard
from marker.planning.heats import ANEW, Entrant, Start
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import loads, spread

HEATS, LEAST_HEAT_SECONDS = 4, 3.0
"""Parts of the time of a marker that several searches lay at once; fewer where they get short."""

_ASK_AFAR_SECONDS = 0.5

Work = Callable[[Flag | None], Any]
"""What a worker does. It is given the flag that ends it; None for a local process, which has it."""

Begin = Callable[[int], Work]
"""Makes a piece of work once there is a place for it, told in how many turns it and all that wait
will be done."""


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

    def heat(self, number: int, entrant: Entrant) -> MarkerEffort:
        """What one search gets in one heat. Those that share a layout have the same seed. Asks for
        seconds."""
        apart = entrant.number if entrant.start.share == ALONE else 0
        seed = self.seed + 1000 * number + apart
        return replace(self, seconds=self.heat_seconds, seed=seed)


@dataclass(frozen=True)
class WantedMarker:
    """A job whose order is the garments of one marker, and the name of its cloth."""

    job: Job
    cloth: str

    @classmethod
    def of(cls, job: Job, cloth: Cloth, mix: Mapping[str, int]) -> WantedMarker:
        """mix : size -> garments."""
        return cls(job.with_order(mix), cloth.name)


@dataclass(frozen=True)
class MarkerSearch:
    """One search of a marker. until : when it and all that wait for a place are to be over, by the
    monotonic clock; None where no seconds limit it."""

    marker: WantedMarker
    effort: MarkerEffort
    start: Start
    until: float | None

    def begun(self, turns: int) -> Work:
        """It as a piece of work. It gets its part of the time that is left, so that all are over in
        time even if workers were lost meanwhile."""
        effort = self.effort
        if self.until is not None:
            effort = replace(effort, seconds=max(self.until - time.monotonic(), 0.0) / turns)
        return partial(_laid, self.marker, effort, self.start)


def compiling(_turns: int) -> Work:
    """The compiling of all that a search takes, as a piece of work."""
    return _compiled


def first_layout(job: Job, cloth: Cloth, mix: Mapping[str, int], stop: Flag) -> CheckedLayout:
    """The marker of one mix as it is first laid, here and at once, judged like any other."""
    return _laid(WantedMarker.of(job, cloth, mix), MarkerEffort(None, 0), ANEW, stop)


def _laid(
    marker: WantedMarker, effort: MarkerEffort, start: Start, flag: Flag | None
) -> CheckedLayout:
    cloth = next(cloth for cloth in marker.job.cloths if cloth.name == marker.cloth)
    (load,) = loads(marker.job, [cloth])
    task = spread(load)
    with nullcontext(_enough) if flag is None else followed(flag) as stopped:
        limits = SearchLimits(effort.seconds, effort.iterations, effort.seed, 1, stopped)
        return lay_task(task, limits, unheard, begun=start.begun, share=start.share)


def _compiled(_flag: Flag | None) -> None:
    warm_up_first_layouts()
    warm_up_search(False)


_enough: Any = None  # of a local process: set once its parent wants no more


def begin_process(enough: Any) -> None:
    """In a local process, before its first piece of work. enough : the flag that ends them all."""
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
