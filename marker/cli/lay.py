"""`marker lay`: lay the pieces of a job, check the layout, say what to buy, draw it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from marker.cli import shell
from marker.cli.interrupt import interrupt_as_event
from marker.cli.shell import (
    CANNOT_BE_DONE,
    SECONDS,
    STOPPED_BY_HAND,
    as_json,
    exits_plainly,
    print_json,
)

if TYPE_CHECKING:
    from marker.cloth.spread import Spreading
    from marker.job import Job
    from marker.layout import CheckedLayout
    from marker.planning.lay import Limits, Load
    from marker.planning.spreads import Tried

DEFAULT_SECONDS = 30.0
BEST = "best"


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--seconds",
    type=SECONDS,
    help=f"Search this long; {DEFAULT_SECONDS:.0f} unless --iterations is given.",
)
@click.option("--iterations", type=click.IntRange(min=0), help="Search this many iterations.")
@click.option(
    "--spread",
    metavar="NAME|best",
    help="How the cloth lies, such as 'folded lengthwise', whatever the job says; 'best' compares "
    "every way that the cloth allows.",
)
@shell.seed
@shell.workers
@shell.out_folder
@shell.quiet
@as_json
@exits_plainly
def lay(
    job: Path,
    seconds: float | None,
    iterations: int | None,
    spread: str | None,
    seed: int,
    workers: int,
    out: Path | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """Lay the pieces of JOB on their cloth; write the layout, diagram and cutting sheet.

    The same seed, iterations and workers give the same layout. Ctrl-C keeps the best so far.
    """
    from marker.cli.outputs import slug, write_outputs
    from marker.cli.progress import announce_first_use
    from marker.files.writing import output_folder
    from marker.jobfile.reading import read_job
    from marker.jobfile.spreads import read_spread
    from marker.layout.ending import Ending
    from marker.planning import lay as plan
    from marker.planning.spreads import best
    from marker.reports.spreads import spread_facts

    if seconds is None and iterations is None:
        seconds = DEFAULT_SECONDS
    asked = None if spread in (None, BEST) else read_spread("--spread", spread)
    read = read_job(job)
    work = _work(read, spread == BEST, asked)
    with output_folder(out or Path("outputs") / slug(read.name)) as folder:
        announce_first_use(quiet)
        with interrupt_as_event() as interrupted:
            limits = plan.Limits(seconds, iterations, seed, workers, interrupted)
            tried = [ways for each in work for ways in _tried(each, limits, quiet)]
        results = [best(ways) for ways in tried]
        reports = write_outputs(results, read, job, folder)
    if spread == BEST:
        for report, ways in zip(reports, tried, strict=True):
            report["spreads"] = spread_facts(ways)
    _say(results, reports, as_json)
    laid = [each.checked.layout for ways in tried for each in ways if each.checked]
    if any(layout.stopped_because is Ending.BY_HAND for layout in laid):
        raise SystemExit(STOPPED_BY_HAND)
    _demand_fit(reports)


def _work(job: Job, every_spread: bool, asked: Spreading | None) -> list[Load]:
    """A task for each cloth; its load alone where every spread is tried, or remnants are laid."""
    from marker.cloth.spread import Spreading
    from marker.errors import CannotBeDone
    from marker.planning import lay as plan

    loads = plan.loads(job)
    for load in loads:
        if load.cloth.remnants and asked not in (None, Spreading.OPEN):
            raise CannotBeDone(f"the remnants of {load.cloth.name} lie open, not '{asked}'.")
    return [
        load
        if every_spread or load.cloth.remnants
        else plan.spread(load, asked or load.cloth.spread)
        for load in loads
    ]


def _demand_fit(reports: list[dict[str, Any]]) -> None:
    """End with exit code 1 if a layout is too long for the cloth there is; it is still written."""
    short = [report["cloth"]["name"] for report in reports if not _fits(report)]
    if short:
        click.echo(
            f"marker: too long for the {' and the '.join(short)} there is; `marker eke JOB` looks "
            f"for what would make it fit.",
            err=True,
        )
        raise SystemExit(CANNOT_BE_DONE)


def _fits(report: dict[str, Any]) -> bool:
    return report["have"] is None or report["have"]["answer"] == "fits"


def _tried(work: Load, limits: Limits, quiet: bool) -> list[tuple[Tried, ...]]:
    """For each layout of the load, one or one a remnant, what was tried: every spread, or the one
    of a task."""
    from marker.cli.progress import Reporter
    from marker.planning import lay as plan
    from marker.planning.remnants import lay_on_remnants
    from marker.planning.spreads import Tried, try_spreads

    name = work.cloth.name
    reporter = Reporter(name, quiet)
    try:
        if work.cloth.remnants:
            laid = lay_on_remnants(work, limits, reporter)
            return [(Tried(work.cloth.spread, checked),) for checked in laid]
        if isinstance(work, plan.Task):
            return [(Tried(work.spreading, plan.lay(work, limits, reporter)),)]
        return [try_spreads(work, limits, lambda way: reporter.of(f"{name}, {way}"))]
    finally:
        reporter.finish()


def _say(results: list[CheckedLayout], reports: list[dict[str, Any]], as_json: bool) -> None:
    """The main cloth's layout as one JSON object, the other cloths' within it; or lines."""
    from marker.cloth.buying import purchase
    from marker.reports.bundles import bundle_lines
    from marker.reports.layout import CAUTION, layout_lines, leftover_lines
    from marker.reports.spreads import spread_lines

    if as_json:
        print_json(reports[0] | {"other_cloths": reports[1:]})
        return
    for checked, report in zip(results, reports, strict=True):
        if "spreads" in report:
            chosen = checked.layout.spread.spreading
            click.echo(
                "\n".join(spread_lines(checked.layout.cloth.name, report["spreads"], chosen))
            )
            click.echo("")
        lines = layout_lines(checked, purchase(checked.layout.length_mm, checked.layout.cloth))
        click.echo("\n".join([*lines, *leftover_lines(report["leftovers"])]))
        if len(checked.garments) > 1:
            click.echo("".join(f"  bundle {line}\n" for line in bundle_lines(checked)), nl=False)
        click.echo("".join(f"  wrote  {path}\n" for path in report["files"]))
    click.echo(CAUTION)
