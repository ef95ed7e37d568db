"""A stored layout judged again: nothing else may be printed or exported."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from marker.exchange.layout_json import StoredLayout
    from marker.job import Job
    from marker.layout import CheckedLayout


def checked_again(path: Path) -> tuple[Job, CheckedLayout]:
    """The job of a layout file, and its layout after another pass through the judge.

    Raises FaultyInput for either file, JudgeRefused for a layout that is no longer sound.
    """
    from marker import judge
    from marker.exchange.layout_json import read_layout

    stored = read_layout(path)
    job = stored.job()
    layout = stored.layout(job)
    pieces = job.cut_pieces(layout.cloth)
    if not stored.together:
        return job, judge.check(layout, pieces, job.garments)
    every = [layout, *(read_layout(other).layout(job) for other in _others(stored))]
    return job, judge.check_together(every, pieces, job.garments)[0]


def _others(stored: StoredLayout) -> list[Path]:
    """The layouts on the other remnants of the cloth."""
    return [other for other in stored.together if other.resolve() != stored.path.resolve()]
