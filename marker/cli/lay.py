"""`marker lay`: lay the pieces of a job, check the layout, say what to buy, draw it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from marker.cli.interrupt import interrupt_as_event
from marker.cli.shell import SECONDS, STOPPED_BY_HAND, as_json, exits_plainly, print_json

if TYPE_CHECKING:
    from marker.cli.progress import Reporter
    from marker.layout import CheckedLayout
    from marker.plan import Limits, Task

DEFAULT_SECONDS = 30.0


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--seconds",
    type=SECONDS,
    help=f"Search this long; {DEFAULT_SECONDS:.0f} unless --iterations is given.",
)
@click.option("--iterations", type=click.IntRange(min=0), help="Search this many iterations.")
@click.option("--seed", type=click.IntRange(min=0), default=0, show_default=True)
@click.option("--workers", type=click.IntRange(1, 64), default=2, show_default=True)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder to write to; outputs/ and the name of the job unless given.",
)
@click.option("--quiet", is_flag=True, help="No progress on standard error.")
@as_json
@exits_plainly
def lay(
    job: Path,
    seconds: float | None,
    iterations: int | None,
    seed: int,
    workers: int,
    out: Path | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """Lay the pieces of JOB on their cloth; write the layout and its diagram, say what to buy.

    The same seed, iterations and workers give the same layout. Ctrl-C keeps the best so far.
    """
    from marker import plan
    from marker.cli.outputs import slug, write_outputs
    from marker.cli.progress import Reporter, announce_first_use
    from marker.files.job import read_job
    from marker.files.writing import output_folder

    if seconds is None and iterations is None:
        seconds = DEFAULT_SECONDS
    read = read_job(job)
    work = plan.tasks(read)
    with output_folder(out or Path("outputs") / slug(read.name)) as folder:
        announce_first_use(quiet)
        with interrupt_as_event() as interrupted:
            limits = plan.Limits(seconds, iterations, seed, workers, interrupted)
            results = [_lay_one(task, limits, Reporter(task.cloth.name, quiet)) for task in work]
        reports = write_outputs(results, job, folder)
    _say(results, reports, as_json)
    if any(checked.layout.stopped_because == plan.BY_HAND for checked in results):
        raise SystemExit(STOPPED_BY_HAND)


def _lay_one(task: Task, limits: Limits, reporter: Reporter) -> CheckedLayout:
    from marker import plan

    try:
        return plan.lay(task, limits, reporter)
    finally:
        reporter.finish()


def _say(results: list[CheckedLayout], reports: list[dict[str, Any]], as_json: bool) -> None:
    """The main cloth's layout as one JSON object, the other cloths' within it; or lines."""
    from marker.cli.report import CAUTION, layout_lines
    from marker.cloth.buying import purchase

    if as_json:
        print_json(reports[0] | {"other_cloths": reports[1:]})
        return
    for checked, report in zip(results, reports, strict=True):
        lines = layout_lines(checked, purchase(checked.layout.length_mm, checked.layout.cloth))
        click.echo("\n".join(lines))
        click.echo("".join(f"  wrote  {path}\n" for path in report["files"]))
    click.echo(CAUTION)
