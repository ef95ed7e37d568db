"""`marker lay`: lay the pieces of a job, check the layout, say what to buy, draw it."""

from __future__ import annotations

from pathlib import Path

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
    from marker.cli.progress import Reporter
    from marker.files.writing import output_folder
    from marker.jobfile.reading import read_job
    from marker.jobfile.spreads import read_spread
    from marker.planning import lay as planning
    from marker.planning.limits import SearchLimits
    from marker.reports.layout import layouts_to_json

    if seconds is None and iterations is None:
        seconds = DEFAULT_SECONDS
    asked = None if spread in (None, BEST) else read_spread("--spread", spread)
    read = read_job(job)
    with output_folder(out or Path("outputs") / slug(read.name)) as folder:
        with interrupt_as_event() as stopped, Reporter(quiet) as reporter:
            limits = SearchLimits(seconds, iterations, seed, workers, stopped)
            laid = planning.lay(
                read, limits, reporter, spreading=asked, every_spread=spread == BEST
            )
            reporter.say("drawing")
        reports = write_outputs(laid, job, folder)
    if as_json:
        print_json(layouts_to_json(reports))
    else:
        click.echo("\n".join(line for report in reports for line in report.lines()))
    if laid.stopped_by_hand:
        raise SystemExit(STOPPED_BY_HAND)
    if laid.too_long:
        click.echo(
            f"marker: too long for the {' and the '.join(laid.too_long)} there is; "
            f"`marker shortage JOB` looks for what would make it fit.",
            err=True,
        )
        raise SystemExit(CANNOT_BE_DONE)
