"""The lays of an order: each one's layout and diagram, and the tickets to cut by."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from marker.drawing.diagram.diagram import render_diagram
from marker.drawing.scene.lay_scene import lay_scene
from marker.exchange.layout_json import layout_text
from marker.exchange.layout_tables import LayoutTable
from marker.files.own_files import OwnFiles
from marker.job import Job
from marker.outputs.folders import prefixes
from marker.planning.laid_cloth import laid_cloth
from marker.planning.order import LaidPlan


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
