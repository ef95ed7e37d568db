"""Pinafore: that of `marker.blocks` in size 38."""

from __future__ import annotations

from marker.blocks.body import Body
from marker.blocks.catalogue import GARMENTS
from marker.jobfile.drafted import drafted_files
from marker.units import System


def files() -> dict[str, str]:
    """The job and its drawing."""
    drafted = GARMENTS["pinafore"].drafted({"38": Body.of_size("38")}, "38", {})
    return drafted_files(drafted, "pinafore", System.METRIC)
