"""A stored layout beside the job that it names, judged again: nothing else may be shown."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from marker import judge
from marker.errors import CannotBeDone, Fault, FaultyInput
from marker.exchange.layout_json import StoredLayout, read_layout
from marker.files.budget import Most
from marker.files.reading import is_there, plain_path
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.layout import CheckedLayout, Layout
from marker.pattern.piece import CutPiece


@dataclass(frozen=True)
class LayoutOfJob:
    """A layout file beside the job that it names, as that is now.

    layouts : its own first, then those on the other remnants of its cloth.
    changed : a sentence where the job is no longer the one that was laid, else "".
    """

    path: Path
    job_path: Path
    job: Job
    layouts: Sequence[Layout]
    pieces: Sequence[CutPiece]
    changed: str

    def findings(self) -> tuple[judge.Finding, ...]:
        """Every rule of the judge's that it breaks."""
        if len(self.layouts) > 1:
            return judge.findings_together(self.layouts, self.pieces, self.job.garments)
        return judge.findings(self.layouts[0], self.pieces, self.job.garments)

    def checked(self) -> CheckedLayout:
        """The layout, passed; raises JudgeRefused, or CannotBeDone where the job has changed."""
        return self.checked_together()[0]

    def checked_together(self) -> tuple[CheckedLayout, ...]:
        """All layouts, passed, in their order; raises as `checked` does."""
        try:
            if len(self.layouts) > 1:
                return judge.check_together(self.layouts, self.pieces, self.job.garments)
            return (judge.check(self.layouts[0], self.pieces, self.job.garments),)
        except judge.JudgeRefused as refused:
            if self.changed:
                raise CannotBeDone(self.changed) from refused
            raise


def layout_of_job(path: Path, read: Job | None = None) -> LayoutOfJob:
    """A layout file with its companions and its job; raises FaultyInput for any of them.

    read : its job, where that has been read already.
    """
    stored = read_layout(path)
    if read is None and not is_there(stored.job_path):
        problem = f"its job is not at {plain_path(stored.job_path)}"
        raise FaultyInput(
            [Fault(str(path), problem, "Put the two back where they were, or lay the job again")]
        )
    job = stored.ordered(read or read_job(stored.job_path))
    own = stored.layout(job)
    others = [other.layout(job) for other in _others(stored)]
    pieces, changed = job.cut_pieces(own.cloth), _changed(stored, job)
    return LayoutOfJob(path, stored.job_path, job, [own, *others], pieces, changed)


def _others(stored: StoredLayout) -> Iterator[StoredLayout]:
    """The layouts on the other remnants of the cloth; raises FaultyInput where they hold more
    pieces together than one layout may."""
    seen = {stored.path.resolve()}
    pieces = len(stored.placements)
    for path in stored.together:
        if path.resolve() in seen:
            continue
        seen.add(path.resolve())
        other = read_layout(path)
        pieces += len(other.placements)
        if pieces > Most.PLACEMENTS.most:
            fault = Most.PLACEMENTS.exceeded(pieces)
            raise FaultyInput([Fault(str(stored.path), fault.problem, fault.remedy)])
        yield other


def _changed(stored: StoredLayout, job: Job) -> str:
    if stored.made_from(job):
        return ""
    command = "lay" if stored.garments is None else "order"
    job_path = plain_path(stored.job_path)
    return (
        f"{job_path} has changed since {stored.path} was laid. "
        f"Lay it again with `marker {command} {job_path}`."
    )
