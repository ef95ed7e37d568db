"""`marker export`: layouts and patterns in formats that other programs and plotters read."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli.shell import as_json, exits_plainly, print_json

if TYPE_CHECKING:
    from marker.files.laid_flat import Sheet

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
@as_json
@exits_plainly
def export(source: Path, kind: str, out: Path | None, as_json: bool) -> None:
    """Write a LAYOUT.json, judged again, or the pieces of a JOB.toml at full size for others.

    A layout is written as it lies, a job's pieces side by side, as cut, in every size.
    """
    from marker.cli.outputs import slug
    from marker.files.job import read_job
    from marker.files.laid_flat import pattern_sheet
    from marker.files.writing import output_folder, write_atomically

    if source.suffix.lower() == ".json":
        sheet, folder, stem = _judged(source), source.parent, source.stem
    else:
        job = read_job(source)
        sheet, folder, stem = pattern_sheet(job), Path("outputs") / slug(job.name), "pieces"
    content = _written(sheet, kind)
    with output_folder(out or folder) as folder:
        path = folder / f"{stem}{_SUFFIX[kind]}"
        write_atomically(path, content)
    if as_json:
        print_json(
            {
                "file": str(path),
                "pieces": len(sheet.pieces),
                "width_mm": round(sheet.width_mm, 2),
                "height_mm": round(sheet.height_mm, 2),
            }
        )
    else:
        click.echo(f"wrote  {path}")


def _judged(path: Path) -> Sheet:
    """A stored layout that has passed the judge."""
    from marker.cli.stored import checked_again
    from marker.files.laid_flat import layout_sheet

    _, checked = checked_again(path)
    return layout_sheet(checked)


def _written(sheet: Sheet, kind: str) -> bytes | str:
    from datetime import datetime

    from marker.files.dxf_writing import dxf_text
    from marker.files.pdf_writing import pdf_bytes
    from marker.files.plotter import plotter_text
    from marker.files.svg_writing import svg_text

    match kind:
        case "dxf":
            return dxf_text(sheet, datetime.now())
        case "svg":
            return svg_text(sheet)
        case "pdf":
            return pdf_bytes(sheet)
        case _:
            return plotter_text(sheet)
