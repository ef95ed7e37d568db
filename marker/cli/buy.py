"""`marker buy`: what to buy for a job, by the width of its main cloth."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli import shell
from marker.cli.interrupt import interrupt_as_event
from marker.cli.shell import SECONDS, STOPPED_BY_HAND, as_json, exits_plainly, print_json

if TYPE_CHECKING:
    from marker.cloth.fabric import Cloth

DEFAULT_SECONDS = 120.0


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--widths",
    metavar="110cm,140cm=12.50",
    help="Widths of the main cloth, selvages included, each maybe with a price for the length that "
    "the job's own price is for; the trade's usual widths and the job's own unless given.",
)
@click.option(
    "--seconds",
    type=SECONDS,
    help=f"Search this long in all, shared out evenly over widths and other cloths; "
    f"{DEFAULT_SECONDS:.0f} unless --iterations is given.",
)
@click.option("--iterations", type=click.IntRange(min=0), help="Search so many for each layout.")
@shell.seed
@shell.workers
@shell.out_folder
@shell.quiet
@as_json
@exits_plainly
def buy(
    job: Path,
    widths: str | None,
    seconds: float | None,
    iterations: int | None,
    seed: int,
    workers: int,
    out: Path | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """Say what to buy for JOB in each width of its main cloth, which is cheapest, and plot it.

    Wider cloth never needs more: where a narrower cloth's layout is shorter, it is used. Other
    cloths are laid in the width that the job gives them. Ctrl-C keeps what was found.
    """
    from marker.cli.outputs import slug, write_width_plot
    from marker.cli.progress import Reporter
    from marker.files.writing import output_folder
    from marker.jobfile.reading import read_job
    from marker.planning.limits import SearchLimits
    from marker.planning.widths import compare_widths, main_cloth
    from marker.reports.buy import buy_lines, buy_report
    from marker.reports.facts import to_json

    if seconds is None and iterations is None:
        seconds = DEFAULT_SECONDS
    read = read_job(job)
    cloths = _asked(widths, main_cloth(read))
    with output_folder(out or Path("outputs") / slug(read.name)) as folder:
        with interrupt_as_event() as stopped, Reporter(quiet) as reporter:
            limits = SearchLimits(seconds, iterations, seed, workers, stopped)
            found = compare_widths(read, cloths, limits, reporter)
        report = buy_report(found, write_width_plot(found, folder))
    if as_json:
        print_json(to_json(report))
    else:
        click.echo("\n".join(buy_lines(report)))
    if found.stopped_by_hand:
        raise SystemExit(STOPPED_BY_HAND)


def _asked(widths: str | None, cloth: Cloth) -> tuple[Cloth, ...]:
    from marker.cloth.buying import as_sold, usual_widths
    from marker.jobfile.widths import read_widths

    if widths is not None:
        return read_widths("--widths", widths, cloth)
    usual = usual_widths(cloth.width_mm, cloth.tube is not None)
    every = (as_sold(cloth, width) for width in usual)
    return tuple(each for each in every if each.usable_width_mm > 0)
