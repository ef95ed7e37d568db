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
    from marker.reports.full_size import PageSet


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
    from marker.cli.stored import checked_again
    from marker.drawing.pages.full_size import plan_full_size
    from marker.drawing.pages.full_size_pdf import render_full_size
    from marker.files.own_files import write_own
    from marker.outputs.folders import slug
    from marker.reports.facts import to_json
    from marker.reports.full_size import PrintReport, print_lines

    _, checked = checked_again(layout)
    planned = [plan_full_size(scene, paper, title) for title, scene in _scenes(checked, names)]
    path = out or layout.parent / f"print-{slug('-'.join([paper.name, *names]))}.pdf"
    write_own(path, render_full_size(planned), "print")
    report = PrintReport(path, paper.name, tuple(map(_page_set, planned)))
    if as_json:
        print_json(to_json(report))
    else:
        click.echo("\n".join(print_lines(report, checked.layout.job_name)))


def _scenes(checked: CheckedLayout, names: Sequence[str]) -> list[tuple[str, Any]]:
    """What is printed, each with its title."""
    from marker.drawing.scene.layout_scene import build_scene
    from marker.drawing.scene.single_pieces import single_scenes
    from marker.layout.bought import purchase_for
    from marker.words import spelled_as

    layout = checked.layout
    buy = purchase_for(checked)
    known = list(dict.fromkeys(piece.name for piece in checked.cut_pieces))
    meant = [spelled_as(name, known) for name in names]
    strange = [name for name, own in zip(names, meant, strict=True) if own is None]
    if strange:
        raise click.UsageError(
            f"no piece is called {strange[0]!r}; on {layout.cloth.name} there are: "
            + ", ".join(known)
        )
    if not names:
        return [("whole layout", build_scene(checked, buy))]
    scenes = single_scenes(checked, buy, [own for own in meant if own is not None])
    return [(f"{s.pieces[0].name}, size {s.pieces[0].size}", s) for s in scenes]


def _page_set(full: FullSize) -> PageSet:
    from marker.reports.full_size import PageSet

    return PageSet(
        title=full.title,
        pages=full.pages,
        page_mm=full.tiling.tile(0, 0).paper,
        rows=full.tiling.rows,
        columns=full.tiling.columns,
        printed=tuple(tile.name for tile in full.printed),
        left_out=tuple(tile.name for tile in full.empty),
    )
