"""What a job file may ask of a cloth's spread."""

from __future__ import annotations

from marker.cloth.fabric import Cloth
from marker.cloth.folding import refusal
from marker.cloth.spread import Spreading
from marker.errors import Fault, FaultyInput
from marker.files.faults import FaultList, nearest
from marker.units import metric
from marker.words import spelled_as


def check_spread(cloth: Cloth, faults: FaultList) -> None:
    """Note what the cloth can't be: spread like this, or a tube with these edges and creases."""
    refused = refusal(cloth.spread, cloth)
    if refused:
        faults.add("spread", *refused)
    if cloth.tube is None:
        return
    if cloth.selvage_mm:
        faults.add(
            "selvage",
            "a tube has no selvages",
            "Leave it out; of a cloth slit and sold open, leave out `tube`",
        )
    if 2 * cloth.tube.crease_mm >= cloth.width_mm:
        faults.add(
            "tube.crease",
            f"creases {metric(cloth.tube.crease_mm)} wide leave little of a tube that lies "
            f"{metric(cloth.width_mm)} wide",
            "Give the width of the strip to keep clear of along one crease",
        )


def read_spread(place: str, text: str) -> Spreading:
    """The way to spread a cloth of that name; raises FaultyInput for any other."""
    known = spelled_as(text, Spreading)
    if known is None:
        problem = f"'{text}' is no way to spread a cloth"
        raise FaultyInput([Fault(place, problem, nearest(text, [*Spreading, "best"]))])
    return Spreading(known)
