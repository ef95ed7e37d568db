"""Ctrl-C as a wish to stop. Raised as an exception it could strike anywhere, even in the middle of
compiled code, which turns it into an error of its own."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def interrupt_as_event() -> Iterator[threading.Event]:
    """An event that the first Ctrl-C sets; the second acts as ever. Outside the main thread, where
    signals can't be handled, nothing sets it."""
    event = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield event
        return
    before = signal.getsignal(signal.SIGINT)

    def note(_number: int, _frame: FrameType | None) -> None:
        event.set()
        signal.signal(signal.SIGINT, before)

    signal.signal(signal.SIGINT, note)
    try:
        yield event
    finally:
        signal.signal(signal.SIGINT, before)
