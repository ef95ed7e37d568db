"""Drawings and photos that were dropped on the page, read as a person tells of them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path

from marker.errors import Fault, FaultyInput
from marker.exchange.importing import Imported, Wanted, import_drawings
from marker.exchange.photo.import_photos import Taken
from marker.exchange.photo.reference import NotAReference, reference_named
from marker.exchange.scale import UNITS
from marker.units import NotALength, parse_length

LARGEST_DRAWINGS = 40
GRAINS = {"up": 90.0, "right": 0.0}
"""Ways of the grain in a photo, degrees from its right, counter-clockwise."""

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
            return Wanted(dict(UNITS).get(self.unit) or length_told("One unit is", self.unit))
        try:
            return Wanted(taken=Taken(reference_named(self.reference), self.lines == "yes"))
        except NotAReference as error:
            remedy = "Write a4, letter, marks, or a side of a square, as 10 cm"
            raise FaultyInput([Fault("reference", str(error), remedy)]) from error


def read_dropped(paths: Sequence[Path], told: Told) -> Imported:
    """The drawings read; faults name them as they were dropped, not where we put them."""
    wanted = told.wanted()
    try:
        imported = import_drawings(paths, wanted)
    except FaultyInput as error:
        folder = f"{paths[0].parent}/"
        own = [replace(fault, place=fault.place.replace(folder, "")) for fault in error.faults]
        raise FaultyInput(map(_for_the_page, own)) from error
    if told.grain in GRAINS and imported.no_grain_deg is None:
        return replace(imported, no_grain_deg=GRAINS[told.grain])
    return imported


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


def length_told(place: str, text: str) -> float | None:
    """A length that a person typed, mm; None where they left it empty. Raises FaultyInput."""
    if not text.strip():
        return None
    try:
        return parse_length(text)
    except NotALength as error:
        raise FaultyInput([Fault(place, str(error), "Write it like 150 cm")]) from error
