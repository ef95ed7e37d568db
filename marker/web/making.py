"""New jobs made on the page: a garment drafted from measures, or drawings that were dropped."""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import count
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
from marker.exchange.importing import Imported, Wanted, import_drawings
from marker.exchange.photo.import_photos import Taken
from marker.exchange.photo.reference import NotAReference, reference_named
from marker.exchange.scale import UNITS
from marker.files.faults import Unusable
from marker.files.own_files import OwnFiles
from marker.jobfile.new_job import checked_name, garment_files, starter_job
from marker.jobfile.writing import JOB, job_files
from marker.outputs.jobs import picture_of, write_job
from marker.reports.facts import to_json
from marker.reports.garments import garments_report
from marker.reports.imported import import_report, read_lines
from marker.units import NotALength, Systems, parse_length, show_for, show_lengths
from marker.web.process import Values

LARGEST_DRAWINGS = 40
GRAINS = {"up": 90.0, "right": 0.0}
"""Ways of the grain in a photo, degrees from its right, counter-clockwise."""

_FINE_ENOUGH_MM = 3.0  # of a picture as large as a stamp
_NAP = (
    "  which way pieces may point: one way, which suits any cloth. Choose another nap under Cloth "
    "if pieces may be turned"
)
_IN_A_FILE_NAME = re.compile(r"[^\w.() -]+")


@dataclass(frozen=True)
class Dropped:
    """A file as the browser sent it."""

    name: str
    content: bytes


@dataclass(frozen=True)
class Told:
    """What a person says of files that they drop, each '' where they say nothing.

    width : of the cloth. unit : of drawings. reference : what of known size lies in photos; files
    are photos where one is named. lines : 'yes' where the pieces in photos are drawn, not cut out.
    grain : a key of `GRAINS`, where no arrow shows it in a photo; '' leaves it to the job file.
    """

    width: str = ""
    unit: str = ""
    reference: str = ""
    lines: str = ""
    grain: str = ""

    def wanted(self) -> Wanted:
        """How the files are to be read; raises FaultyInput."""
        if not self.reference:
            return Wanted(dict(UNITS).get(self.unit) or _length("One unit is", self.unit))
        try:
            return Wanted(taken=Taken(reference_named(self.reference), self.lines == "yes"))
        except NotAReference as error:
            remedy = "Write a4, letter, marks, or a side of a square, as 10 cm"
            raise FaultyInput([Fault("reference", str(error), remedy)]) from error


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

    body : `name`; with `garment`, also its `measures` (name -> text) and maybe a `size`, or `sizes`
    as text, of which one each is ordered; without, a starter job is written. Raises FaultyInput,
    and then writes nothing.
    """
    name = str(body.get("name", "")).strip()
    garment = body.get("garment")
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
    width_mm, wanted = _length("Width of the cloth", asked.width), asked.wanted()
    with tempfile.TemporaryDirectory() as folder:
        paths = [kept_in(Path(folder), each) for each in drawings]
        imported = replace(_imported(paths, wanted), title=name)
        if asked.grain in GRAINS and imported.no_grain_deg is None:
            imported = replace(imported, no_grain_deg=GRAINS[asked.grain])
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


def _imported(paths: Sequence[Path], wanted: Wanted) -> Imported:
    """The drawings read; faults name them as they were dropped, not where we put them."""
    try:
        return import_drawings(paths, wanted)
    except FaultyInput as error:
        folder = f"{paths[0].parent}/"
        own = [replace(fault, place=fault.place.replace(folder, "")) for fault in error.faults]
        raise FaultyInput(map(_for_the_page, own)) from error


def _for_the_page(fault: Fault) -> Fault:
    """A fault that asks for an option of the command, in the words of the page's field; what the
    page has no field for is told to be the command's."""
    if "--units" in fault.remedy:
        remedy = "Measure the pattern, and choose what a unit of the drawing is under 'One unit is'"
        return replace(fault, remedy=remedy)
    if "--reference" not in fault.remedy:
        options = ", with `marker import` in a terminal" if " --" in fault.remedy else ""
        return replace(fault, remedy=fault.remedy + options)
    formats = fault.remedy.partition(", or a photo")[0]
    asked = "choose under 'In the photos lies' what of known size is in the photo"
    remedy = (
        f"{formats}; or {asked}"
        if fault.remedy.startswith("Name")
        else asked[0].upper() + asked[1:]
    )
    return replace(fault, remedy=remedy)


def kept_in(folder: Path, dropped: Dropped) -> Path:
    """What was dropped in a file that keeps what of its name a file may have."""
    plain = _IN_A_FILE_NAME.sub("-", Path(dropped.name).name)[-80:].lstrip(".") or "drawing"
    path = folder / plain
    for number in count(2):
        if not path.exists():
            break
        path = folder / f"{number}-{plain}"
    path.write_bytes(dropped.content)
    return path


def _new_folder(root: Path, name: str) -> Path:
    """The folder that a job of this name gets; raises FaultyInput where there is one already."""
    folder = root / (re.sub(r"[^\w-]+", "-", name.lower()).strip("-") or "job")
    if folder.exists():
        problem = "there is a folder of that name already"
        raise FaultyInput([Fault(folder.name, problem, "Choose another name")])
    return folder


def _length(place: str, text: str) -> float | None:
    if not text.strip():
        return None
    try:
        return parse_length(text)
    except NotALength as error:
        raise FaultyInput([Fault(place, str(error), "Write it like 150 cm")]) from error
