"""`marker export`: layouts and patterns in formats that other programs and plotters read."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli.shell import as_json, exits_plainly, print_json, say

if TYPE_CHECKING:
    from marker.exchange.laid_flat import Sheet
    from marker.job import Job

BY = "export"
_SUFFIX = {"dxf": ".dxf", "svg": ".svg", "pdf": ".pdf", "hpgl": ".plt"}


@click.command()
@click.argument("source", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "kind",
    type=click.Choice(list(_SUFFIX)),
    required=True,
    help="DXF by ASTM D6673, SVG or PDF at full size, or pen-plotter text (HP-GL/2).",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder to write to; that of the layout, or outputs/ and the name of the job.",
)
@click.option(
    "--rules",
    is_flag=True,
    help="Of a job as DXF, its sample size, and its other sizes as a file of grade rules (.rul).",
)
@as_json
@exits_plainly
def export(source: Path, kind: str, out: Path | None, rules: bool, as_json: bool) -> None:
    """Write a LAYOUT.json, judged again, or the pieces of a JOB.toml at full size for others.

    A layout is written as it lies, a job's pieces side by side, as cut, in every size.
    """
    from marker.cli.shell import read_shown
    from marker.exchange.laid_flat import pattern_sheet
    from marker.files.own_files import OwnFiles
    from marker.files.writing import output_folder
    from marker.outputs.folders import job_folder
    from marker.reports.facts import to_json
    from marker.reports.handed_on import export_report

    is_layout = source.suffix.lower() == ".json"
    if rules and (is_layout or kind != "dxf"):
        raise click.UsageError("--rules goes with a job and --to dxf")
    others: dict[str, bytes | str] = {}
    if is_layout:
        sheet, folder, stem = _judged(source), source.parent, source.stem
    else:
        job = read_shown(source)
        folder, stem = job_folder(job.name), "pieces"
        sheet, others = _graded(job) if rules else (pattern_sheet(job), {})
    texts = {_SUFFIX[kind]: _written(sheet, kind)} | others
    with output_folder(out or folder) as folder:
        OwnFiles(folder).replace({f"{stem}{suffix}": text for suffix, text in texts.items()}, BY)
    written = [folder / f"{stem}{suffix}" for suffix in texts]
    if as_json:
        print_json(to_json(export_report(sheet, written)))
    else:
        say("\n".join(f"wrote  {path}" for path in written))


def _judged(path: Path) -> Sheet:
    """A stored layout that has passed the judge."""
    from marker.cli.stored import checked_again
    from marker.exchange.laid_flat import layout_sheet

    _, checked = checked_again(path)
    return layout_sheet(checked)


def _graded(job: Job) -> tuple[Sheet, dict[str, bytes | str]]:
    """The sample size, and by its suffix the file of rules that goes with it."""
    from datetime import datetime

    from marker.exchange.dxf.grading import graded_sheet
    from marker.exchange.dxf.rule_file import SUFFIX, rules_text

    sheet, rules = graded_sheet(job)
    return sheet, {SUFFIX: rules_text(rules, datetime.now())}


def _written(sheet: Sheet, kind: str) -> bytes | str:
    from datetime import datetime

    from marker.exchange.dxf.dxf_text import dxf_text
    from marker.exchange.pdf.pattern_pdf import pattern_pdf
    from marker.exchange.plotter import plotter_text
    from marker.exchange.svg.svg_text import svg_text

    match kind:
        case "dxf":
            return dxf_text(sheet, datetime.now())
        case "svg":
            return svg_text(sheet)
        case "pdf":
            return pattern_pdf(sheet)
        case _:
            return plotter_text(sheet)
