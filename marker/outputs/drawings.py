"""Drawings of a job that show no layout: bands, sizes, widths."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from marker.drawing.bands.band_pages import render_bands
from marker.drawing.garments import render_garments
from marker.drawing.nest import render_nest
from marker.files.own_files import Contents, OwnFiles
from marker.job import Job
from marker.pattern.bands.strip_plan import StripPlan

if TYPE_CHECKING:
    from marker.planning.widths import WidthsResult


_WIDTHS = "buy"


def write_bands(
    job_name: str, plans: Mapping[str, Sequence[StripPlan]], folder: Path
) -> list[Path]:
    """Draw the strips of a job, size by size, all files or none; their paths."""
    return _write(render_bands(job_name, plans), folder, "bands", job_name)


def write_nest(job: Job, folder: Path) -> list[Path]:
    """Draw the pieces in all their sizes, all files or none; their paths."""
    return _write(render_nest(job), folder, "nest", job.name)


def write_garments(folder: Path) -> list[Path]:
    """Draw the garments that can be drafted, all files or none; their paths."""
    return _write(render_garments(), folder, "garments", "garments")


def demand_own_width_plot(folder: Path) -> None:
    """Raise FaultyInput before widths are compared where a person's file stands in their way."""
    OwnFiles(folder).demand_own([f"{_WIDTHS}.{kind}" for kind in ("pdf", "png", "svg")], _WIDTHS)


def write_width_plot(found: WidthsResult, folder: Path) -> list[Path]:
    """Plot the cloth to buy against its width, all files or none; their paths."""
    from marker.drawing.width_plot import render_width_plot  # it loads all that searches

    return _write(render_width_plot(found), folder, _WIDTHS, found.job_name)


def _write(drawn: Contents, folder: Path, stem: str, job_name: str) -> list[Path]:
    """An earlier drawing of other pages goes: nobody should cut by one of them."""
    own = OwnFiles(folder)
    pages = re.compile(stem + r"(-\d+)?\.(pdf|png|svg)")
    own.replace(drawn, stem, gone=own.there(pages.fullmatch), name=job_name)
    return [folder / name for name in drawn]
