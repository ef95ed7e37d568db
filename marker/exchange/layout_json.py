"""layout.json: a checked layout as plain numbers that any other program can check again."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from marker.cloth.fabric import Cloth
from marker.cloth.spread import Spread
from marker.errors import Fault, FaultyInput
from marker.exchange.layout_tables import FOR_OTHERS, FORMAT, FileTable, LayoutTable
from marker.files.budget import Most
from marker.files.digest import digest
from marker.files.faults import FaultList, Unusable, nearest
from marker.files.reading import is_file, plain_path, read_text
from marker.files.wording import validated
from marker.job import Job
from marker.layout import Ending, Layout, Placement


@dataclass(frozen=True)
class StoredLayout:
    """What a layout file says. It is not checked: the judge must see it again.

    job_path : the job file it was made from, found from where the layout file stands.
    job_digest : of the job it was made from, with the way it was made; "" in files of the first
        versions.
    remnant : the one of the cloth's remnants that it lies on, None where there are none.
    garments : size -> garments of the lay that it is one marker of; None for the job's whole order.
    together : the layout files that hold the job's pieces from this cloth between them.
    """

    path: Path
    job_path: Path
    job_digest: str
    garments: Mapping[str, int] | None
    job_name: str
    cloth_name: str
    remnant: str | None
    together: tuple[Path, ...]
    spread: Spread
    placements: tuple[Placement, ...]
    spares: tuple[Placement, ...]
    length_mm: float
    length_lower_bound_mm: float
    unmatched_mm: float | None
    repeat_begins_mm: float | None
    stopped_because: Ending
    seed: int
    seconds: float

    def ordered(self, job: Job) -> Job:
        """The job that its file holds, ordered as the lay has it; raises FaultyInput."""
        if self.garments is None:
            return job
        for size in self.garments:
            if size not in job.sizes:
                place, problem = f"{self.path}: lay.garments", f"the job has no size '{size}'"
                raise FaultyInput([Fault(place, problem, nearest(size, job.sizes))])
        return job.with_order(self.garments)

    def made_from(self, job: Job) -> bool:
        """Whether the job, as `ordered`, still says what it said; True where that isn't known, as
        in a file of an earlier version."""
        return not self.job_digest.startswith(_MADE) or self.job_digest == _job_digest(job)

    def layout(self, job: Job) -> Layout:
        """The layout on the job's own cloth; raises FaultyInput if the job has no such cloth."""
        cloths = {cloth.name: cloth for cloth in job.cloths}
        if self.cloth_name not in cloths:
            problem = f"the job has no cloth called '{self.cloth_name}'"
            place = f"{self.path}: cloth.name"
            raise FaultyInput([Fault(place, problem, nearest(self.cloth_name, cloths))])
        return Layout(
            job_name=self.job_name,
            cloth=self._laid_on(cloths[self.cloth_name]),
            placements=self.placements,
            length_mm=self.length_mm,
            length_lower_bound_mm=self.length_lower_bound_mm,
            stopped_because=self.stopped_because,
            seed=self.seed,
            seconds=self.seconds,
            spread=self.spread,
            spares=self.spares,
            unmatched_mm=self.unmatched_mm,
        )

    def _laid_on(self, cloth: Cloth) -> Cloth:
        along = cloth.repeat.along
        if along and cloth.start_is_free and self.repeat_begins_mm is not None:
            laid = replace(along, begins_mm=self.repeat_begins_mm % along.every_mm)
            return replace(cloth, repeat=replace(cloth.repeat, along=laid))
        if self.remnant is None:
            return cloth
        remnants = {remnant.name: remnant for remnant in cloth.remnants}
        if self.remnant not in remnants:
            problem = f"the job has no remnant called '{self.remnant}'"
            place = f"{self.path}: cloth.remnant.name"
            raise FaultyInput([Fault(place, problem, nearest(self.remnant, remnants))])
        return cloth.on(remnants[self.remnant])


def layout_text(table: LayoutTable, path: Path, job_path: Path, job: Job) -> str:
    """Text of the file `path`, with the way to the job file and the digest of what that says.

    job : ordered as the layout is, so that `StoredLayout.ordered` gives it again.
    """
    job_file = {"job": _way_to(job_path, path), "job_digest": _job_digest(job)}
    return json.dumps(table.as_json() | job_file, ensure_ascii=False, allow_nan=False) + "\n"


