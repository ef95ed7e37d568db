"""`marker move`: a piece of a stored layout moved, turned or swapped by hand."""

from __future__ import annotations

import re
from math import dist
from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli import shell
from marker.cli.interrupt import stop_signals
from marker.cli.shell import Number, as_json, exits_plainly

if TYPE_CHECKING:
    from marker.planning.by_hand import LayoutByHand

_AS_ASKED_MM = 0.5  # the lengths are written to the millimetre


def _place(
    _ctx: click.Context, _param: click.Parameter, text: str | None
) -> tuple[float, float] | None:
    from marker.units import NotALength, parse_length

    if text is None:
        return None
    if re.search(r"\d,\d", text):
        said = "Write decimals with a point, and both lengths with their units: '12.5 cm, 30 cm'."
        raise click.BadParameter(f"{text!r} has a decimal comma. {said}")
    try:
        along, across = (parse_length(each) for each in text.split(","))
    except NotALength as error:
        raise click.BadParameter(str(error)) from error
    except ValueError as error:
        raise click.BadParameter(f"{text!r} is no place such as '12 cm, 30 cm'") from error
    return along, across


@click.command()
@click.argument("layout", type=click.Path(path_type=Path))
@click.argument("number", type=Number(1))
@click.option(
    "--to",
    callback=_place,
    metavar="'ALONG, ACROSS'",
    help="Where it is to lie, as the diagram lists it: its marked edge from the start, its grain "
    "line or fold from the near edge, as in '12 cm, 30 cm'.",
)
@click.option("--turn", is_flag=True, help="Turn it to the next way in which it may lie.")
@click.option("--swap", type=Number(1), help="Swap it with this piece.")
@shell.reader
@shell.quiet
@as_json
@exits_plainly
def move(
    layout: Path,
    number: int,
    to: tuple[float, float] | None,
    turn: bool,
    swap: int | None,
    reader: str | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """Move piece NUMBER of a stored LAYOUT.json to the nearest free place, and draw it anew.

    A piece never lies over another, off the cloth, or against its grain, nap or repeat. The layout
    as it was is among those that `marker layouts` lists.
    """
    from marker.cli.laid import folder_of, say_layouts, store_and_draw
    from marker.cli.progress import Reporter
    from marker.cli.stored import taken_up
    from marker.jobfile.option_texts import read_reader
    from marker.jobfile.stored import layout_of_job
    from marker.outputs.layouts import LayoutFolder
    from marker.planning.laid_cloth import laid_cloth

    if (to is not None) + turn + (swap is not None) != 1:
        raise click.UsageError("Give one of --to, --turn and --swap.")
    whom = read_reader("--for", reader)
    hand = taken_up(layout)
    moved = _moved(hand, number, to, swap)
    stored = layout_of_job(layout)
    with stop_signals() as signals, Reporter(quiet) as reporter:
        folder = LayoutFolder(folder_of(layout), stored.job.read_by(whom), stored.job_path)
        folder.demand_own()
        laid = [laid_cloth(moved.checked())]
        reports = store_and_draw(folder, laid, signals, reporter, replace=True)
    if to is not None and not as_json:
        click.echo(_reached(hand, moved, number, to))
    say_layouts(reports, as_json)


def _reached(hand: LayoutByHand, moved: LayoutByHand, number: int, to: tuple[float, float]) -> str:
    """Where a piece was to lie, where it lies now, and why that is another place."""
    from marker.cli.stored import numbered_pieces
    from marker.units import cut_place

    piece = numbered_pieces(hand.checked()).piece(number)
    shift = moved.shifted_mm(piece.key, hand)
    now = [own + by for own, by in zip(piece.placed_mm, shift, strict=True)]
    asked, reached = (", ".join(map(cut_place, place)) for place in (to, now))
    off = dist(to, now)
    said = f"{piece.key.piece}, piece {number} as it was: to lie at {asked}; "
    if off < _AS_ASKED_MM:
        return f"{said}it lies there."
    return f"{said}it lies at {reached}, {cut_place(off)} from there. No nearer place is free."


def _moved(
    hand: LayoutByHand, number: int, to: tuple[float, float] | None, swap: int | None
) -> LayoutByHand:
    from marker.cli.stored import numbered_pieces

    pieces = numbered_pieces(hand.checked())
    piece = pieces.piece(number)
    if to is not None:
        (x, y), (own_x, own_y) = to, piece.placed_mm
        return hand.slid(piece.key, x - own_x, y - own_y)
    if swap is not None:
        return hand.swapped(piece.key, pieces.key(swap))
    return hand.turned(piece.key)
