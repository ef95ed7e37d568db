"""The lays of an order: a file for each, the layouts and diagrams of their markers, the plan."""

from __future__ import annotations

import re
import tempfile
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

from marker.drawing.layout_files import lay_files
from marker.exchange.layout_json import layout_text
from marker.exchange.layout_tables import LayoutTable
from marker.files.own_files import OwnFiles
from marker.job import Job
from marker.outputs.folders import cloth_starts, prefixes
from marker.planning.laid_cloth import laid_cloth
from marker.planning.laid_plan import LaidPlan
from marker.reports.lays import SharedMarker, plan_csv, shared_markers, to_buy_csv

BY, PLAN, TO_BUY = "order", "plan.csv", "to-buy.csv"
_FIRST = ("lay-1.pdf", "marker-A-layout.json")
"""What every order writes of each cloth."""
_OURS = re.compile(
    r"to-buy\.csv|(.+-)?(lay-\d+\.pdf|marker-[A-Z]+-(layout\.json|diagram(-\d+)?\.(png|svg|pdf)))"
)


def demand_own_lays(job: Job, folder: Path) -> None:
    """Raise FaultyInput before lays are planned where they would end at a person's file."""
    first = [f"{start}{name}" for start in cloth_starts(job).values() for name in _FIRST]
    OwnFiles(folder).demand_own([PLAN, TO_BUY, *first], BY)


def lay_drawings(plans: Sequence[LaidPlan], job: Job) -> dict[str, bytes]:
    """File name -> contents of each lay's sheet and each marker's diagram. Nothing is written."""
    return {
        f"{prefix}{name}": content
        for plan, prefix in _prefixed(plans)
        for shared in shared_markers(plan)
        for name, content in lay_files(plan, shared, job)
    }


def write_lays(
    plans: Sequence[LaidPlan], job: Job, job_path: Path, folder: Path, drawn: Mapping[str, bytes]
) -> list[Path]:
    """Write the plan, each marker's layout and what is drawn of them, all files or none; their
    paths. Lays of an earlier plan go: nobody should cut by one of them."""
    contents: dict[str, bytes | str] = {PLAN: plan_csv(plans)}
    if to_buy := to_buy_csv(plans):
        contents[TO_BUY] = to_buy
    for plan, prefix in _prefixed(plans):
        for shared in shared_markers(plan):
            path = folder / f"{prefix}marker-{shared.letter}-layout.json"
            contents[path.name] = _layout(shared, job, job_path, path)
    contents |= drawn
    own = OwnFiles(folder)
    own.replace(contents, BY, gone=own.there(_OURS.fullmatch), name=job.name)
    return [folder / name for name in contents]


def rescue_lays(plans: Sequence[LaidPlan], job: Job, job_path: Path) -> Path:
    """Keep a plan and its markers, which their own folder can't take, in one of the system's
    temporary folders; that folder. Raises OSError or FaultyInput."""
    folder = Path(tempfile.mkdtemp(prefix="marker-order-"))
    write_lays(plans, job, job_path, folder, {})
    return folder


def _prefixed(plans: Sequence[LaidPlan]) -> list[tuple[LaidPlan, str]]:
    """The plan of each cloth, and what the names of its files begin with."""
    return list(zip(plans, prefixes([plan.cloth.name for plan in plans]), strict=True))


def _layout(shared: SharedMarker, job: Job, job_path: Path, path: Path) -> str:
    plies = sum(laid.lay.height for laid in shared.lays)
    garments = dict(Counter(shared.checked.garments))  # in the order of their numbers
    bought = laid_cloth(shared.checked).purchase
    table = LayoutTable.of(shared.checked, bought).of_lay(plies, garments)
    return layout_text(table, path, job_path, job.with_order(garments))
