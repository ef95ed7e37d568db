"""A command while it runs: what it is doing, on standard error, and signals as a wish to stop.

Raised as an exception, Ctrl-C could strike anywhere, even in the middle of compiled code, which
turns it into an error of its own.
"""

from __future__ import annotations

import shutil
import signal
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from types import FrameType

from marker.planning.events import (
    CompilingBegan,
    PlanningEvent,
    SearchBegan,
    SearchEnded,
    SearchProgressed,
    TimeShared,
    WorkerLeftOut,
    WorkersGone,
)
from marker.units import cloth_length, cut_length
from marker.words import garment_counts

EVERY_SECONDS = 1.0


class Reporter:
    """Prints a line a second and one at each shorter layout; on a terminal over the last one.

    Used with `with`, which leaves the line last written in place.
    """

    def __init__(self, quiet: bool) -> None:
        self._quiet = quiet
        self._in_place = sys.stderr.isatty()
        self._line_open = self._begun = False
        self._last = -EVERY_SECONDS
        self._length = float("inf")

    def __enter__(self) -> Reporter:
        return self

    def __exit__(self, *_: object) -> None:
        self._end_line()

    def __call__(self, event: PlanningEvent) -> None:
        """Say what has happened, where it is of interest now."""
        if self._quiet:
            return
        match event:
            case TimeShared():
                self.say(_shares(event))
            case CompilingBegan():
                self.say(event.said)
            case WorkersGone():
                self.say(f"{event.why} The rest gets its first layout here.")
            case WorkerLeftOut():
                self.say(f"{event.why} The others go on without it.")
            case SearchBegan():
                self._begun = True
                self._end_line()
                self._last, self._length = -EVERY_SECONDS, float("inf")
            case SearchProgressed():
                self._progress(event)
            case SearchEnded() if not self._begun:  # a marker laid elsewhere
                self.say(_laid(event))

    def say(self, line: str) -> None:
        """Print a line of its own."""
        if not self._quiet:
            self._end_line()
            _tell(f"{line}\n")

    def _progress(self, event: SearchProgressed) -> None:
        now = time.monotonic()
        shorter = event.length_mm < self._length - 0.5
        if now - self._last < EVERY_SECONDS and not shorter:
            return
        self._last, self._length = now, min(event.length_mm, self._length)
        line = _standing(event)
        if not self._in_place:
            _tell(f"{line}\n")
            return
        _tell(f"\r{_that_fits(line)}\033[K")
        self._line_open = True

    def _end_line(self) -> None:
        if self._line_open:
            _tell("\n")
        self._line_open = False


def _that_fits(line: str) -> str:
    """What of a line a narrow terminal shows in one row: one that wraps can't be written over."""
    room = shutil.get_terminal_size().columns - 1
    return line if len(line) <= room else line[:room].rpartition("  ")[0] or line[:room]


def _tell(text: str) -> None:
    """A closed terminal keeps nobody from going on."""
    with suppress(OSError):
        print(text, end="", file=sys.stderr, flush=True)


def _standing(event: SearchProgressed) -> str:
    left = "" if event.seconds_left is None else f"  {event.seconds_left:.0f} s left"
    return (
        f"{event.about}  {event.seconds:6.1f} s  length {cut_length(event.length_mm)}  "
        f"used {100 * event.utilisation:.1f} %{left}"
    )


def _shares(event: TimeShared) -> str:
    total = sum(seconds for _, seconds in event.shares)
    said = ", ".join(f"{name} {seconds:.0f} s" for name, seconds in event.shares)
    return f"{event.about}: searching for {total:.0f} s in all, {said}"


def _laid(event: SearchEnded) -> str:
    garments, layout = garment_counts(Counter(event.checked.garments)), event.checked.layout
    rolls = [roll for each in layout.cloth.rolls.values() for roll in each]
    wide = f" {cloth_length(layout.cloth.width_mm)} wide" if any(r.width_mm for r in rolls) else ""
    return f"{event.about}{wide}  laid {garments}: {cut_length(layout.length_mm)}"


_SIGNALS = [
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
]


class LeftOut(Exception):
    """What was begun after the search is left out: somebody does not want to wait for it."""


class StopSignals:
    """What Ctrl-C, SIGTERM and a closed terminal mean while a command runs.

    stopped : set by the first, so that a search ends with the best it has. What comes after the
    search goes on; the second leaves that out, and so does the first if no search is left to stop.
    The third ends everything.
    """

    def __init__(self) -> None:
        self.stopped = threading.Event()
        self._count = 0
        self._after = self._left_out = False

    def note(self, _number: int, _frame: FrameType | None) -> None:
        """A signal has come."""
        self._count += 1
        self.stopped.set()
        if self._after:
            self._left_out = True
            raise LeftOut
        if self._count > 2:
            raise KeyboardInterrupt

    @contextmanager
    def may_be_left_out(self) -> Iterator[None]:
        """For what comes after the search, in plain Python; raises LeftOut in the middle of it."""
        if self._count > 1:
            raise LeftOut
        self._after = True
        try:
            yield
        finally:
            self._after = False
        if self._left_out:  # it struck where Python drops what is raised, as in a finaliser
            raise LeftOut


@contextmanager
def stop_signals() -> Iterator[StopSignals]:
    """Signals until the end of the block. Outside the main thread, where they can't be handled,
    nothing stops."""
    signals = StopSignals()
    if threading.current_thread() is not threading.main_thread():
        yield signals
        return
    before = {}
    for number in _SIGNALS:
        if signal.getsignal(number) is not signal.SIG_IGN:  # as under nohup
            before[number] = signal.signal(number, signals.note)
    try:
        yield signals
    finally:
        for number, handler in before.items():
            with suppress(TypeError):  # one that was not set from Python can't be put back
                signal.signal(number, handler)
