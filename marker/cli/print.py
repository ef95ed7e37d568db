"""`marker print`: full-size pages of a stored layout, or of single pieces of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from marker.cli.shell import as_json, exits_plainly, print_json

if TYPE_CHECKING:
    from collections.abc import Sequence

    from marker.drawing.pages.full_size import FullSize
    from marker.drawing.pages.paper import Paper
    from marker.layout import CheckedLayout


def _paper(_ctx: click.Context, _param: click.Parameter, text: str) -> Paper:
    from marker.drawing.pages.paper import NotAPaper, paper_named

    try:
        return paper_named(text)
    except NotAPaper as error:
        raise click.BadParameter(str(error)) from error


@click.command(name="print")
@click.argument("layout", type=click.Path(path_type=Path))
@click.option(
    "--paper",
    callback=_paper,
    required=True,
    metavar="PAPER",
    help="a4, a3, letter, a0, a roll by its width as in roll:900mm, or projector.",
)
@click.option(
    "--piece",
    "names",
    multiple=True,
    metavar="NAME",
    help="Only this piece, once, by itself; may be given several times.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="PDF to write; beside the layout and named after the paper unless given.",
)
@as_json
@exits_plainly
def print_pages(
    layout: Path, paper: Paper, names: tuple[str, ...], out: Path | None, as_json: bool
) -> None:
    """Draw a stored LAYOUT.json full size on pages to be joined, as a PDF true to scale.

    The layout is judged again first. Pages that no line crosses are left out. Pieces on the fold
    are drawn whole.
    """
    from marker.cli.outputs import slug
    from marker.cli.stored import checked_again
    from marker.drawing.pages.full_size import plan_full_size
    from marker.drawing.pages.full_size_pdf import render_full_size
    from marker.files.writing import write_atomically

    _, checked = checked_again(layout)
    planned = [plan_full_size(scene, paper, title) for title, scene in _scenes(checked, names)]
    path = out or layout.parent / f"print-{slug('-'.join([paper.name, *names]))}.pdf"
    write_atomically(path, render_full_size(planned))
    if as_json:
        print_json({"file": str(path), "paper": paper.name, "sets": list(map(_facts, planned))})
        return
    click.echo("\n".join(_lines(planned)) + f"\n  wrote  {path}")


def _scenes(checked: CheckedLayout, names: Sequence[str]) -> list[tuple[str, Any]]:
    """What is printed, each with its title."""
    from marker.cloth.buying import purchase
    from marker.drawing.scene.layout_scene import build_scene
    from marker.drawing.scene.single_pieces import single_scenes

    layout = checked.layout
    buy = purchase(layout.length_mm, layout.cloth)
    known = [piece.name for piece in checked.cut_pieces]
    strange = [name for name in names if name not in known]
    if strange:
        raise click.UsageError(
            f"no piece is called {strange[0]!r}; on {layout.cloth.name} there are: "
            + ", ".join(known)
        )
    if not names:
        return [("whole layout", build_scene(checked, buy))]
    scenes = single_scenes(checked, buy, names)
    return [(f"{s.pieces[0].name}, size {s.pieces[0].size}", s) for s in scenes]


def _facts(full: FullSize) -> dict[str, Any]:
    width, height = full.tiling.tile(0, 0).paper
    return {
        "title": full.title,
        "pages": full.pages,
        "page_mm": [round(width, 1), round(height, 1)],
        "rows": full.tiling.rows,
        "columns": full.tiling.columns,
        "printed": [tile.name for tile in full.printed],
        "left_out": [tile.name for tile in full.empty],
    }


def _lines(planned: Sequence[FullSize]) -> list[str]:
    from marker.units import metric
    from marker.words import counted

    lines = []
    for full in planned:
        width, height = full.tiling.tile(0, 0).paper
        lines.append(
            f"{full.scene.job_name}, {full.title}: {counted(full.pages, 'page')} of "
            f"{metric(width)} × {metric(height)}, {full.tiling.rows} × {full.tiling.columns} joined"
        )
        if full.empty:
            lines.append("  left out, nothing on them: " + ", ".join(t.name for t in full.empty))
    return [
        *lines,
        "  Print at 100 % and measure the 10 cm and 1 in squares of the first page, both ways, "
        "before you cut.",
    ]
