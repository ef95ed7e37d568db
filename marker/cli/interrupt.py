"""Signals as a wish to stop.

Raised as an exception, Ctrl-C could strike anywhere, even in the middle of compiled code, which
turns it into an error of its own.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from types import FrameType

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
        self._after = False

    def note(self, _number: int, _frame: FrameType | None) -> None:
        """A signal has come."""
        self._count += 1
        self.stopped.set()
        if self._after:
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
