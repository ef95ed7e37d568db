"""Half-circle skirt: that of `marker.blocks` in six sizes."""

from __future__ import annotations

from marker.blocks.body import Body
from marker.blocks.catalogue import GARMENTS
from marker.jobfile.drafted import drafted_files
from marker.units import System

SIZES, SAMPLE = ("34", "36", "38", "40", "42", "44"), "38"


def files() -> dict[str, str]:
    """The job, and a drawing for each size."""
    bodies = {size: Body.of_size(size) for size in SIZES}
    drafted = GARMENTS["half circle skirt"].drafted(bodies, SAMPLE, {"length": 600.0})
    return drafted_files(drafted, "half-circle skirt", System.METRIC)
