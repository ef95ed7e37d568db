"""A desk at work on a job of two pieces, for the tests of it."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from pathlib import Path
from threading import Event
from typing import Any, TypeVar

from marker.web.desk import Desk
from tests.cli.commands import TWO_PIECES, job_file

Found = TypeVar("Found")

WAIT_SECONDS = 300.0
SEARCHED = 42
"""Pieces that `Table.search` lays."""


class Table:
    """A desk, and all that it told of."""

    def __init__(self, folder: Path) -> None:
        self.told: list[Mapping[str, Any]] = []
        self.stop = Event()
        self.outputs = folder / "outputs"
        self.job = job_file(folder, TWO_PIECES)
        self.stored = self.outputs / "choir-dress" / "layout.json"
        self.desk = Desk(self.job, self.outputs, self.told.append, self.stop)

    def ask(self, what: str, **body: Any) -> Any:
        return self.desk.answer(what, body)

    def key(self, number: int) -> str:
        """What the page calls the piece that has this number in the diagram now."""
        (found,) = (each["key"] for each in self.ask("desk")["pieces"] if each["number"] == number)
        return str(found)

    def heard(self, kind: str) -> Mapping[str, Any]:
        """The first event of a kind, waited for."""

        def first() -> Mapping[str, Any] | None:
            for event in list(self.told):
                if event["kind"] == kind:
                    return event
                assert event["kind"] not in {"failed", "ended"}, event
            return None

        return self.until(first)

    def until(self, found: Callable[[], Found | None]) -> Found:
        """What is found as soon as there is something."""
        deadline = time.monotonic() + WAIT_SECONDS
        while (there := found()) is None:
            assert time.monotonic() < deadline, [event["kind"] for event in self.told]
            time.sleep(0.01)
        return there

    def search(self, **body: Any) -> None:
        """Begin a search that no machine ends by itself: of more pieces than can be proven to lie
        shortest, for an hour. Set `stop` to end it."""
        text = self.job.read_text(encoding="utf-8")
        self.job.write_text(text.replace('"38" = 1', '"38" = 6'), encoding="utf-8")
        self.told.clear()
        self.ask("layout lay", seconds=3600, **body)

    def laid(self, seconds: float = 0.5) -> Any:
        self.told.clear()
        self.ask("layout lay", seconds=seconds)
        self.heard("ended")
        return self.ask("desk")
