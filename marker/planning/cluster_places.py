"""What the workers of a dask.distributed scheduler are at, and which of them are lost.

The scheduler is asked again and again, so that what is lost is told within seconds.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable, Collection, Mapping, Sequence
from concurrent.futures import CancelledError, Executor, Future, InvalidStateError
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from typing import Any, TypeVar

from marker.planning.events import OnEvent, WorkerLeftOut
from marker.planning.workers import PlaceLost

Answer = TypeVar("Answer")

GONE = (OSError, TimeoutError, RuntimeError, CancelledError)
"""What dask raises where a scheduler, or the client's own loop, is gone."""

_ASK_AGAIN_SECONDS = 1.0
_SILENT_SECONDS = 8.0
"""Whoever says nothing for so long is lost. Workers are heard every half second, or every few where
there are hundreds; one that compiles is silent for four on a busy machine. Without any worker as
long: another may be starting."""

_COMPARING_SECONDS = 3.0
"""How long workers may take to say which marker they have."""

_LONGEST_STEP_SECONDS = 2.0


def answer_by(deadline: float, ask: Callable[[], Answer]) -> Answer:
    """The answer. Raises TimeoutError where it comes later, and what asking raises.

    deadline : by the monotonic clock.
    """
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


@dataclass(frozen=True)
class _Piece:
    """A piece of work that was begun. there : what dask knows of it. told : who waits for it."""

    worker: str
    there: Future[Any]
    told: Future[Any]


class Places(Executor):
    """Threads of workers, each with one piece of work at a time.

    A piece is for one worker alone. So dask gives what a lost worker was at to no other: whether
    that is still worth doing, who asked for it knows. It raises PlaceLost.
    """

    def __init__(self, client: Any) -> None:
        self._client = client
        self._lock = threading.Lock()
        self._threads: dict[str, int] = {}
        self._begun: list[_Piece] = []
        self._waiting: deque[tuple[Callable[[], Any], Future[Any]]] = deque()

    @property
    def count(self) -> int:
        """Pieces of work that can be done at once now, without what silent workers left behind."""
        with self._lock:
            return sum(
                max(threads - sum(each.told.done() for each in self._at(worker)), 0)
                for worker, threads in self._threads.items()
            )

    def submit(self, do: Callable[..., Any], /, *args: Any, **named: Any) -> Future[Any]:
        """Have a piece of work done, once there is a place."""
        told: Future[Any] = Future()
        told.set_running_or_notify_cancel()
        with self._lock:
            self._waiting.append((partial(do, *args, **named), told))
            self._hand_out()
        return told

    def serve(self, threads: Mapping[str, int], known: Collection[str]) -> None:
        """From now on these workers work, each with so many threads. known : others besides, which
        may be heard again; they work off what they were at before they get anything else."""
        with self._lock:
            self._threads = dict(threads)
            lost = [each for each in self._begun if each.worker not in threads]
            gone = [each for each in lost if each.worker not in known]
            self._begun = [each for each in self._begun if each not in gone]
            self._hand_out()
        for each in lost:
            with suppress(InvalidStateError):  # told before
                each.told.set_exception(PlaceLost(each.worker))
        for each in gone:
            with suppress(*GONE):  # so that nobody begins it who has the same address later
                each.there.cancel()

    def _hand_out(self) -> None:
        """Begin what waits where there is a free place."""
        for worker, threads in self._threads.items():
            for _ in range(threads - len(self._at(worker))):
                if self._waiting:
                    self._begun.append(self._begin(worker, *self._waiting.popleft()))

    def _at(self, worker: str) -> list[_Piece]:
        """What a worker is at."""
        self._begun = [each for each in self._begun if not each.there.done()]
        return [each for each in self._begun if each.worker == worker]

    def _begin(self, worker: str, do: Callable[[], Any], told: Future[Any]) -> _Piece:
        there = self._client.get_executor(pure=False, workers=[worker]).submit(do)
        there.add_done_callback(partial(_hand_on, told))
        return _Piece(worker, there, told)


def _hand_on(told: Future[Any], there: Future[Any]) -> None:
    """Tell what came of a piece of work, unless that was given up."""
    error = CancelledError() if there.cancelled() else there.exception()
    with suppress(InvalidStateError):
        if error is not None:
            told.set_exception(error)
        else:
            told.set_result(there.result())


class _Awake:
    """A clock that stands still with this process: after Ctrl-Z, or once a laptop was shut, nothing
    is late. It must be asked more often than every two seconds."""

    def __init__(self) -> None:
        self._seconds, self._asked = 0.0, time.monotonic()
        self._lock = threading.Lock()

    def seconds(self) -> float:
        with self._lock:
            now = time.monotonic()
            self._seconds += min(now - self._asked, _LONGEST_STEP_SECONDS)
            self._asked = now
            return self._seconds


