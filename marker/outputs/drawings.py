"""Files that hold no layout of a job: bands, sizes, widths, and the lays of an order."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

from marker.drawing.bands.band_pages import render_bands
from marker.drawing.diagram.diagram import render_diagram
from marker.drawing.nest import render_nest
from marker.drawing.scene.lay_scene import lay_scene
from marker.drawing.width_plot import render_width_plot
from marker.exchange.layout_json import layout_text
from marker.exchange.layout_tables import LayoutTable
from marker.files.own_files import Contents, OwnFiles
from marker.job import Job
from marker.outputs.folders import prefixes
from marker.pattern.bands.strip_plan import StripPlan
from marker.planning.laid_cloth import laid_cloth
from marker.planning.order import LaidPlan
from marker.planning.widths import WidthsResult


def write_bands(
    job_name: str, plans: Mapping[str, Sequence[StripPlan]], folder: Path
) -> list[Path]:
    """Draw the strips of a job, size by size, all files or none; their paths."""
    return _write(render_bands(job_name, plans), folder, "bands", job_name)


def write_nest(job: Job, folder: Path) -> list[Path]:
    """Draw the pieces in all their sizes, all files or none; their paths."""
    return _write(render_nest(job), folder, "nest", job.name)


def write_width_plot(found: WidthsResult, folder: Path) -> list[Path]:
    """Plot the cloth to buy against its width, all files or none; their paths."""
    return _write(render_width_plot(found), folder, "buy", found.job_name)


def _write(drawn: Contents, folder: Path, stem: str, job_name: str) -> list[Path]:
    """An earlier drawing of other pages goes: nobody should cut by one of them."""
    own = OwnFiles(folder)
    pages = re.compile(stem + r"(-\d+)?\.(pdf|png|svg)")
    own.replace(drawn, stem, gone=own.there(pages.fullmatch), name=job_name)
    return [folder / name for name in drawn]


def write_lays(
    plans: Sequence[LaidPlan], job: Job, job_path: Path, folder: Path, tickets: str
) -> list[Path]:
    """Write each lay's layout and diagram, and the tickets, all files or none; their paths. Lays of
    an earlier plan go: nobody should cut by one of them."""
    contents: dict[str, bytes | str] = {"tickets.txt": tickets}
    for plan, prefix in zip(plans, prefixes([plan.cloth.name for plan in plans]), strict=True):
        for each in plan.lays:
            laid = laid_cloth(each.marker)
            start = f"{prefix}lay-{each.number}-"
            garments = dict(Counter(each.marker.garments))  # in the order of their numbers
            table = LayoutTable.of(each.marker, laid.purchase).of_lay(each.lay.height, garments)
            path = folder / f"{start}layout.json"
            contents[path.name] = layout_text(table, path, job_path, job.with_order(garments))
            for name, content in render_diagram(lay_scene(each, len(plan.lays))).items():
                contents[f"{start}{name}"] = content
    own = OwnFiles(folder)
    lays = re.compile(r"(.+-)?lay-\d+-(layout\.json|diagram(-\d+)?\.(png|svg|pdf))")
    own.replace(contents, "order", gone=own.there(lays.fullmatch), name=job.name)
    return [folder / name for name in contents]
