"""Pieces of drawings or photos that were dropped on a job that is open: shown first, then added."""

from __future__ import annotations

import base64
import os
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, fields
from itertools import count
from pathlib import Path
from typing import Any

from marker.errors import CannotBeDone, Fault, FaultyInput
from marker.exchange.cloth_facts import facts_of
from marker.exchange.importing import Imported
from marker.exchange.laid_flat import unique_names
from marker.files.faults import Unusable
from marker.files.own_files import OwnFiles
from marker.files.writing import output_folder
from marker.job import Job
from marker.jobfile.adding import copies_told
from marker.jobfile.reading import read_job
from marker.jobfile.sizes import SIZE
from marker.jobfile.writing import JOB, JobFiles, drawing_name, job_files
from marker.reports.imported import import_report, read_lines
from marker.web.dropped import Told, read_dropped
from marker.web.pictures import pattern_picture
from marker.web.process import Values

_BY = "import"
_NOT_IN_A_STEM = re.compile(r"[^\w-]+")


@dataclass(frozen=True)
class DroppedPieces:
    """What files hold, as a job can take it. folder : where they lie. beside : the job file."""

    job: Job
    imported: Imported
    made: JobFiles
    folder: Path

    @classmethod
    def of(cls, job: Job, beside: Path, body: Values) -> DroppedPieces:
        """What is told of the files, and their `paths`. Raises FaultyInput, or CannotBeDone for
        sizes that the job has not."""
        paths = [Path(path) for path in body["paths"]]
        if not paths:
            remedy = "Choose some, or drop them here"
            raise FaultyInput([Fault("Drawings", "there are none", remedy)])
        told = Told(**{each.name: str(body.get(each.name) or "") for each in fields(Told)})
        imported = read_dropped(paths, told)
        _demand_sizes(job, imported)
        drawing = _free_name(beside.parent, paths[0].stem, imported)
        try:
            made = job_files(
                imported, [path.name for path in paths], facts_of(job.cloths[0]), drawing
            )
        except Unusable as fault:
            raise FaultyInput([Fault("Drawings", fault.problem, fault.remedy)]) from fault
        return cls(job, imported, made, paths[0].parent)

    def shown(self) -> Values:
        """The pieces as they are drawn, each with a `name` that is free in the job. `lines` say
        what was read. `photos`, as JPEG for an address, show what was found in them."""
        for name, text in self.made.texts.items():
            (self.folder / name).write_text(text, encoding="utf-8")
        drawn = pattern_picture(read_job(self.folder / JOB), self.imported.size)["pieces"]
        taken = [*_names(self.job)]
        free = unique_names([*taken, *(str(each["name"]) for each in drawn)])[len(taken) :]
        pieces = [
            piece | {"name": name, "was": piece["name"]}
            for piece, name in zip(drawn, free, strict=True)
        ]
        report = import_report(self.imported, self.made, [])
        lines = [line.replace(f"{self.folder}{os.sep}", "") for line in read_lines(report)]
        photos = self.imported.photos.checks if self.imported.photos else {}
        coded = [base64.b64encode(photo).decode() for photo in photos.values()]
        return {"pieces": pieces, "lines": lines, "photos": coded}

    @contextmanager
    def beside(self, path: Path, chosen: Sequence[Mapping[str, Any]]) -> Iterator[Values]:
        """The change that adds the pieces that are chosen. Their drawings lie beside the job file
        then, and go again if the block raises.

        chosen : of each its `number` from 0, and its `name`, `cloth`, `cut`, `pair` and the edge
        that lies on the `fold` or '' as the person told them.
        """
        if not chosen:
            raise CannotBeDone("no piece is chosen. Tick one.")
        tables = [self._table(each) for each in chosen]
        drawings = {name: text for name, text in self.made.texts.items() if name != JOB}
        with output_folder(path.parent):
            own = OwnFiles(path.parent)
            own.replace(drawings, _BY)
        try:
            yield {"tables": tables}
        except BaseException:
            own.replace({}, _BY, gone=drawings)
            raise

    def _table(self, told: Mapping[str, Any]) -> dict[str, Any]:
        table = dict(self.made.pieces[int(told["number"])])
        fold = str(told.get("fold") or "")
        if fold:
            table["fold"] = table["edges"][fold]
            for key in ("edges", "allowances", "corners"):
                left = {name: each for name, each in table.get(key, {}).items() if name != fold}
                table = table | {key: left} if left else _without(table, key)
        told_of_it = {"name": str(told["name"]).strip(), "cloth": str(told["cloth"])}
        return {**told_of_it, **_without(table, *told_of_it, "cut", "pair"), **_copies(told)}


def _copies(told: Mapping[str, Any]) -> dict[str, Any]:
    cut = copies_told(told["cut"])
    return ({} if cut == 1 else {"cut": cut}) | ({"pair": True} if told.get("pair") else {})


def _without(table: Mapping[str, Any], *keys: str) -> dict[str, Any]:
    return {key: value for key, value in table.items() if key not in keys}


def _names(job: Job) -> Iterator[str]:
    """The names that pieces and strips of a job have."""
    yield from (piece.name for piece in job.pattern.pieces)
    yield from (strip.name for strip in job.pattern.strips)


def _demand_sizes(job: Job, imported: Imported) -> None:
    """A pattern in one size is the same in all of the job's; one in several must have these."""
    if imported.rules:
        raise CannotBeDone("a pattern with grade rules makes a job of its own. Start a new job.")
    if len(imported.sizes) > 1 and set(imported.sizes) != set(job.sizes):
        raise CannotBeDone(
            f"the drawing comes in sizes {', '.join(imported.sizes)}, and this job in "
            f"{', '.join(job.sizes)}. Save the drawing in one size, or in those of the job."
        )


def _free_name(folder: Path, stem: str, imported: Imported) -> str:
    """What the drawings may be called beside the job, made of the name of the first file."""
    plain = _NOT_IN_A_STEM.sub("-", stem).strip("-")[:60] or "drawing"
    for number in count(1):
        called = plain if number == 1 else f"{plain}-{number}"
        name = drawing_name(called, bool(imported.drawn))
        if not any(os.path.lexists(folder / name.replace(SIZE, s)) for s in imported.sizes):
            return called
    raise AssertionError("numbers do not end")
