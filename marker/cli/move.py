"""`marker move`: a piece of a stored layout moved, turned or swapped by hand."""

from __future__ import annotations

import re
from math import dist
from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli import shell
from marker.cli.shell import Number, as_json, exits_plainly, say

if TYPE_CHECKING:
    from marker.cloth.fabric import Cloth
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
        raise click.BadParameter(f"{text!r} is no place. Write it as '12 cm, 30 cm'.") from error
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
@click.option(
    "--on",
    metavar="REMNANT",
    help="Where the cloth is remnants: the one that --to, or the piece of --swap, is on.",
)
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
    on: str | None,
    reader: str | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """Move piece NUMBER of a stored LAYOUT.json to the nearest free place, and draw it anew.

    A piece never lies over another, off the cloth, or against its grain, nap or repeat. It keeps
    its number, so the printed diagram still names it; on another remnant it gets one of that. The
    layout as it was is among those that `marker layouts` lists.
    """
    from marker.cli.running import Reporter, stop_signals
    from marker.cli.stored import folder_of, say_layouts, store_and_draw, taken_up
    from marker.jobfile.option_texts import read_reader
    from marker.jobfile.stored import layout_of_job
    from marker.outputs.layouts import LayoutFolder
    from marker.planning.laid_cloth import laid_cloth

    if (to is not None) + turn + (swap is not None) != 1:
        raise click.UsageError("Give one of --to, --turn and --swap.")
    if on is not None and turn:
        raise click.UsageError("--on goes with --to or --swap.")
    whom = read_reader("--for", reader)
    hand = taken_up(layout)
    stored = layout_of_job(layout)
    here = _Here(hand, stored.layouts[0].cloth, number, on)
    moved = here.moved(to, swap)
    with stop_signals() as signals, Reporter(quiet) as reporter:
        folder = LayoutFolder(folder_of(layout), stored.job.read_by(whom), stored.job_path)
        folder.demand_own()
        laid = [laid_cloth(checked) for checked in moved.checked()]
        reports = store_and_draw(folder, laid, signals, reporter, replace=True)
    if to is not None and not as_json:
        say(here.reached(moved, to))
    say_layouts(reports, as_json)


class _Here:
    """A piece by its number on the diagram of one cloth or remnant, to be moved from there.

    on : the remnant where it is to go, None for where it lies.
    """

    def __init__(self, hand: LayoutByHand, cloth: Cloth, number: int, on: str | None) -> None:
        from marker.cli.stored import numbered_by_remnant
        from marker.planning.remnant_table import starts_mm

        self._hand, self._number = hand, number
        self._starts = starts_mm(hand.task.cloth)
        self._from = _remnant_of(cloth)
        self._to = self._from if on is None else self._named(on)
        self._every = numbered_by_remnant(hand)
        self._piece = self._every[self._from].piece(number)

    def moved(self, to: tuple[float, float] | None, swap: int | None) -> LayoutByHand:
        """The layout with the piece moved, swapped, or else turned."""
        key = self._piece.key
        if to is not None:
            (x, y), (own_x, own_y) = to, self._piece.placed_mm
            across = self._starts.get(self._to, 0.0) - self._starts.get(self._from, 0.0)
            return self._hand.slid(key, x - own_x, y - own_y + across)
        if swap is None:
            return self._hand.turned(key)
        if self._to not in self._every:
            raise click.UsageError(f"nothing lies on {self._to}.")
        return self._hand.swapped(key, self._every[self._to].key(swap))

    def reached(self, moved: LayoutByHand, to: tuple[float, float]) -> str:
        """Where the piece was to lie, where it lies now, and why that is another place."""
        from marker.cli.stored import numbered_by_remnant
        from marker.units import cut_place

        key = self._piece.key
        there, piece = next(
            (name, numbered.of(key))
            for name, numbered in numbered_by_remnant(moved).items()
            if numbered.has(key)
        )
        asked, reached = (", ".join(map(cut_place, place)) for place in (to, piece.placed_mm))
        on, off = (f" on {self._to}" if self._to else ""), dist(to, piece.placed_mm)
        said = f"{key.piece}, piece {self._number}: to lie at {asked}{on}; "
        now = "" if there == self._from else f" as piece {piece.number}"
        if there != self._to:
            return f"{said}it lies at {reached} on {there}{now}. No nearer place is free."
        if off < _AS_ASKED_MM:
            return f"{said}it lies there{now}."
        away = f"{cut_place(off)} from there"
        return f"{said}it lies at {reached}, {away}{now}. No nearer place is free."

    def _named(self, on: str) -> str:
        """The remnant meant; raises UsageError for none."""
        from marker.files.faults import Unusable
        from marker.words import spelled_as

        if not self._starts:
            raise click.UsageError("--on: the cloth is no remnants.")
        meant = spelled_as(on, list(self._starts))
        if meant is None:
            raise click.UsageError(f"--on: {Unusable.unknown('remnant', on, self._starts)}")
        return meant


def _remnant_of(cloth: Cloth) -> str:
    return cloth.remnant.name if cloth.remnant else ""
