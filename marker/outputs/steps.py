"""The steps of work on a layout by hand, kept beside it so that undoing outlives the program."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import count, islice
from pathlib import Path
from typing import Annotated, Any

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
    """What lay on the table once. paths : the file of its layout, or of each on a remnant.
    pinned : which of its pieces were."""

    paths: tuple[Path, ...]
    pinned: frozenset[PieceKey]


FileName = Annotated[str, Field(pattern=r"^[^/\\]+\.json$")]


class _Step(BaseModel):
    model_config = ConfigDict(strict=True, frozen=True)

    file: FileName
    others: list[FileName] = []
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
            Step(
                tuple(self._folder / name for name in (each.file, *each.others)),
                frozenset(PieceKey(*key) for key in each.pinned),
            )
            for each in found.steps
        )
        return Steps(every, found.at, found.stands) if 0 <= found.at < len(every) else Steps()

    def free_paths(self, taken: Iterable[Path], wanted: int) -> tuple[Path, ...]:
        """Files for the layouts of one more step; taken : those of the others."""
        names = {path.name for path in taken}
        numbered = (f"{self._start}{number:06d}.json" for number in count())
        free = (name for name in numbered if name not in names)
        return tuple(self._folder / name for name in islice(free, wanted))

    def write(
        self,
        steps: Steps,
        new: Sequence[tuple[Sequence[Path], Sequence[CheckedLayout]]],
        job: Job,
        job_path: Path,
    ) -> None:
        """Keep these steps and no others. new : those among them that have no file yet."""
        prepare_folder(self._folder)
        own = OwnFiles(self._folder)
        contents: dict[str, bytes | str] = {}
        for paths, every in new:
            others = [path.name for path in paths] if len(paths) > 1 else []
            for path, checked in zip(paths, every, strict=True):
                laid = LayoutTable.of(checked, None).with_others(others)
                contents[path.name] = layout_text(laid, path, job_path, job)
        listed = [_listed(each) for each in steps.every]
        table = {"at": steps.at, "stands": steps.stands, "steps": listed}
        contents[self._list] = json.dumps(table, ensure_ascii=False) + "\n"
        kept = {path.name for each in steps.every for path in each.paths}
        gone = [name for name in own.there(self._is_step) if name not in kept]
        own.replace(contents, BY, gone=gone, name=job.name)

    def _is_step(self, name: str) -> bool:
        stem = name.removeprefix(self._start).removesuffix(".json")
        return name.startswith(self._start) and stem.isdigit() and len(stem) == 6


def _listed(step: Step) -> dict[str, Any]:
    file, *others = (path.name for path in step.paths)
    return {"file": file, "others": others, "pinned": sorted(step.pinned)}
