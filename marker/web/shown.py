"""What a desk shows of a job and its layouts, as plain values."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from marker.cloth.fabric import Cloth, Nap
from marker.cloth.repeat import Axis
from marker.cloth.spread import Spreading
from marker.drawing.pages.full_size import FullSize
from marker.errors import CannotBeDone
from marker.job import Job
from marker.layout.bought import purchase_for
from marker.layout.ending import Ending
from marker.tolerances import HAIR_MM
from marker.units import NotALength, cut_length, exact_length, parse_length
from marker.web.pictures import drawn_pieces, layout_figures, points
from marker.web.process import Values
from marker.web.tabletop import Arrangement


def layout_shown(now: Arrangement) -> dict[str, Any]:
    """A layout with its picture and its figures."""
    numbers = {number for number, key in now.numbered.items() if key in now.pinned}
    scene, checked = now.scene, now.checked
    return {
        "layout": {
            "cloth": scene.cloth_name,
            "length_mm": scene.length_mm,
            "width_mm": scene.width_mm,
            "flaws": [points(flaw.outline) for flaw in scene.flaws],
            "lacking": [points(outline) for outline in scene.lacking],
            "folds": [[fold.start, fold.end] for fold in scene.folds],
            "seed": checked.layout.seed,
        },
        "pieces": drawn_pieces(scene.pieces, numbers),
        "figures": layout_figures(checked, purchase_for(checked)),
    }


def pages_shown(planned: FullSize) -> dict[str, Any]:
    """The full-size pages of a layout as rows and columns of sheets."""
    tiling = planned.tiling
    return {
        "pages": planned.pages,
        "rows": tiling.rows,
        "columns": tiling.columns,
        "page_mm": tiling.tile(0, 0).paper,
        "names": [
            [tiling.tile(row, column).name for column in range(tiling.columns)]
            for row in range(tiling.rows)
        ],
        "printed": [tile.name for tile in planned.printed],
    }


def with_width(job: Job, cloth_name: str, width: str) -> Job:
    """The job with another width of one cloth."""
    try:
        mm = parse_length(width)
    except NotALength as error:
        raise CannotBeDone(str(error)) from error
    if not 50 <= mm <= 10_000:
        raise CannotBeDone(f"no cloth is {cut_length(mm)} wide.")
    cloths = [
        replace(cloth, width_mm=mm) if cloth.name == cloth_name else cloth for cloth in job.cloths
    ]
    return replace(job, cloths=tuple(cloths))


def as_typed(cloth: Cloth, text: str, job: Job) -> str:
    """The width of a cloth as a person typed it, or exactly where they typed another one."""
    try:
        same = abs(parse_length(text) - cloth.width_mm) < HAIR_MM
    except NotALength:
        same = False
    return text if same else exact_length(cloth.width_mm, job.show.lead)


def cloth_facts(cloth: Cloth) -> Mapping[str, Any]:
    return {
        "name": cloth.name,
        "width_mm": cloth.width_mm,
        "usable_width_mm": cloth.usable_width_mm,
        "nap": cloth.nap.value,
        "spread": cloth.spread.value,
        "selvage_mm": cloth.selvage_mm,
        "gap_mm": cloth.gap_mm,
        "on_hand_mm": cloth.have_mm,
        "end_allowance_mm": cloth.end_allowance_mm,
        "sold_by_mm": cloth.sold_by_mm,
        "repeat_mm": {
            axis.value: bars and bars.every_mm for axis in Axis if (bars := cloth.repeat.on(axis))
        },
        "price": cloth.price and vars(cloth.price),
        "remnants": [
            {"name": each.name, "outline": points(each.outline)} for each in cloth.remnants
        ],
        "naps": [nap.value for nap in Nap],
        "spreads": [spreading.value for spreading in Spreading],
        "flaws": [{"name": flaw.name, "outline": points(flaw.outline)} for flaw in cloth.flaws],
    }


def stage(text: str) -> Values:
    return {"kind": "stage", "text": text}


def ended(ending: Ending) -> str:
    return "Stopped: the best layout so far." if ending is Ending.BY_HAND else "Laid and checked."


def file_digest(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise CannotBeDone(f"{path.name} can't be read any more.") from error