_MADE = "2:"
"""How digests of jobs are made. Those of another way can't be held against the job as it is now;
whether the layout fits that is the judge's to say."""


def _job_digest(job: Job) -> str:
    """Of what its files say, and of its order; of all that it holds where it is not as they say."""
    what = (job.said, dict(job.order)) if job.said else job
    return f"{_MADE}{digest(what)}"


def read_layout(path: Path) -> StoredLayout:
    """A stored layout; raises FaultyInput with every fault found in it."""
    faults = FaultList(path)
    raw: Any = None
    with faults.gathering(""):
        _demand_layout(path)
        raw = _parse(read_text(path, Most.LAYOUT_BYTES))
    faults.raise_any()
    table = validated(FileTable, raw, faults)
    faults.raise_any()
    assert table is not None  # or it had noted a fault
    return StoredLayout(
        path=path,
        job_path=plain_path(path.parent / table.job),
        job_digest=table.job_digest,
        garments=table.lay.garments if table.lay else None,
        job_name=table.name,
        cloth_name=table.cloth.name,
        remnant=table.cloth.remnant.name if table.cloth.remnant else None,
        together=tuple(path.parent / name for name in table.together),
        spread=Spread(table.cloth.spread, table.folding.two_ply_mm),
        placements=tuple(each.placement() for each in table.placements),
        spares=tuple(each.placement() for each in table.spares),
        length_mm=table.length_mm,
        length_lower_bound_mm=table.length_lower_bound_mm,
        unmatched_mm=table.unmatched_mm,
        repeat_begins_mm=_begins_along(table),
        stopped_because=Ending.stored(table.stopped_because),
        seed=table.seed,
        seconds=table.seconds,
    )


def _begins_along(table: FileTable) -> float | None:
    repeat = table.cloth.repeat
    return repeat.along.begins_mm if repeat and repeat.along else None


def _demand_layout(path: Path) -> None:
    """Raise Unusable for what people give in place of a layout: its job, or its folder."""
    inside = path / "layout.json"
    if is_file(inside):
        raise Unusable("this is a folder, not a layout", f"Give the layout in it, {inside}")
    if path.suffix == ".toml" and is_file(path):
        raise Unusable(
            "this is a job, not a layout",
            f"Lay it first with `marker lay {path}`, and give the layout.json that it writes",
        )


def _parse(text: str) -> dict[str, Any]:
    Most.LAYOUT_PARTS.demand(text.count("[") + text.count("{"))
    try:
        raw = json.loads(text, parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        raise Unusable(
            f"this is not JSON (line {error.lineno}, column {error.colno})",
            "Name a layout.json that `marker lay` wrote",
        ) from error
    except (ValueError, RecursionError) as error:
        raise Unusable("this can't be a layout", "Name a layout.json that was written") from error
    if "\\ud" in text.lower():
        _refuse_half_letters(raw)
    if not isinstance(raw, dict) or "format" not in raw:
        raise Unusable("this is no layout", "Name a layout.json that `marker lay` wrote")
    if raw.get("format") != FORMAT or isinstance(raw["format"], bool):
        raise Unusable(
            f"its format is {str(raw.get('format'))[:40]}, not {FORMAT}",
            "Lay the job again with this version",
        )
    return {key: value for key, value in raw.items() if key not in FOR_OTHERS}


def _refuse_half_letters(raw: Any) -> None:
    """Raise Unusable for halves of letters, which can be neither printed nor written."""
    try:
        json.dumps(raw, ensure_ascii=False).encode()
    except UnicodeEncodeError as error:
        raise Unusable("it holds half a letter (a lone surrogate)", "Lay the job again") from error


def _refuse_constant(constant: str) -> float:
    raise Unusable(f"it holds {constant}, which is not a number", "Lay the job again")


def _way_to(job: Path, layout_file: Path) -> str:
    """Path of the job as seen from the layout's folder; absolute when they share no drive."""
    try:
        return Path(os.path.relpath(job.resolve(), layout_file.parent.resolve())).as_posix()
    except ValueError:
        return str(job.resolve())
