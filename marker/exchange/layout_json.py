"""layout.json: a checked layout as plain numbers that any other program can check again."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from typing import Annotated, Any

import numpy as np
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from marker.cloth.fabric import Cloth
from marker.cloth.folding import fold_lines
from marker.cloth.spread import Spread, Spreading
from marker.cloth.stock import Flaw, Remnant
from marker.errors import Fault, FaultyInput
from marker.files.faults import FaultList, Unusable, nearest
from marker.files.reading import MEGABYTE, read_text
from marker.files.values import choice
from marker.files.wording import validated
from marker.geometry.arrays import FloatArray
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.layout import CheckedLayout, Layout, Placement
from marker.layout.ending import Ending
from marker.layout.on_table import on_table

FORMAT = 1
LARGEST_LAYOUT_BYTES = 50 * MEGABYTE
_PLACES = 4  # of a millimetre

Number = Annotated[float, Field(allow_inf_nan=False)]
Count = Annotated[int, Field(ge=1)]


@dataclass(frozen=True)
class StoredLayout:
    """What a layout file says. It is not checked: the judge must see it again.

    job_path : the job file it was made from, found from where the layout file stands.
    remnant : the one of the cloth's remnants that it lies on, None where there are none.
    garments : size -> garments of the lay that it is one marker of; None for the job's whole order.
    together : the layout files that hold the job's pieces from this cloth between them.
    """

    path: Path
    job_path: Path
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
    stopped_because: Ending
    seed: int
    seconds: float

    def job(self) -> Job:
        """The job that it was made from, ordered as the lay has it; raises FaultyInput."""
        read = read_job(self.job_path)
        if self.garments is None:
            return read
        for size in self.garments:
            if size not in read.sizes:
                place, problem = f"{self.path}: lay.garments", f"the job has no size '{size}'"
                raise FaultyInput([Fault(place, problem, nearest(size, read.sizes))])
        return read.with_order(self.garments)

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
        if self.remnant is None:
            return cloth
        remnants = {remnant.name: remnant for remnant in cloth.remnants}
        if self.remnant not in remnants:
            problem = f"the job has no remnant called '{self.remnant}'"
            place = f"{self.path}: cloth.remnant.name"
            raise FaultyInput([Fault(place, problem, nearest(self.remnant, remnants))])
        return cloth.on(remnants[self.remnant])


def layout_to_dict(checked: CheckedLayout, buy: dict[str, Any] | None) -> dict[str, Any]:
    """The layout as JSON-ready values, lengths in mm to four decimals."""
    layout = checked.layout
    return {
        "format": FORMAT,
        "name": layout.job_name,
        "cloth": {
            "name": layout.cloth.name,
            "usable_width_mm": _rounded(layout.cloth.usable_width_mm),
            "nap": layout.cloth.nap.value,
            "shrinkage": asdict(layout.cloth.shrinkage),
            "repeat": asdict(layout.cloth.repeat),
            "border": layout.cloth.border and asdict(layout.cloth.border),
            "spread": layout.spread.spreading.value,
            "flaws": [_flaw_to_dict(flaw) for flaw in layout.cloth.flaws],
            "remnant": _remnant_to_dict(layout.cloth.remnant),
        },
        "folding": _folding_to_dict(checked),
        "length_mm": _rounded(layout.length_mm),
        "utilisation": round(checked.utilisation, 6),
        "length_lower_bound_mm": _rounded(layout.length_lower_bound_mm),
        "unmatched_mm": None if layout.unmatched_mm is None else _rounded(layout.unmatched_mm),
        "matching_mm": _rounded(layout.matching_mm),
        "stopped_because": layout.stopped_because.value,
        "seed": layout.seed,
        "seconds": round(layout.seconds, 3),
        "placements": [_placement_to_dict(placement) for placement in layout.placements],
        "spares": [_placement_to_dict(spare) for spare in layout.spares],
        "buy": buy,
    }


def layout_text(layout: dict[str, Any], path: Path, job: Path) -> str:
    """Text of the file `path` for a layout of `layout_to_dict`, with the way to its job file."""
    text = json.dumps({**layout, "job": _way_to(job, path)}, ensure_ascii=False, allow_nan=False)
    return text + "\n"


def read_layout(path: Path) -> StoredLayout:
    """A stored layout; raises FaultyInput with every fault found in it."""
    faults = FaultList(path)
    raw: Any = None
    with faults.gathering(""):
        raw = _parse(read_text(path, LARGEST_LAYOUT_BYTES))
    faults.raise_any()
    table = validated(_LayoutTable, raw, faults, {})
    faults.raise_any()
    assert table is not None  # or it had noted a fault
    return StoredLayout(
        path=path,
        job_path=path.parent / table.job,
        garments=table.lay.garments if table.lay else None,
        job_name=table.name,
        cloth_name=table.cloth.name,
        remnant=table.cloth.remnant.name if table.cloth.remnant else None,
        together=tuple(path.parent / name for name in table.together),
        spread=Spread(table.cloth.spread, table.folding.two_ply_mm),
        placements=tuple(map(_placement, table.placements)),
        spares=tuple(map(_placement, table.spares)),
        length_mm=table.length_mm,
        length_lower_bound_mm=table.length_lower_bound_mm,
        unmatched_mm=table.unmatched_mm,
        stopped_because=Ending.stored(table.stopped_because),
        seed=table.seed,
        seconds=table.seconds,
    )


class _Table(BaseModel):
    """A part of the file; keys for other readers, such as "buy", are left alone."""

    model_config = ConfigDict(strict=True, frozen=True)


class _RemnantTable(_Table):
    name: str


class _ClothTable(_Table):
    remnant: _RemnantTable | None = None
    name: str
    spread: Annotated[Spreading, BeforeValidator(partial(choice, Spreading))]


class _FoldingTable(_Table):
    two_ply_mm: Annotated[Number, Field(ge=0)] = 0.0


class _PlacementTable(_Table):
    piece: str
    size: str
    garment: Count
    copy_: Annotated[int, Field(ge=1, alias="copy")]
    rotation_deg: Number
    mirrored: bool
    x_mm: Number
    y_mm: Number
    outline_mm: Annotated[
        list[Annotated[list[Number], Field(min_length=2, max_length=2)]], Field(min_length=3)
    ]


class _LayTable(_Table):
    garments: Annotated[dict[str, Count], Field(min_length=1)]


class _LayoutTable(_Table):
    lay: _LayTable | None = None
    together: list[str] = []
    job: Annotated[str, Field(min_length=1)]
    name: str
    cloth: _ClothTable
    folding: _FoldingTable = _FoldingTable()
    length_mm: Annotated[Number, Field(gt=0)]
    length_lower_bound_mm: Annotated[Number, Field(ge=0)]
    unmatched_mm: Annotated[Number, Field(ge=0)] | None = None
    stopped_because: str
    seed: int
    seconds: Annotated[Number, Field(ge=0)]
    placements: Annotated[list[_PlacementTable], Field(min_length=1)]
    spares: list[_PlacementTable] = []


def _parse(text: str) -> dict[str, Any]:
    try:
        raw = json.loads(text, parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        raise Unusable(
            f"this is not JSON (line {error.lineno}, column {error.colno})",
            "Name a layout.json that `marker lay` wrote",
        ) from error
    except (ValueError, RecursionError) as error:
        raise Unusable("this can't be a layout", "Name a layout.json that was written") from error
    if not isinstance(raw, dict):
        raise Unusable("this is no layout", "Name a layout.json that `marker lay` wrote")
    if raw.get("format") != FORMAT or isinstance(raw["format"], bool):
        raise Unusable(
            f"its format is {str(raw.get('format'))[:40]}, not {FORMAT}",
            "Lay the job again with this version",
        )
    return raw


def _refuse_constant(constant: str) -> float:
    raise Unusable(f"it holds {constant}, which is not a number", "Lay the job again")


def _placement(table: _PlacementTable) -> Placement:
    return Placement(
        piece=table.piece,
        size=table.size,
        garment=table.garment,
        copy=table.copy_,
        rotation_deg=table.rotation_deg,
        mirrored=table.mirrored,
        x_mm=table.x_mm,
        y_mm=table.y_mm,
        outline_mm=np.array(table.outline_mm, dtype=np.float64),
    )


def _folding_to_dict(checked: CheckedLayout) -> dict[str, Any]:
    """How the cloth is folded again, and how many outlines are then cut."""
    spread = checked.layout.spread
    crosswise = spread.spreading is Spreading.FOLDED_CROSSWISE
    return {
        "folds_along_mm": [_rounded(y) for y in fold_lines(spread, checked.layout.cloth)],
        "fold_across_mm": _rounded(spread.two_ply_mm) if crosswise else None,
        "two_ply_mm": _rounded(spread.two_ply_mm),
        "one_ply_from_mm": _rounded(spread.one_ply_from_mm),
        "cuts": len(on_table(checked)),
    }


def _placement_to_dict(placement: Placement) -> dict[str, Any]:
    return {
        "piece": placement.piece,
        "size": placement.size,
        "garment": placement.garment,
        "copy": placement.copy,
        "rotation_deg": _rounded(placement.rotation_deg),
        "mirrored": placement.mirrored,
        "x_mm": _rounded(placement.x_mm),
        "y_mm": _rounded(placement.y_mm),
        "outline_mm": _rounded_points(placement.outline_mm),
    }


def _flaw_to_dict(flaw: Flaw) -> dict[str, Any]:
    return {"name": flaw.name, "outline_mm": _rounded_points(flaw.outline)}


def _remnant_to_dict(remnant: Remnant | None) -> dict[str, Any] | None:
    if remnant is None:
        return None
    holes = [_rounded_points(hole) for hole in remnant.holes]
    return {
        "name": remnant.name,
        "outline_mm": _rounded_points(remnant.outline),
        "holes_mm": holes,
    }


def _rounded(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError(f"a layout can't hold {value}")
    return round(float(value), _PLACES) + 0.0  # never -0.0


def _rounded_points(points: FloatArray) -> list[list[float]]:
    return [[_rounded(x), _rounded(y)] for x, y in points]


def _way_to(job: Path, layout_file: Path) -> str:
    """Path of the job as seen from the layout's folder; absolute when they share no drive."""
    try:
        return Path(os.path.relpath(job.resolve(), layout_file.parent.resolve())).as_posix()
    except ValueError:
        return str(job.resolve())
