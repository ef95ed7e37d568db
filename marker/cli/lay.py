"""`marker lay`: lay the pieces of a job, check the layout, say what to buy, draw it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli import shell
from marker.cli.shell import (
    CANNOT_BE_DONE,
    SECONDS,
    STOPPED_BY_HAND,
    Number,
    as_json,
    exits_plainly,
    say,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from marker.cli.running import Reporter
    from marker.job import Job
    from marker.planning.laid_cloth import LaidCloth
    from marker.planning.limits import SearchLimits
    from marker.reports.layout import LaidReport

DEFAULT_SECONDS = 30.0
BEST = "best"


def _piece_numbers(
    _ctx: click.Context, _param: click.Parameter, text: str | None
) -> tuple[int, ...]:
    """Numbers of pieces in the diagram."""
    try:
        return tuple(int(each) for each in text.split(",")) if text else ()
    except ValueError:
        raise click.BadParameter(f"{text!r} is no list of numbers such as 3,4") from None


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--seconds",
    type=SECONDS,
    help="Search this long in all; cloths, spreads and ways to cut get a share each. "
    f"{DEFAULT_SECONDS:.0f} unless --iterations is given.",
)
@click.option("--iterations", type=Number(0), help="Search this many iterations.")
@click.option(
    "--spread",
    metavar="NAME|best",
    help="How the cloth lies, such as 'folded lengthwise', whatever the job says; 'best' compares "
    "every way that the cloth allows.",
)
@click.option(
    "--keep",
    type=click.Path(path_type=Path),
    metavar="LAYOUT.json",
    help="Start from this layout of JOB, and lay its pieces anew but for those of --pin.",
)
@click.option(
    "--pin",
    callback=_piece_numbers,
    metavar="3,4",
    help="With --keep: pieces that stay where they lie, by their numbers, as 3,4.",
)
@click.option(
    "--replace",
    is_flag=True,
    help="Let the new layout stand, even if the one that stood before is shorter.",
)
@shell.reader
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
    keep: Path | None,
    pin: tuple[int, ...],
    replace: bool,
    reader: str | None,
    seed: int,
    workers: int,
    out: Path | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """Lay the pieces of JOB on their cloth; write the layout, diagram and cutting sheet.

    The same seed, iterations and workers give the same layout. Where the folder holds a shorter one
    of the same job and cloth, that stays, and the new one is listed by `marker layouts`. The first
    Ctrl-C keeps the best so far, the second leaves the drawings out.
    """
    from marker.cli.running import Reporter, stop_signals
    from marker.cli.shell import read_shown
    from marker.cli.stored import say_layouts, store_and_draw
    from marker.files.writing import output_folder
    from marker.jobfile.option_texts import read_reader, read_spread
    from marker.outputs.folders import job_folder
    from marker.outputs.layouts import LayoutFolder
    from marker.planning.lay import lay as lay_job
    from marker.planning.limits import SearchLimits

    if (keep is None and pin) or (keep is not None and spread is not None):
        raise click.UsageError("--pin goes with --keep, and --keep without --spread.")
    if seconds is None and iterations is None:
        seconds = DEFAULT_SECONDS
    asked = None if spread in (None, BEST) else read_spread("--spread", spread)
    whom = read_reader("--for", reader)
    read = read_shown(job).read_by(whom)
    with (
        output_folder(out or job_folder(read.name)) as path,
        stop_signals() as signals,
        Reporter(quiet) as reporter,
    ):
        folder = LayoutFolder(path, read, job)
        folder.demand_own()
        limits = SearchLimits(seconds, iterations, seed, workers, signals.stopped)
        if keep is None:
            laid = lay_job(read, limits, reporter, spreading=asked, every_spread=spread == BEST)
        else:
            laid = _rest_laid(read, keep, pin, limits, reporter)
        reports = store_and_draw(
            folder, laid, signals, reporter, replace=replace, any_spread=spread == BEST
        )
    say_layouts(reports, as_json)
    if signals.stopped.is_set():
        raise SystemExit(STOPPED_BY_HAND)
    _demand_enough(reports)


def _rest_laid(
    job: Job, path: Path, pins: Sequence[int], limits: SearchLimits, reporter: Reporter
) -> tuple[LaidCloth, ...]:
    """A stored layout of the job with all but the pinned pieces laid anew. On remnants, what lies
    on the others is laid anew, too."""
    from marker.cli.stored import numbered_by_remnant, taken_up
    from marker.exchange.layout_json import read_layout
    from marker.planning.laid_cloth import laid_cloth

    hand = taken_up(path, job)
    numbers = numbered_by_remnant(hand)[read_layout(path).remnant or ""]
    laid = hand.rest_laid([numbers.key(n) for n in pins], limits, reporter)
    return tuple(map(laid_cloth, laid.checked()))


def _demand_enough(reports: Sequence[LaidReport]) -> None:
    """End with exit code 1 if a layout is too long for the cloth there is; it is still written."""
    short = [each.laid.checked.layout.cloth.name for each in reports if not each.laid.fits]
    if short:
        say(
            f"marker: too long for the {' and the '.join(short)} there is; "
            f"`marker shortage JOB` looks for what would make it fit.",
            err=True,
        )
        raise SystemExit(CANNOT_BE_DONE)
