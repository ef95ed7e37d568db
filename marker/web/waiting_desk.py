"""A desk that waits for its job.

The page's own process knows desks by this file alone: what they work with takes a second to load.
"""

from __future__ import annotations

from pathlib import Path
from threading import Event

from marker.errors import CannotBeDone
from marker.web.process import Tell, Values, Worker

OPEN = "open"


class WaitingDesk:
    """A desk whose process is ready before anyone opens a job: the first request, `open`, says
    which `path`, and in which folder `outputs` its layouts lie."""

    def __init__(self, tell: Tell, stop: Event) -> None:
        from marker.web.desk import Desk

        self._tell, self._stop, self._opened = tell, stop, Desk
        self._desk: Worker | None = None

    def answer(self, what: str, body: Values) -> Values:
        """Do what is asked; raises MarkerError where it can't be done."""
        if what == OPEN:
            self._desk = self._opened(
                Path(body["path"]), Path(body["outputs"]), self._tell, self._stop
            )
            return {}
        if self._desk is None:
            raise CannotBeDone("no job is open yet.")
        return self._desk.answer(what, body)
