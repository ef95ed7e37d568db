"""New jobs made on the page: a garment drafted from measures, or drawings that were dropped."""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import shapely
from shapely import Polygon

from marker.blocks.body import Body
from marker.blocks.catalogue import GARMENTS, picture_outlines
from marker.blocks.garment import Garment
from marker.cloth.fabric import Nap
from marker.drawing.garments import SAMPLE
from marker.errors import CannotBeDone, Fault, FaultyInput
from marker.exchange.cloth_facts import ClothFacts
from marker.files.faults import Unusable
from marker.files.own_files import OwnFiles
from marker.jobfile.new_job import (
    FirstPiece,
    checked_name,
    garment_files,
    rectangle_job,
    starter_job,
)
from marker.jobfile.writing import JOB, job_files
from marker.outputs.jobs import picture_of, write_job
from marker.reports.facts import to_json
from marker.reports.garments import garments_report
from marker.reports.imported import import_report, read_lines
from marker.units import Systems, show_for, show_lengths
from marker.web.dropped import (
    LARGEST_DRAWINGS,
    Dropped,
    Told,
    kept_in,
    length_told,
    read_dropped,
)
from marker.web.job_changes import rectangle_told
from marker.web.process import Values

_FINE_ENOUGH_MM = 3.0  # of a picture as large as a stamp
_NAP = (
    "  which way pieces may point: one way, which suits any cloth. Choose another nap under Cloth "
    "if pieces may be turned"
)


@cache
def garments() -> dict[str, Any]:
    """All garments with their measures and options, and the outlines of their pieces as a picture,
    x right and y down."""
    told = to_json(garments_report())
    for each in told["garments"]:
        each["picture"] = _picture(GARMENTS[each["name"]])
    return told


def _picture(garment: Garment) -> list[list[list[float]]]:
    block = garment.drafted({SAMPLE: Body.of_size(SAMPLE)}, SAMPLE, {}).sizes[SAMPLE]
    drawn = [Polygon(each.outline).simplify(_FINE_ENOUGH_MM) for each in picture_outlines(block)]
    return [shapely.get_coordinates(each)[:-1].round().tolist() for each in drawn]


def make_job(root: Path, body: Values) -> Path:
    """Write a new job into a folder of its own; the job file's path.

    body : `name`, and maybe what the job begins with. With `garment` come its `measures` (name ->
    text) and a `size`, or `sizes` as text, of which one each is ordered. With `rectangle` come its
    texts, and `cloth` with its `name` and `width`. Without either it is a starter job. Raises
    FaultyInput, and then writes nothing.
    """
    name = str(body.get("name", "")).strip()
    garment = body.get("garment")
    if "rectangle" in body:
        asked, cloth = dict(body["rectangle"]), dict(body["cloth"])
        cloth_told = str(cloth["name"]), str(cloth["width"])
        first = FirstPiece(
            *cloth_told, str(asked["name"]), str(asked["cut"]), rectangle_told(asked)
        )
        return write_job(_new_folder(root, name), {JOB: rectangle_job(name, first)}, "new")[0]
    if not garment:
        return write_job(_new_folder(root, name), {JOB: starter_job(name)}, "new")[0]
    measures = {
        str(key): str(value).strip()
        for key, value in dict(body.get("measures") or {}).items()
        if str(value).strip()
    }
    size = str(body.get("size") or "").strip() or None
    with show_lengths(show_for(Systems.BOTH, measures.values())):  # inches where inches are given
        sizes = str(body.get("sizes") or "")
        files = garment_files(str(garment), name, measures, size, sizes)
    return write_job(_new_folder(root, name), files, "new")[0]


def _first_piece(rectangle: Values, cloth: Values) -> FirstPiece:
    return FirstPiece(
        cloth=str(cloth["name"]),
        width=str(cloth["width"]),
        name=str(rectangle["name"]),
        cut=str(rectangle["cut"]),
        rectangle=rectangle_told(rectangle),
    )


def import_job(
    root: Path, name: str, drawings: Sequence[Dropped], asked: Told
) -> tuple[Path, list[str], list[str]]:
    """Write a job of dropped drawings or photos. Its path, lines that say what was read, and the
    names of pictures beside it that show each photo with the outlines found in it.

    Raises FaultyInput, and then writes nothing.
    """
    name = name.strip()
    checked_name(name)
    if not 0 < len(drawings) <= LARGEST_DRAWINGS:
        raise FaultyInput([Fault("drawings", "there are none, or too many", "Drop 1 to 40 files")])
    width_mm = length_told("Width of the cloth", asked.width)
    with tempfile.TemporaryDirectory() as folder:
        paths = [kept_in(Path(folder), each) for each in drawings]
        imported = replace(read_dropped(paths, asked), title=name)
        try:
            nap = None if imported.cloths else Nap.ONE_WAY
            told = ClothFacts(width_mm=width_mm, nap=nap)
            made = job_files(imported, [path.name for path in paths], told)
        except Unusable as fault:
            raise FaultyInput([Fault("drawings", fault.problem, fault.remedy)]) from fault
    if any(cloth.width_mm is None for cloth in made.cloths.values()):
        problem, remedy = "the files do not say how wide the cloth is", "Write it, such as 150 cm"
        raise FaultyInput([Fault("Width of the cloth", problem, remedy)])
    files = write_job(_new_folder(root, name), made.texts, "import", picture_of(imported))
    report = import_report(imported, made, files)
    photos = list(imported.photos.checks) if imported.photos else []
    lines = [line.replace(f"{folder}{os.sep}", "") for line in read_lines(report)]
    return files[0], [*lines, *([_NAP] if nap else [])], photos


def check_picture(job: Path, name: str) -> Path:
    """The file of a picture beside a job that shows a photo with the outlines found in it."""
    path = job.parent / Path(name).name
    if path.suffix != ".jpg" or not OwnFiles(job.parent).is_own(path.name, "import"):
        raise CannotBeDone("there is no such picture.")
    return path


def _new_folder(root: Path, name: str) -> Path:
    """The folder that a job of this name gets; raises FaultyInput where there is one already."""
    folder = root / (re.sub(r"[^\w-]+", "-", name.lower()).strip("-") or "job")
    if folder.exists():
        problem = "there is a folder of that name already"
        raise FaultyInput([Fault(folder.name, problem, "Choose another name")])
    return folder
