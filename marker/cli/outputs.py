"""The files that `marker lay` and `marker bands` write: layouts, and drawings to cut by."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from marker.drawing.bands.band_pages import render_bands
from marker.drawing.diagram.diagram import render_diagram
from marker.drawing.layout_files import drawn_files
from marker.drawing.nest import render_nest
from marker.drawing.scene.layout_scene import build_scene
from marker.drawing.width_plot import render_width_plot
from marker.exchange.layout_json import layout_text
from marker.exchange.layout_tables import LayoutTable
from marker.files.writing import write_together
from marker.job import Job
from marker.pattern.bands.strip_plan import StripPlan
from marker.planning.laid_cloth import LaidCloth, laid_cloth
from marker.planning.lay import LaidJob
from marker.planning.order import LaidPlan
from marker.planning.widths import WidthsResult
from marker.reports.layout import LaidReport


def write_outputs(laid: LaidJob, job_path: Path, folder: Path) -> list[LaidReport]:
    """Write all files, or none; the report of each layout."""
    contents: dict[Path, bytes | str] = {}
    reports = []
    prefixes = _prefixes([each.name for each in laid.cloths])
    for each, prefix in zip(laid.cloths, prefixes, strict=True):
        path = folder / f"{prefix}layout.json"
        table = LayoutTable.of(each.checked, each.purchase).on_hand(each.fit, each.leftovers)
        table = table.with_others(_together(each, laid.cloths, prefixes))
        own: dict[Path, bytes | str] = {path: layout_text(table, path, job_path, laid.job)}
        drawn = drawn_files(each, laid.job)
        own |= {folder / f"{prefix}{name}": content for name, content in drawn.items()}
        contents |= own
        reports.append(LaidReport(each, table, tuple(own)))
    write_together(contents)
    for prefix in prefixes:
        _remove_old_pages(folder, f"{prefix}diagram", contents)
    return reports


def _together(laid: LaidCloth, every: Sequence[LaidCloth], prefixes: Sequence[str]) -> list[str]:
    """Names of the layout files of all remnants of this cloth; none where it is no remnant."""
    cloth = laid.checked.layout.cloth
    if cloth.remnant is None:
        return []
    return [
        f"{prefix}layout.json"
        for each, prefix in zip(every, prefixes, strict=True)
        if each.checked.layout.cloth.name == cloth.name
    ]


def write_lays(
    plans: Sequence[LaidPlan], job: Job, job_path: Path, folder: Path, tickets: str
) -> list[Path]:
    """Write each lay's layout and diagram, and the tickets, all files or none; their paths."""
    contents: dict[Path, bytes | str] = {folder / "tickets.txt": tickets}
    for plan, prefix in zip(plans, _prefixes([plan.cloth.name for plan in plans]), strict=True):
        for each in plan.lays:
            laid = laid_cloth(each.marker)
            path = folder / f"{prefix}lay-{each.number}-layout.json"
            garments = dict(Counter(each.marker.garments))  # in the order of their numbers
            table = LayoutTable.of(each.marker, laid.purchase).of_lay(each.lay.height, garments)
            contents[path] = layout_text(table, path, job_path, job.with_order(garments))
            scene = build_scene(each.marker, laid.purchase, laid.leftovers)
            for name, content in render_diagram(scene).items():
                contents[folder / f"{prefix}lay-{each.number}-{name}"] = content
    write_together(contents)
    _remove_old_lays(folder, contents)
    return list(contents)


def _remove_old_lays(folder: Path, written: Iterable[Path]) -> None:
    """Lays of an earlier plan go: nobody should cut by one of them."""
    lay = re.compile(r"(.+-)?lay-\d+-(layout\.json|diagram(-\d+)?\.(png|svg|pdf))")
    for path in set(folder.iterdir()) - set(written):
        if lay.fullmatch(path.name) and path.is_file():
            path.unlink()


def write_bands(
    job_name: str, plans: Mapping[str, Sequence[StripPlan]], folder: Path
) -> list[Path]:
    """Draw the strips of a job, size by size, all files or none; their paths."""
    contents: dict[Path, bytes | str] = {}
    for name, content in render_bands(job_name, plans).items():
        contents[folder / name] = content
    write_together(contents)
    _remove_old_pages(folder, "bands", contents)
    return list(contents)


def write_nest(job: Job, folder: Path) -> list[Path]:
    """Draw the pieces in all their sizes, all files or none; their paths."""
    contents: dict[Path, bytes | str] = {
        folder / name: content for name, content in render_nest(job).items()
    }
    write_together(contents)
    _remove_old_pages(folder, "nest", contents)
    return list(contents)


def write_width_plot(found: WidthsResult, folder: Path) -> list[Path]:
    """Plot the cloth to buy against its width, all files or none; their paths."""
    drawn = render_width_plot(found)
    contents: dict[Path, bytes | str] = {folder / name: drawn[name] for name in drawn}
    write_together(contents)
    return list(contents)


def _remove_old_pages(folder: Path, stem: str, written: Iterable[Path]) -> None:
    """An earlier drawing of other pages goes: nobody should cut by one of them."""
    page = re.compile(re.escape(stem) + r"(-\d+)?\.(png|svg)")
    for path in set(folder.iterdir()) - set(written):
        if page.fullmatch(path.name) and path.is_file():
            path.unlink()


def _prefixes(cloths: Sequence[str]) -> list[str]:
    """What the file names of each cloth begin with: nothing for the first, then the cloth's name,
    numbered where two names differ only in what a file name can't show."""
    slugs = [slug(name) for name in cloths[1:]]
    numbered = [
        slug if slug not in slugs[:k] else f"{slug}_{k + 2}" for k, slug in enumerate(slugs)
    ]
    return ["", *(f"{slug}-" for slug in numbered)]


def slug(name: str) -> str:
    """A name as a plain file name."""
    return re.sub(r"[^\w-]+", "-", name.lower()).strip("-") or "job"
