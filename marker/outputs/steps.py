"""The steps of work on a layout by hand, kept beside it so that undoing outlives the program."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field

from marker.exchange.layout_json import layout_text
from marker.exchange.layout_tables import LayoutTable
from marker.files.own_files import OwnFiles
from marker.files.writing import prepare_folder
from marker.job import Job
from marker.layout import CheckedLayout, PieceKey
from marker.outputs.layouts import BY

STEPS = "steps"
MOST_STEPS = 30
"""Steps of one cloth that are kept."""


@dataclass(frozen=True)
class Step:
    """A layout that lay on the table once. path : its file. pinned : which of its pieces were."""

    path: Path
    pinned: frozenset[PieceKey]


class _Step(BaseModel):
    model_config = ConfigDict(strict=True, frozen=True)

    file: str = Field(pattern=r"^[^/\\]+\.json$")
    pinned: list[tuple[str, str, int, int]] = []


class _Steps(BaseModel):
    model_config = ConfigDict(strict=True, frozen=True)

    at: int
    stands: str
    steps: list[_Step]


@dataclass(frozen=True)
class Steps:
    """The steps of one cloth, the oldest first. at : which lies on the table. stands : digest of
    the layout file that stood in the folder then."""

    every: tuple[Step, ...] = ()
    at: int = -1
    stands: str = ""


class StepFolder:
    """The steps of one cloth of a job. start : what its file names begin with."""

    def __init__(self, folder: Path, start: str) -> None:
        self._folder, self._start = folder / STEPS, start

    @property
    def _list(self) -> str:
        return f"{self._start}{STEPS}.json"

    def read(self) -> Steps:
        """The steps as they were written; none where there are none, or none that can be read."""
        try:
            text = (self._folder / self._list).read_text(encoding="utf-8")
            found = _Steps.model_validate_json(text)
        except (OSError, ValueError):
            return Steps()
        every = tuple(
            Step(self._folder / each.file, frozenset(PieceKey(*key) for key in each.pinned))
            for each in found.steps
        )
        return Steps(every, found.at, found.stands) if 0 <= found.at < len(every) else Steps()

    def free_path(self, taken: Iterable[Path]) -> Path:
        """A file for one more step; taken : those of the others."""
        names = {path.name for path in taken}
        numbered = (f"{self._start}{number:06d}.json" for number in count())
        return self._folder / next(name for name in numbered if name not in names)

    def write(
        self,
        steps: Steps,
        new: Sequence[tuple[Path, CheckedLayout]],
        job: Job,
        job_path: Path,
    ) -> None:
        """Keep these steps and no others. new : those among them that have no file yet."""
        prepare_folder(self._folder)
        own = OwnFiles(self._folder)
        contents = {
            path.name: layout_text(LayoutTable.of(checked, None), path, job_path, job)
            for path, checked in new
        }
        listed = [{"file": each.path.name, "pinned": sorted(each.pinned)} for each in steps.every]
        table = {"at": steps.at, "stands": steps.stands, "steps": listed}
        contents[self._list] = json.dumps(table, ensure_ascii=False) + "\n"
        kept = {each.path.name for each in steps.every}
        gone = [name for name in own.there(self._is_step) if name not in kept]
        own.replace(contents, BY, gone=gone, name=job.name)

    def _is_step(self, name: str) -> bool:
        stem = name.removeprefix(self._start).removesuffix(".json")
        return name.startswith(self._start) and stem.isdigit() and len(stem) == 6
