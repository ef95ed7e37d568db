"""A job on the table in a process of its own, so that searching never holds up the page.

The process answers one request after another and tells of events in between. It ends by itself
when its parent is gone, however that ended.
"""

from __future__ import annotations

import asyncio
import itertools
import multiprocessing
import os
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path
from queue import SimpleQueue
from threading import Event
from typing import Any, Protocol

from marker.errors import CannotBeDone, Fault, FaultyInput, MarkerError
from marker.planning import ctrl_c

Values = Mapping[str, Any]
"""What JSON can say: the only thing that passes between the page and the process."""

STOP = "stop"
_PATIENCE_SECONDS = 0.5


class Worker(Protocol):
    """What works in the process."""

    def answer(self, what: str, body: Values) -> Values:
        """Do what is asked; raises MarkerError where it can't be done."""


Tell = Callable[[Values], None]
"""Hears of an event."""

MakeWorker = Callable[[Tell, Event], Worker]
"""Makes the worker, given how to tell of an event and the signal that asks it to stop."""


@dataclass(frozen=True)
class Failure:
    """Why a request could not be met; `faults` where something given was wrong."""

    message: str
    faults: tuple[Mapping[str, Any], ...]
    faulty: bool

    @classmethod
    def of(cls, error: MarkerError) -> Failure:
        faults = error.faults if isinstance(error, FaultyInput) else ()
        said = tuple(map(fault_values, faults))
        first = f"{faults[0].problem}. {faults[0].remedy}." if faults else str(error)
        return cls(first, said, bool(faults))


def fault_values(fault: Fault) -> dict[str, Any]:
    """A fault as plain values; `line` 0 where it stands on no single line of a file. Its place
    names the file without its folders: the page is of one job."""
    return {
        "place": fault.place.replace(fault.file, Path(fault.file).name)
        if fault.file
        else fault.place,
        "problem": fault.problem,
        "remedy": fault.remedy,
        "line": fault.line,
    }


class RequestFailed(MarkerError):
    """A request that the process could not meet."""

    def __init__(self, failure: Failure) -> None:
        super().__init__(failure.message)
        self.failure = failure


class WorkerProcess:
    """The parent's end. Used from one event loop."""

    def __init__(self, make: MakeWorker) -> None:
        context = multiprocessing.get_context("spawn")
        self._connection, theirs = context.Pipe()
        self._process = context.Process(target=_work, args=(theirs, make))
        with ctrl_c.kept_from_children():
            self._process.start()
        theirs.close()
        self._loop = asyncio.get_running_loop()
        self._numbers = itertools.count()
        self._waiting: dict[int, asyncio.Future[Values]] = {}
        self._listeners: set[asyncio.Queue[Values]] = set()
        threading.Thread(target=self._read, daemon=True).start()

    @property
    def alive(self) -> bool:
        return self._process.is_alive()

    async def ask(self, what: str, body: Values) -> Values:
        """The answer; raises RequestFailed, also when the process has ended."""
        number = next(self._numbers)
        answer: asyncio.Future[Values] = self._loop.create_future()
        self._waiting[number] = answer
        try:
            self._connection.send((number, what, dict(body)))
            return await answer
        except (BrokenPipeError, OSError) as error:
            raise RequestFailed(_ENDED) from error
        finally:
            self._waiting.pop(number, None)

    def listen(self) -> asyncio.Queue[Values]:
        """A queue of all events from now on; hand it back with `ignore`."""
        queue: asyncio.Queue[Values] = asyncio.Queue()
        self._listeners.add(queue)
        return queue

    def ignore(self, queue: asyncio.Queue[Values]) -> None:
        self._listeners.discard(queue)

    def give_up(self) -> None:
        """Fail all requests that wait for an answer; from any thread."""
        self._soon(self._lost)

    def end(self) -> None:
        """End the process, searching or not."""
        with suppress(OSError, BrokenPipeError):  # closing alone is not noticed while we read
            self._connection.send(None)
        self._process.join(_PATIENCE_SECONDS)
        if self._process.is_alive():
            self._process.kill()
        self._connection.close()

    def _read(self) -> None:
        while True:
            try:
                message = self._connection.recv()
            except (EOFError, OSError):
                break
            self._soon(partial(self._heard, message))
        self._soon(self._lost)

    def _soon(self, act: Callable[[], None]) -> None:
        with suppress(RuntimeError):  # the loop is closed: the page is being ended
            self._loop.call_soon_threadsafe(act)

    def _heard(self, message: tuple[int | None, Values | Failure]) -> None:
        number, content = message
        if number is None:
            assert not isinstance(content, Failure)
            for queue in self._listeners:
                queue.put_nowait(content)
            return
        answer = self._waiting.get(number)
        if answer is None or answer.done():
            return
        if isinstance(content, Failure):
            answer.set_exception(RequestFailed(content))
        else:
            answer.set_result(content)

    def _lost(self) -> None:
        for answer in self._waiting.values():
            if not answer.done():
                answer.set_exception(RequestFailed(_ENDED))


_ENDED = Failure("the work on this job has ended. Open the job again.", (), False)


def _work(connection: Connection, make: MakeWorker) -> None:
    """The child's end: a thread reads, the main thread works."""
    ctrl_c.ignore()
    stop = Event()
    sending = threading.Lock()
    to_do: SimpleQueue[tuple[int, str, Values]] = SimpleQueue()

    def send(number: int | None, content: Values | Failure) -> None:
        with sending:
            try:
                connection.send((number, content))
            except (BrokenPipeError, OSError):
                os._exit(0)

    def read() -> None:
        while True:
            try:
                asked = connection.recv()
            except (EOFError, OSError):
                asked = None
            if asked is None:
                os._exit(0)  # the parent is gone: nobody waits for what is being searched
            number, what, body = asked
            if what == STOP:
                stop.set()
                send(number, {})
            else:
                to_do.put((number, what, body))

    threading.Thread(target=read, daemon=True).start()
    worker = make(lambda event: send(None, event), stop)
    while True:
        number, what, body = to_do.get()
        try:
            send(number, worker.answer(what, body))
        except MarkerError as error:
            send(number, Failure.of(error))
        except (KeyError, TypeError, ValueError, OverflowError):
            send(number, Failure.of(CannotBeDone(f"the page asked for '{what}' in no known way.")))
