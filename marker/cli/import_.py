"""`marker import`: pattern drawings made elsewhere as a job."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli.shell import as_json, exits_plainly, length_option, print_json, say

_LAST_PAGE = 9_999

if TYPE_CHECKING:
    from collections.abc import Sequence

    from marker.exchange.photo.import_photos import Edge
    from marker.exchange.photo.reference import Reference
    from marker.exchange.scale import Scale


def _units(_ctx: click.Context, _param: click.Parameter, text: str | None) -> float | None:
    return None if text is None else _unit_mm(text)


def _unit_mm(text: str) -> float:
    """Millimetres of 'mm' or '1/96 in'."""
    from marker.files.values import unit_mm
    from marker.units import NotALength

    try:
        mm = unit_mm(text.strip())
    except NotALength as error:
        raise click.BadParameter(str(error)) from error
    if not 1e-4 <= mm <= 1e4:
        raise click.BadParameter(f"a unit of {text!r} is absurd")
    return mm


def _join(_ctx: click.Context, _param: click.Parameter, text: str | None) -> float:
    """How near ends are that meet, mm."""
    from marker.exchange.contours import JOIN_MM, WIDEST_GAP_MM
    from marker.units import NotALength, parse_length

    try:
        mm = JOIN_MM if text is None else parse_length(text)
    except NotALength as error:
        raise click.BadParameter(str(error)) from error
    if not 0 < mm <= WIDEST_GAP_MM:
        raise click.BadParameter(f"{text!r} is not between 0 and {WIDEST_GAP_MM:g} mm")
    return mm


def _pages(_ctx: click.Context, _param: click.Parameter, text: str | None) -> tuple[int, ...]:
    """(3, 4, 5, 9) of '3-5,9'."""
    numbers: list[int] = []
    for part in text.split(",") if text else []:
        first, _, last = part.partition("-")
        try:
            low, high = int(first), int(last or first)
        except ValueError as error:
            raise click.BadParameter(f"{part!r} is no page; write 3-14,16") from error
        if not 1 <= low <= high <= _LAST_PAGE:
            raise click.BadParameter(f"{part!r} is no run of pages; they count from 1")
        numbers += range(low, high + 1)
    return tuple(dict.fromkeys(numbers))


def _grid(_ctx: click.Context, _param: click.Parameter, text: str | None) -> tuple[int, int] | None:
    """(3, 4) of '3x4'."""
    if text is None:
        return None
    columns, _, rows = text.lower().partition("x")
    if not (columns.isdecimal() and rows.isdecimal() and int(columns) and int(rows)):
        raise click.BadParameter(f"{text!r} is no number of columns and rows; write 3x4")
    return int(columns), int(rows)


def _reference(_ctx: click.Context, _param: click.Parameter, text: str | None) -> Reference | None:
    from marker.exchange.photo.reference import NotAReference, reference_named

    try:
        return None if text is None else reference_named(text)
    except NotAReference as error:
        raise click.BadParameter(str(error)) from error


def _edges(
    _ctx: click.Context, _param: click.Parameter, texts: tuple[str, ...]
) -> tuple[Edge, ...]:
    """((2, 3),) of ('2.3',)."""
    found = []
    for text in texts:
        piece, _, edge = text.partition(".")
        if not (piece.isdecimal() and edge.isdecimal() and len(text) < 10):
            raise click.BadParameter(f"{text!r} is no edge; write piece and edge, such as 2.3")
        found.append((int(piece), int(edge)))
    return tuple(found)


def _names(_ctx: click.Context, _param: click.Parameter, text: str | None) -> tuple[str, ...]:
    names = tuple(name.strip() for name in text.split(",")) if text else ()
    if not all(names):
        raise click.BadParameter("a name is empty; write them like front,back,sleeve")
    return names


@click.command(name="import")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    required=True,
    help="Folder to write the job and its drawing to.",
)
@click.option(
    "--units",
    callback=_units,
    metavar="mm|cm|in|LENGTH",
    help="What one unit of the drawings measures, where they do not say it or say it wrongly.",
)
@click.option("--size", help="The one size to import; all of them unless given.")
@click.option(
    "--join",
    callback=_join,
    metavar="LENGTH",
    help="Join ends of lines that lie this near to one another; 0.1 mm unless given.",
)
@length_option(
    "--width", "Width of the cloth from edge to edge; to be filled in unless the files say it."
)
@click.option(
    "--nap",
    type=click.Choice(["either way", "one way", "one way per garment"]),
    help="Which way pieces may point on the cloth; asked for unless the files say it.",
)
@click.option(
    "--pages", callback=_pages, metavar="PAGES", help="Pages of a PDF to read, such as 3-14,16."
)
@click.option(
    "--tiles",
    callback=_grid,
    metavar="COLUMNSxROWS",
    help="How the pages of a PDF lie, row by row from the top left; found out unless given.",
)
@click.option(
    "--layer", "layers", multiple=True, help="Layer of a PDF to read; once for each (default: all)."
)
@click.option(
    "--colour",
    "--color",
    "colours",
    multiple=True,
    help="Line colour of a PDF to read, such as '#000000'.",
)
@click.option(
    "--dashes",
    multiple=True,
    help="Dashes of a PDF's lines to read, in mm, such as 3-1.5, or none.",
)
@click.option(
    "--reference",
    callback=_reference,
    metavar="a4|letter|marks|LENGTH",
    help="The files are photos or scans, with this in them: a sheet of paper, sheets of `marker "
    "print --reference`, or a square such as '10 cm'.",
)
@click.option(
    "--lines",
    is_flag=True,
    help="The pieces of photos are drawn as dark lines; else they are cut out.",
)
@click.option(
    "--scan",
    is_flag=True,
    help="The pictures come from a scanner, without a lens, as those of PDFs do.",
)
@click.option(
    "--names",
    callback=_names,
    metavar="NAME,NAME",
    help="Names of the pieces in photos, in the order of their numbers.",
)
@click.option(
    "--fold",
    "folds",
    multiple=True,
    callback=_edges,
    metavar="PIECE.EDGE",
    help="An edge on the fold, as numbered in the picture with what was found, such as 2.3.",
)
@click.option(
    "--grain",
    "grains",
    multiple=True,
    callback=_edges,
    metavar="PIECE.EDGE",
    help="An edge that the grain runs along, as numbered there; where no arrow is drawn.",
)
@as_json
@exits_plainly
def import_(
    files: tuple[Path, ...],
    out: Path,
    units: float | None,
    size: str | None,
    join: float,
    width: float | None,
    nap: str | None,
    pages: tuple[int, ...],
    tiles: tuple[int, int] | None,
    layers: tuple[str, ...],
    colours: tuple[str, ...],
    dashes: tuple[str, ...],
    reference: Reference | None,
    lines: bool,
    scan: bool,
    names: tuple[str, ...],
    folds: tuple[Edge, ...],
    grains: tuple[Edge, ...],
    as_json: bool,
) -> None:
    """Make a job of the pattern pieces in FILES (SVG, PDF, or DXF by ASTM D6673 or plain).

    With --reference, FILES are photos, scans or PDFs of scans. Lay the pieces apart, flat, on a
    ground of another colour, the reference among them, and photograph from above. Several photos
    of one large piece are joined where they show the same sheets of `marker print --reference`. A
    red line along a straight edge marks the fold, a dark arrow the grain. A picture for each photo
    shows what was found.

    Of a DXF in its sample size alone, name the grade-rule file (.rul) too. Pages of a tiled PDF are
    put together by the lines that run on from one to the next.

    It lists what was read, what was passed over, and each piece's measures to check the scale by.
    """
    from marker.cloth.fabric import Nap
    from marker.errors import Fault, FaultyInput
    from marker.exchange.cloth_facts import ClothFacts
    from marker.exchange.importing import Wanted, import_drawings
    from marker.exchange.pdf.pdf_file import Pick
    from marker.exchange.photo.import_photos import Taken
    from marker.exchange.scale import ScaleUnknown
    from marker.files.faults import Unusable
    from marker.files.reading import is_there
    from marker.jobfile.writing import JOB, job_files
    from marker.outputs.jobs import picture_of, write_job
    from marker.reports.facts import to_json
    from marker.reports.imported import import_lines, import_report

    job = out / JOB
    if is_there(job):
        raise FaultyInput([Fault(str(job), "there is a job already", "Choose another folder")])
    pick = Pick(pages, layers, colours, dashes, tiles)
    taken = Taken(reference, lines, scan, names, folds, grains) if reference else None
    _refuse_mixed(
        taken is not None, [lines, scan, names, folds, grains], [units, size, pick != Pick()]
    )
    wanted = Wanted(units, size, join, pick, taken)
    try:
        imported = import_drawings(files, wanted)
    except ScaleUnknown as unknown:
        if not _on_a_terminal():
            raise
        imported = import_drawings(files, replace(wanted, unit_mm=_asked(unknown.scales)))
    try:
        told = ClothFacts(width_mm=width, nap=Nap(nap) if nap else None)
        made = job_files(imported, [path.name for path in files], told)
    except Unusable as fault:
        place = ", ".join(map(str, files))
        raise FaultyInput([Fault(place, fault.problem, fault.remedy)]) from fault
    written = write_job(out, made.texts, "import", picture_of(imported))
    report = import_report(imported, made, written)
    if as_json:
        print_json(to_json(report))
    else:
        say("\n".join(import_lines(report)))


def _refuse_mixed(photos: bool, of_photos: Sequence[object], of_drawings: Sequence[object]) -> None:
    if not photos and any(of_photos):
        raise click.UsageError(
            "--lines, --scan, --names, --fold and --grain go with photos: say what lies in them "
            "with --reference"
        )
    if photos and any(of_drawings):
        raise click.UsageError(
            "photos get their scale from --reference: leave out --units, --size, --pages, --tiles, "
            "--layer, --colour and --dashes"
        )


def _on_a_terminal() -> bool:
    return sys.stdin.isatty()


def _asked(scales: Sequence[Scale]) -> float:
    """Ask on the terminal what one unit measures."""
    from marker.units import lengths

    for scale in scales:
        say(f"{scale.file}: {scale.doubt}. Its longest piece would measure", err=True)
        for unit, mm in scale.choices:
            say(f"  {lengths(scale.longest * mm)} if a unit is {unit}", err=True)
    answer: float = click.prompt("What is one unit", value_proc=_unit_mm, err=True)
    return answer
