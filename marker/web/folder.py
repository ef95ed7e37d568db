"""The jobs of a folder, and a picture of the layout that stands for each."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path
from threading import Event
from typing import Any

from marker.errors import CannotBeDone, MarkerError
from marker.outputs.folders import OUTPUTS
from marker.web.process import Tell, Values

MOST_JOBS = 500
_DEEPEST = 4
_NOT_LOOKED_INTO = {"outputs", "node_modules", "__pycache__"}


@dataclass(frozen=True)
class JobPlace:
    """Where a job stands in the folder.

    id : part of the page's addresses; the same as long as the file keeps its place.
    """

    id: str
    path: Path
    shown: str


class JobFolder:
    """The folder that the page was opened on. No path that it hands out leads out of it."""

    def __init__(self, root: Path) -> None:
        self.root = root.resolve()

    def jobs(self) -> list[JobPlace]:
        """Every job file, in the order of their paths; at most `MOST_JOBS`."""
        found: list[JobPlace] = []
        for path in self._toml_files(self.root, 0):
            if len(found) == MOST_JOBS:
                break
            found.append(self.place(path))
        return found

    def job(self, job_id: str) -> JobPlace:
        """The job of this id; raises CannotBeDone where there is none, or none any longer."""
        for place in self.jobs():
            if place.id == job_id:
                return place
        raise CannotBeDone("there is no such job in the folder any more. Open the list again.")

    @property
    def outputs(self) -> Path:
        """The folder that holds what is made of the jobs."""
        return self.root / OUTPUTS

    def place(self, path: Path) -> JobPlace:
        """The place of a job file in the folder."""
        inside = path.relative_to(self.root)
        name = inside.parent.as_posix() if path.name == "job.toml" else inside.as_posix()
        plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "job"
        mark = hashlib.sha256(inside.as_posix().encode()).hexdigest()[:6]
        return JobPlace(f"{plain[:40]}-{mark}", path, inside.as_posix())

    def _toml_files(self, folder: Path, depth: int) -> list[Path]:
        found: list[Path] = []
        for path in sorted(folder.iterdir()):
            if path.name.startswith(".") or path.name in _NOT_LOOKED_INTO or path.is_symlink():
                continue
            if path.is_dir() and depth < _DEEPEST:
                found += self._toml_files(path, depth + 1)
            elif path.name == "job.toml" or (path.suffix == ".toml" and _is_job(path)):
                found.append(path)
        return found


def _is_job(path: Path) -> bool:
    """Whether a TOML file of another name looks like a job: it has a cloth."""
    try:
        with path.open(encoding="utf-8") as text:
            return re.search(r"^\s*\[\s*cloth\s*\.", text.read(1_000_000), re.M) is not None
    except (OSError, UnicodeDecodeError):
        return False


PICTURE = "picture"


class Shelf:
    """Draws one job after another; a process of its own keeps that from holding up the page."""

    def __init__(self, _tell: Tell, _stop: Event) -> None:
        pass

    def answer(self, what: str, body: Values) -> dict[str, Any]:
        """The outlines of the layout that stands; where none does, `why_not`."""
        if what != PICTURE:
            raise CannotBeDone(f"the shelf knows no '{what}'.")
        # not where the page looks for jobs: they take a second to load
        from marker.jobfile.reading import read_job
        from marker.web.shown import layout_in_little
        from marker.web.tables import Tables

        path = Path(body["path"])
        try:
            job = read_job(path)
            table = Tables(job, path, Path(body["outputs"])).of(job.cloths_cut[0].name)
        except MarkerError:
            return {"why_not": "The job file has faults: open it to see them."}
        if table.is_empty:
            return {"why_not": "Changed since it was laid."}
        return layout_in_little(table.now, table.whole_cloth)
