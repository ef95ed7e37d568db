"""A job file that is open: the job as it says now, its text, and what was done to that here."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Lock
from typing import Any

from marker.errors import CannotBeDone, MarkerError
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.outputs.folders import job_folder
from marker.outputs.steps import STEPS
from marker.units import show_lengths
from marker.web.drawing_board import DrawingBoard
from marker.web.pictures import pattern_picture
from marker.web.process import Values, fault_values
from marker.web.shown import file_digest

_CHANGES = "job-file.json"


class OpenJob:
    """outputs : the folder of all jobs' layouts; what was done here is kept there, to be undone.

    digest : of the file as it was read last.
    """

    def __init__(self, path: Path, outputs: Path) -> None:
        self.path, self._outputs = path, outputs
        self.digest = ""
        self._job: Job | None = None
        self._drawn: DrawingBoard | None = None
        self._changing = Lock()

    @property
    def job(self) -> Job:
        """The job as its file says; raises FaultyInput with its faults."""
        if self._job is None:
            self._job = read_job(self.path)
        return self._job

    @contextmanager
    def in_its_units(self) -> Iterator[None]:
        """Lengths are written as the job says, where it can be read."""
        try:
            show = self.job.show
        except MarkerError:
            yield
            return
        with show_lengths(show):
            yield

    def has_changed(self) -> bool:
        """Whether the file says something else than before; it is then read anew."""
        digest = file_digest(self.path)
        if digest == self.digest:
            return False
        self.digest, self._job, self._drawn = digest, None, None
        return True

    def stands(self) -> dict[str, Any]:
        """Which state of the file is shown, and whether a change of it can be undone or redone."""
        board = self._board
        return {
            "digest": self.digest,
            "can_undo": board.can_undo,
            "can_redo": board.can_redo,
        }

    def text(self) -> dict[str, Any]:
        """What the file says, and how it stands."""
        return self.stands() | {"text": self._board.text}

    def pattern(self, size: str) -> Values:
        """The pattern in a size; what was changed in it, and whose corners can't be moved."""
        picture, board = pattern_picture(self.job, size), self._board
        names = [str(piece["name"]) for piece in picture["pieces"]]
        fixed = board.fixed_corners(names)
        told = {"changes": board.changes(), "rectangles": board.rectangles()}
        return picture | told | {"fixed_corners": fixed}

    def tried(self, what: str, body: Values) -> Values:
        """The faults that a change would leave, and the pattern where it leaves none, in the `size`
        of the body. Nothing is written."""
        changed = self._board.tried(what, body)
        if changed.faults:
            return {"faults": [fault_values(fault) for fault in changed.faults], "pattern": None}
        job = read_job(self.path, changed.text)
        return {"faults": [], "pattern": pattern_picture(job, str(body.get("size") or job.size))}

    def change(self, what: str, body: Values) -> None:
        """Change the file, which is then read anew. body : may hold the `digest` of the file that
        the person saw; raises CannotBeDone where that is another by now."""
        if str(body.get("digest") or self.digest) != self.digest:
            raise CannotBeDone(
                "the job file was changed elsewhere meanwhile, so nothing is written. Load it "
                "again, and do it once more."
            )
        with self._changing:
            self._board.change(what, body)
            self.digest, self._job = file_digest(self.path), None
            self._board.keep_in(self._memory)  # the job may have another name now

    def digests(self) -> tuple[str, str]:
        """Of the file as it is, and as it was read last, from any thread; never between a change
        here and its digest."""
        with self._changing:
            return file_digest(self.path), self.digest

    @property
    def _board(self) -> DrawingBoard:
        if self._drawn is None:
            self._drawn = DrawingBoard(self.path, self._memory)
        return self._drawn

    @property
    def _memory(self) -> Path | None:
        """The file that holds the changes made so far, in the folder that has the job's name."""
        try:
            return job_folder(self.job.name, root=self._outputs) / STEPS / _CHANGES
        except MarkerError:  # a faulty file is corrected without a memory
            return None
