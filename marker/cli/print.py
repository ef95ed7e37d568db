"""`marker print`: full-size pages of a stored layout, or of single pieces of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli.shell import as_json, exits_plainly, print_json, say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from marker.drawing.pages.full_size import FullSize
    from marker.drawing.pages.paper import Paper
    from marker.reports.handed_on import PageSet


_OF_MARKS = ("a4", "letter")


def _paper(_ctx: click.Context, _param: click.Parameter, text: str) -> Paper:
    from marker.drawing.pages.paper import NotAPaper, paper_named

    try:
        return paper_named(text)
    except NotAPaper as error:
        raise click.BadParameter(str(error)) from error


def _sizes(_ctx: click.Context, _param: click.Parameter, text: str | None) -> tuple[str, ...]:
    from marker.drawing.signs import SIZE_DASHES

    sizes = tuple(dict.fromkeys(filter(None, map(str.strip, (text or "").split(",")))))
    if text is not None and not sizes:
        raise click.BadParameter("it names no size; write them as in --sizes 36,38")
    if len(sizes) > len(SIZE_DASHES):
        raise click.BadParameter(
            f"{len(sizes)} sizes can't be told apart by their lines; name at most "
            f"{len(SIZE_DASHES)}"
        )
    return sizes


@click.command(name="print")
@click.argument("layout", required=False, type=click.Path(path_type=Path))
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
    "--half",
    "halves",
    is_flag=True,
    help="Every piece once, those on the fold as one half with the edge to place on the fold.",
)
@click.option(
    "--sizes",
    callback=_sizes,
    metavar="SIZES",
    help="Every piece once in these sizes, nested, each in lines of its own: 36,38,40.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="PDF to write; beside the layout and named after the paper unless given.",
)
@click.option(
    "--reference",
    is_flag=True,
    help="No layout but sheets of markers, to lay beside pieces that are photographed for "
    "`marker import --reference marks`.",
)
@as_json
@exits_plainly
def print_pages(
    layout: Path | None,
    paper: Paper,
    names: tuple[str, ...],
    halves: bool,
    sizes: tuple[str, ...],
    out: Path | None,
    reference: bool,
    as_json: bool,
) -> None:
    """Draw a stored LAYOUT.json full size on pages to be joined, as a PDF true to scale.

    The layout is judged again first. Curves are drawn to within 0.05 mm. Pages that carry nothing
    are left out. Pieces on the fold are drawn whole, unless halves are asked for.
    """
    if reference == (layout is not None):
        raise click.UsageError("Give a LAYOUT.json, or --reference.")
    if layout is None:
        _print_reference(paper, out or Path(f"reference-{paper.name}.pdf"), as_json)
    else:
        _print_layout(layout, paper, names, halves, sizes, out, as_json)


def _print_reference(paper: Paper, path: Path, as_json: bool) -> None:
    """Sheets of markers, one a page."""
    from marker.errors import Fault, FaultyInput
    from marker.exchange.photo.marks_sheet import SHEETS, sheets_pdf
    from marker.files.faults import Unusable
    from marker.files.own_files import write_own

    if paper.name not in _OF_MARKS:
        raise click.UsageError(f"sheets of markers are printed on {' or '.join(_OF_MARKS)}")
    try:
        content = sheets_pdf((paper.width_mm, paper.height_mm))
    except Unusable as fault:
        raise FaultyInput([Fault("--reference", fault.problem, fault.remedy)]) from fault
    write_own(path, content, "print")
    if as_json:
        print_json({"file": str(path), "paper": paper.name, "pages": SHEETS})
        return
    say(f"wrote  {path}: {SHEETS} sheets of markers, to be printed at 100 %")
    say("Measure the line on one of them, then lay one among the pieces, or four around them")


def _print_layout(
    layout: Path,
    paper: Paper,
    names: tuple[str, ...],
    halves: bool,
    sizes: tuple[str, ...],
    out: Path | None,
    as_json: bool,
) -> None:
    from marker.cli.stored import checked_again
    from marker.drawing.pages.full_size_pdf import render_full_size
    from marker.files.own_files import write_own
    from marker.outputs.folders import slug
    from marker.outputs.full_size import PrintRequest, planned_full_size
    from marker.reports.facts import to_json
    from marker.reports.handed_on import PrintReport, print_lines

    found, checked = checked_again(layout)
    known = list(dict.fromkeys(piece.name for piece in checked.cut_pieces))
    request = PrintRequest(
        paper,
        _named("--piece", f"piece of {checked.layout.cloth.name}", names, known),
        halves,
        _named("--sizes", "size", sizes, found.job.sizes),
    )
    planned = planned_full_size(checked, found.job, found.job_path, request)
    parts = [paper.name, *names, *(["half"] if halves else []), *sizes]
    beside = layout.stem.removesuffix("layout")  # 'rib-' of rib-layout.json
    path = out or layout.parent / f"{beside}print-{slug('-'.join(parts))}.pdf"
    write_own(path, render_full_size(planned), "print")
    report = PrintReport(path, paper.name, tuple(map(_page_set, planned)))
    if as_json:
        print_json(to_json(report))
    else:
        say("\n".join(print_lines(report, checked.layout.job_name)))


def _named(option: str, kind: str, words: Sequence[str], known: Sequence[str]) -> tuple[str, ...]:
    """What is meant by each word; raises UsageError for one that is not known."""
    from marker.files.faults import Unusable
    from marker.words import spelled_as

    meant = []
    for word in words:
        own = spelled_as(word, known)
        if own is None:
            raise click.UsageError(f"{option}: {Unusable.unknown(kind, word, known)}")
        meant.append(own)
    return tuple(meant)


def _page_set(full: FullSize) -> PageSet:
    from marker.reports.handed_on import PageSet

    return PageSet(
        title=full.title,
        pages=full.pages,
        page_mm=full.tiling.tile(0, 0).paper,
        rows=full.tiling.rows,
        columns=full.tiling.columns,
        printed=tuple(tile.name for tile in full.printed),
        left_out=tuple(tile.name for tile in full.empty),
    )
