"""The pictures of a folder's jobs: the layout that stands for each, read, judged, in little."""

from __future__ import annotations

from pathlib import Path
from threading import Event
from typing import Any

from marker.errors import CannotBeDone, MarkerError
from marker.jobfile.reading import read_job
from marker.web.process import Tell, Values
from marker.web.shown import layout_in_little
from marker.web.tables import Tables

PICTURE = "picture"


class Shelf:
    """Draws one job after another; a process of its own keeps that from holding up the page."""

    def __init__(self, _tell: Tell, _stop: Event) -> None:
        pass

    def answer(self, what: str, body: Values) -> dict[str, Any]:
        """The outlines of the layout that stands; where none does, `why_not`."""
        if what != PICTURE:
            raise CannotBeDone(f"the shelf knows no '{what}'.")
        path = Path(body["path"])
        try:
            job = read_job(path)
            table = Tables(job, path, Path(body["outputs"])).of(job.cloths[0].name)
        except MarkerError:
            return {"why_not": "The job file has faults: open it to see them."}
        if table.is_empty:
            return {"why_not": "Changed since it was laid."}
        return layout_in_little(table.now, table.whole_cloth)
