"""The command line: a thin shell over `planning`. Commands import what they need when they run."""

from __future__ import annotations

from typing import Any

import click

from marker.cli.bands import bands
from marker.cli.buy import buy
from marker.cli.check import check
from marker.cli.export import export
from marker.cli.import_ import import_
from marker.cli.lay import lay
from marker.cli.layouts import judge, layouts
from marker.cli.move import move
from marker.cli.new import new
from marker.cli.order import order
from marker.cli.print import print_pages
from marker.cli.reference import reference
from marker.cli.serve import serve
from marker.cli.shell import STOPPED_BY_HAND, leave
from marker.cli.shortage import shortage

__all__ = ["main"]


class _Commands(click.Group):
    """Ctrl-C ends any of them with the same words, even while its options are read."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            leave(["stopped; no file was left half-written"], STOPPED_BY_HAND)


@click.group(cls=_Commands)
@click.version_option(package_name="marker")
def main() -> None:
    """Plans how garment pieces are cut from cloth: how they lie, and how much cloth to buy."""


for command in (
    new, check, bands, lay, layouts, move, buy, shortage, order, judge, print_pages, export,
    import_, serve, reference,
):  # fmt: skip
    main.add_command(command)
