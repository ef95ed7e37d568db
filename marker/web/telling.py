"""A search as events for the page: figures as they come, pictures as often as they cost little."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from threading import Event

from marker.planning.events import (
    BetterLayoutFound,
    CompilingBegan,
    PlanningEvent,
    SearchProgressed,
)
from marker.web.process import Values

FIGURES_EVERY_SECONDS = 0.25
PICTURES_APART_SECONDS = 0.1
RESTS_TIMES_DRAWING = 10.0
"""A picture is followed by a rest this many times as long as it took, so that drawing takes a
tenth of one core from the search at most."""


class SearchTeller:
    """Hands a search's events on. Used with `with`, which draws nothing more once it ends."""

    def __init__(
        self, tell: Callable[[Values], None], picture: Callable[[BetterLayoutFound], Values]
    ) -> None:
        self._tell, self._picture = tell, picture
        self._newest: BetterLayoutFound | None = None
        self._wake, self._over = Event(), False
        self._last = 0.0
        self._thread = threading.Thread(target=self._draw, daemon=True)

    def __enter__(self) -> SearchTeller:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over = True
        self._wake.set()
        self._thread.join()

    def __call__(self, event: PlanningEvent) -> None:
        """Tell of an event of the search, where a page has use for it."""
        match event:
            case CompilingBegan():
                text = "Preparing the search for its first use; this takes half a minute, once."
                self._tell({"kind": "stage", "text": text})
            case BetterLayoutFound():
                self._newest = event
                self._wake.set()
            case SearchProgressed():
                self._figures(event)

    def _figures(self, event: SearchProgressed) -> None:
        now = time.monotonic()
        if now - self._last < FIGURES_EVERY_SECONDS:
            return
        self._last = now
        figures = {
            "length_mm": event.length_mm,
            "bound_mm": event.bound_mm,
            "utilisation": event.utilisation,
        }
        left = event.seconds_left
        self._tell({"kind": "searching", "figures": figures, "seconds_left": left})

    def _draw(self) -> None:
        while True:
            self._wake.wait()
            if self._over:
                return
            self._wake.clear()
            found, self._newest = self._newest, None
            if found is None:
                continue
            began = time.monotonic()
            self._tell(self._picture(found))
            rest = max(PICTURES_APART_SECONDS, RESTS_TIMES_DRAWING * (time.monotonic() - began))
            time.sleep(rest)
