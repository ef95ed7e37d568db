"""A desk at work on a job of two pieces, for the tests of it."""

from __future__ import annotations

import time
from collections.abc import Mapping
from pathlib import Path
from threading import Event
from typing import Any

from marker.web.desk import Desk
from tests.cli.commands import TWO_PIECES, job_file

WAIT_SECONDS = 300.0


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
        deadline = time.monotonic() + WAIT_SECONDS
        while time.monotonic() < deadline:
            for event in list(self.told):
                if event["kind"] == kind:
                    return event
                assert event["kind"] not in {"failed", "ended"}, event
            time.sleep(0.01)
        raise AssertionError(f"no '{kind}' among {[event['kind'] for event in self.told]}")

    def laid(self, seconds: float = 0.5) -> Any:
        self.told.clear()
        self.ask("layout lay", seconds=seconds)
        self.heard("ended")
        return self.ask("desk")
