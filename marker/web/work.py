"""What takes a while on a job: one thing at a time, in a thread beside the requests.

Meanwhile the page is told of it: figures, what is being tried, and pictures of better layouts.

What is tried is watched several times a second, for that costs a copy of the positions. A better
layout is judged and drawn, which takes from the search: such pictures rest in between.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from itertools import count
from threading import Event
from typing import Any

import shapely

from marker.errors import CannotBeDone, MarkerError
from marker.geometry.arrays import FloatArray
from marker.planning.events import (
    BetterLayoutFound,
    CompilingBegan,
    PlanningEvent,
    SearchProgressed,
    Trying,
)
from marker.web.pictures import points
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


FIGURES_EVERY_SECONDS = 0.25
TRIED_EVERY_SECONDS = 0.14
RESTS_TIMES_DRAWING = 20.0
"""A picture is followed by a rest this many times as long as it took, so that drawing takes a
twentieth of one core from the search at most."""

PlacementShapes = tuple[FloatArray, ...]

_NUMBERS = count(1)
"""Of sets of outlines, over all searches: a page must not take those of one for another's."""

_FINE_ENOUGH_MM = 1.0
"""How closely the outlines of what is tried are drawn."""


class SearchTeller:
    """Hands a search's events on. Used with `with`, which draws nothing more once it ends.

    picture : makes the event that shows a better layout.
    """

    def __init__(
        self, tell: Callable[[Values], None], picture: Callable[[BetterLayoutFound], Values]
    ) -> None:
        self._tell, self._picture = tell, picture
        self._newest: BetterLayoutFound | None = None
        self._trying: Trying | None = None
        self._watched: tuple[int, PlacementShapes] = (0, ())  # a number, and the outlines it is for
        self._last_tried: list[Any] = []
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
                text = f"{event.said[0].upper()}{event.said[1:]}."
                self._tell({"kind": "stage", "text": text})
            case BetterLayoutFound():
                self._newest = event
                self._wake.set()
            case SearchProgressed():
                self._figures(event)
                self._watch(event.trying)

    def outlines(self) -> dict[str, Any]:
        """The outlines that the numbers of `trying` events stand for; `of` says of which events."""
        number, shapes = self._watched
        drawn = [shapely.Polygon(shape).simplify(_FINE_ENOUGH_MM) for shape in shapes]
        return {
            "of": number,
            "outlines": [points(shapely.get_coordinates(each)[:-1]) for each in drawn],
        }

    def _figures(self, event: SearchProgressed) -> None:
        now = time.monotonic()
        if now - self._last < FIGURES_EVERY_SECONDS:
            return
        self._last = now
        figures = {
            "length_mm": event.length_mm,
            "utilisation": event.utilisation,
        }
        left = event.seconds_left
        self._tell({"kind": "searching", "figures": figures, "seconds_left": left})

    def _watch(self, trying: Trying | None) -> None:
        if trying is not None and trying.problem.shapes is not self._watched[1]:
            self._watched = next(_NUMBERS), trying.problem.shapes
        self._trying = trying

    def _draw(self) -> None:
        tried = rested = 0.0
        while True:
            self._wake.wait(TRIED_EVERY_SECONDS)
            if self._over:
                return
            self._wake.clear()
            now = time.monotonic()
            if now >= tried:
                self._tell_tried()
                tried = now + 0.9 * TRIED_EVERY_SECONDS  # the wait is never shorter than asked for
            found = self._newest
            if found is not None and now >= rested:
                self._newest = None
                self._tell(self._picture(found))
                rested = time.monotonic() + RESTS_TIMES_DRAWING * (time.monotonic() - now)

    def _tell_tried(self) -> None:
        (number, shapes), trying = self._watched, self._trying
        if trying is None or trying.problem.shapes is not shapes:
            return
        tried = trying.places().round(1).tolist()
        if tried != self._last_tried:
            self._last_tried = tried
            self._tell({"kind": "trying", "of": number, "at": tried})
