"""What takes a while on a job: one thing at a time, in a thread beside the requests."""

from __future__ import annotations

import threading
from collections.abc import Callable
from threading import Event

from marker.errors import CannotBeDone, MarkerError
from marker.web.process import Failure, Values


class Work:
    """tell : hears how it ends where it fails. stop : set to end it."""

    def __init__(self, tell: Callable[[Values], None], stop: Event) -> None:
        self._tell, self.stop = tell, stop
        self._thread: threading.Thread | None = None

    @property
    def goes_on(self) -> bool:
        return self._thread is not None and self._thread.is_alive()

    def demand_rest(self) -> None:
        """Raise CannotBeDone while something goes on."""
        if self.goes_on:
            raise CannotBeDone("a search is running. Stop it first.")

    def begin(self, work: Callable[[], Values]) -> None:
        """Do it; the event that it returns is told once nothing goes on any more."""

        def run() -> None:
            try:
                told = work()
            except MarkerError as error:
                failure = Failure.of(error)
                told = {
                    "kind": "failed",
                    "message": failure.message,
                    "faults": list(failure.faults),
                }
            self._thread = None
            self._tell(told)

        self.stop.clear()
        self._thread = threading.Thread(target=run, daemon=True)
        self._thread.start()