@dataclass
class Watch:
    """Asks a scheduler for its workers, in a thread of its own, and has `places` know them.

    unlike : of workers that have another marker, what to say of each. on_event : told of workers
    that are left out. deadline : for the first answer, by the monotonic clock. left_out : those of
    the first answer that are unlike, and what to say of each. hurried : set it when no other worker
    is waited for. ended : set it when nobody wants to know any more. Raises OSError without a first
    answer.
    """

    client: Any
    address: str
    places: Places
    unlike: Callable[[Sequence[str]], Mapping[str, str]]
    on_event: OnEvent
    deadline: float
    hurried: threading.Event = field(default_factory=threading.Event)
    ended: threading.Event = field(default_factory=threading.Event)
    _clock: _Awake = field(init=False, default_factory=_Awake)
    _heard: dict[str, float] = field(init=False, default_factory=dict)
    _compared: dict[str, str] = field(init=False, default_factory=dict)
    _serving: frozenset[str] = field(init=False, default=frozenset())
    _told: dict[str, str] = field(init=False, default_factory=dict)
    _answered: float = field(init=False, default=0.0)
    _had_workers: float = field(init=False, default=0.0)

    def __post_init__(self) -> None:
        answer_by(self.deadline, self._ask)

    @property
    def left_out(self) -> list[str]:
        """What there is to say of workers that have another marker."""
        return [why for why in self._compared.values() if why]

    def start(self) -> None:
        """Ask from now on."""
        threading.Thread(target=self._keep_asking, daemon=True).start()

    def lost(self) -> str | None:
        """Why nothing more is to be expected, or None."""
        now = self._clock.seconds()
        if self.client.status != "running":
            return f"The scheduler at {self.address} is gone."
        if now - self._answered > _SILENT_SECONDS:
            return f"The scheduler at {self.address} does not answer any more."
        hopeless = self.hurried.is_set() and not self._heard
        if hopeless or now - self._had_workers > _SILENT_SECONDS:
            return f"The scheduler at {self.address} has no workers any more."
        return None

    def _keep_asking(self) -> None:
        while not self.ended.wait(_ASK_AGAIN_SECONDS):
            with suppress(*GONE):  # `lost` says so when it has lasted
                self._ask()

    def _ask(self) -> None:
        known = self.client.scheduler_info(n_workers=-1)  # some versions tell of five workers only
        workers = known.get("workers", {})
        if self.client.status != "running":  # it tells of no workers then
            return
        self._answered = self._clock.seconds()
        # a machine that went off stays in the list for minutes, but is not heard any more
        heard = {name: worker["last_seen"] for name, worker in workers.items()}
        if heard.items() - self._heard.items():
            self._had_workers = self._answered
        self._heard = heard
        latest = max(heard.values(), default=0.0)
        silent = [name for name, seen in heard.items() if latest - seen > _SILENT_SECONDS]
        self._compare([name for name in heard if name not in silent])
        serving = {
            name: worker["nthreads"] if worker["status"] == "running" else 0
            for name, worker in workers.items()
            if name not in silent and self._compared.get(name) == ""
        }
        self.places.serve(serving, heard)
        self._tell(serving, silent)

    def _compare(self, audible: Sequence[str]) -> None:
        """Find out of workers that are new whether they have the same marker. One that falls silent
        meanwhile keeps the others waiting for a moment only: it is asked again as long as it is
        heard."""
        compared = {name: why for name, why in self._compared.items() if name in self._heard}
        new = [name for name in audible if name not in compared]
        if new:
            late = max(self.deadline, time.monotonic()) + _COMPARING_SECONDS
            with suppress(TimeoutError):
                unlike = answer_by(late, partial(self.unlike, new))
                compared |= {name: unlike.get(name, "") for name in new}
        self._compared = compared

    def _tell(self, serving: Collection[str], silent: Sequence[str]) -> None:
        """Say of each worker that is left out or lost why that is, once; of the last one `lost`
        does."""
        gone = self._serving - set(self._heard)
        why = {name: f"The worker at {name} is gone." for name in gone}
        why |= {name: f"The worker at {name} does not answer." for name in silent}
        why |= {name: said for name, said in self._compared.items() if said}
        for name in why if serving else ():
            if name not in self._told:
                self.on_event(WorkerLeftOut(self.address, why[name]))
        self._told, self._serving = why, frozenset(serving)
