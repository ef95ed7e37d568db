"""Choir robe: the robe of `marker.blocks`, lined, in five sizes."""

from __future__ import annotations

from marker.blocks.body import Body
from marker.blocks.catalogue import GARMENTS
from marker.jobfile.drafted import drafted_files
from marker.units import System

SIZES, SAMPLE = ("36", "38", "40", "42", "44"), "38"


def files() -> dict[str, str]:
    """The job, and a drawing for each size."""
    bodies = {size: Body.of_size(size) for size in SIZES}
    drafted = GARMENTS["robe"].drafted(bodies, SAMPLE, {"lining": "full"})
    return drafted_files(drafted, "choir robe", System.METRIC)
