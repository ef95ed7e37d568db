"""Ctrl-C goes to every process of a terminal; here it is for the one that a person started."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import resource_tracker


@contextmanager
def kept_from_children() -> Iterator[None]:
    """Processes started within never see Ctrl-C, not even before they can say so; here it comes
    once they are started."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # it is started with the first child, and lets Ctrl-C through
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def ignore() -> None:
    """In a child: Ctrl-C is for the parent, who passes it on."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
