"""`marker buy`: what to buy for a job, by the width of its main cloth."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli import shell
from marker.cli.measures import TakesMeasures, garment_option, measures_given, size_option
from marker.cli.shell import (
    SECONDS,
    STOPPED_BY_HAND,
    Number,
    as_json,
    exits_plainly,
    print_json,
    say,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from marker.cli.running import Reporter
    from marker.cloth.fabric import Cloth
    from marker.job import Job
    from marker.planning.limits import SearchLimits
    from marker.planning.widths import WidthsResult
    from marker.reports.buy import BuyReport, EstimateReport

DEFAULT_SECONDS = 120.0


@click.command(cls=TakesMeasures)
@click.argument("job", required=False, type=click.Path(path_type=Path))
@garment_option
@size_option
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
    f"{DEFAULT_SECONDS:.0f} for a job unless --iterations is given.",
)
@click.option("--iterations", type=Number(0), help="Search so many for each layout.")
@shell.seed
@shell.workers
@shell.out_folder
@shell.quiet
@as_json
@exits_plainly
def buy(
    job: Path | None,
    garment: str | None,
    size: str | None,
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

    With --garment no job is needed: the garment is drafted from its measures, first layouts are
    found, and what to buy is a range. Nothing is written.
    """
    if (job is None) == (garment is None):
        raise click.UsageError("Give a JOB, or a --garment with its measures.")
    search = _Search(seconds, iterations, seed, workers, quiet)
    if job is None:
        found = _for_garment(garment or "", size, widths, search, as_json)
    else:
        found = _for_job(job, widths, search, out, as_json)
    if found.stopped_by_hand:
        raise SystemExit(STOPPED_BY_HAND)


@dataclass(frozen=True)
class _Search:
    """How to search, as the options say."""

    seconds: float | None
    iterations: int | None
    seed: int
    workers: int
    quiet: bool

    def compare(self, job: Job, widths: str | None) -> WidthsResult:
        """The job in each width asked for."""
        from marker.planning.widths import compare_widths, main_cloth

        cloths = _asked(widths, main_cloth(job))
        with self._limits() as (limits, reporter):
            return compare_widths(job, cloths, limits, reporter)

    def compare_garment(
        self, garment: str, job: Job, size: str | None, widths: str | None
    ) -> WidthsResult:
        """The same, the garment drafted again for each width where its pieces depend on that."""
        from marker.jobfile.new_job import depends_on_width, job_for_width
        from marker.planning.widths import compare_redrafted, main_cloth

        given = measures_given()
        if not depends_on_width(garment, given):
            return self.compare(job, widths)
        cloths = _asked(widths, main_cloth(job))
        with self._limits() as (limits, reporter):
            return compare_redrafted(
                lambda width: job_for_width(garment, given, size, width), cloths, limits, reporter
            )

    @contextmanager
    def _limits(self) -> Iterator[tuple[SearchLimits, Reporter]]:
        from marker.cli.running import Reporter, stop_signals
        from marker.planning.limits import SearchLimits

        with stop_signals() as signals, Reporter(self.quiet) as reporter:
            yield (
                SearchLimits(
                    self.seconds, self.iterations, self.seed, self.workers, signals.stopped
                ),
                reporter,
            )

    def otherwise(self, *, seconds: float | None = None, iterations: int | None = None) -> _Search:
        """The same, with these limits where none are given."""
        if self.seconds is not None or self.iterations is not None:
            return self
        return replace(self, seconds=seconds, iterations=iterations)


def _for_job(
    path: Path, widths: str | None, search: _Search, out: Path | None, as_json: bool
) -> WidthsResult:
    """Compare, plot, say; what was found is said even where the plot can't be written."""
    from marker.cli.shell import read_shown
    from marker.files.writing import output_folder
    from marker.outputs.drawings import demand_own_width_plot, write_width_plot
    from marker.outputs.folders import job_folder
    from marker.reports.buy import buy_report

    job = read_shown(path)
    with output_folder(out or job_folder(job.name)) as folder:
        demand_own_width_plot(folder)
        found = search.otherwise(seconds=DEFAULT_SECONDS).compare(job, widths)
        files: list[Path] = []
        try:
            files = write_width_plot(found, folder)
        finally:
            _say(buy_report(found, files), as_json)
    return found


def _for_garment(
    garment: str, size: str | None, widths: str | None, search: _Search, as_json: bool
) -> WidthsResult:
    from marker.jobfile.drafted import job_of
    from marker.jobfile.new_job import drafted_as_asked
    from marker.reports.buy import estimate_report

    drafted = drafted_as_asked(garment, measures_given(), size, [])
    quick, job = search.otherwise(iterations=0), job_of(drafted, garment)
    found = quick.compare_garment(garment, job, size, widths)
    _say(estimate_report(drafted, found), as_json)
    return found


def _say(report: BuyReport | EstimateReport, as_json: bool) -> None:
    from marker.reports.buy import BuyReport, buy_lines, estimate_lines
    from marker.reports.facts import to_json

    if as_json:
        print_json(to_json(report))
    elif isinstance(report, BuyReport):
        say("\n".join(buy_lines(report)))
    else:
        say("\n".join(estimate_lines(report)))


def _asked(widths: str | None, cloth: Cloth) -> tuple[Cloth, ...]:
    from marker.cloth.buying import as_sold, usual_widths
    from marker.jobfile.option_texts import read_widths

    if widths is not None:
        return read_widths("--widths", widths, cloth)
    usual = usual_widths(cloth.width_mm, cloth.tube is not None)
    every = (as_sold(cloth, width) for width in usual)
    return tuple(each for each in every if each.usable_width_mm > 0)
