"""`marker shortage`: what to give way on so that a job fits the cloth there is."""

from __future__ import annotations

from dataclasses import replace
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
    length_option,
    print_json,
    say,
)

if TYPE_CHECKING:
    from marker.cloth.fabric import Cloth
    from marker.job import Job
    from marker.planning.events import PlanningEvent

DEFAULT_SECONDS = 120.0


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@length_option("--have", "The length of cloth there is; `have` of the cloth unless given.")
@click.option("--cloth", "name", help="Which cloth is short; the main cloth unless given.")
@click.option(
    "--seconds",
    type=SECONDS,
    help=f"For all trials together; {DEFAULT_SECONDS:.0f} unless --iterations is given.",
)
@click.option("--iterations", type=Number(0), help="Iterations of each trial.")
@click.option("--keep-nap", is_flag=True, help="Never turn pieces against the nap.")
@shell.seed
@shell.workers
@shell.quiet
@as_json
@exits_plainly
def shortage(
    job: Path,
    have: float | None,
    name: str | None,
    seconds: float | None,
    iterations: int | None,
    keep_nap: bool,
    seed: int,
    workers: int,
    quiet: bool,
    as_json: bool,
) -> None:
    """Find the fewest changes that make JOB fit the cloth there is.

    Each change, such as a seam in place of a fold or a narrower hem, is laid and judged by itself.
    What saves most is put together until the job fits. Ctrl-C keeps what was found.
    """
    from marker.cli.running import stop_signals
    from marker.cli.shell import read_shown
    from marker.planning.limits import SearchLimits
    from marker.planning.shortage import remedy_shortage
    from marker.reports.facts import to_json
    from marker.reports.shortage import shortage_lines, shortage_report

    if seconds is None and iterations is None:
        seconds = DEFAULT_SECONDS
    read = read_shown(job)
    cloth = _short_cloth(read, name, have)
    with stop_signals() as signals:
        limits = SearchLimits(seconds, iterations, seed, workers, signals.stopped)
        found = remedy_shortage(
            read, cloth, limits, _say_nothing if quiet else _say_trial, keep_nap
        )
    report = shortage_report(found)
    if as_json:
        print_json(to_json(report))
    else:
        say("\n".join(shortage_lines(report)))
    if found.stopped_by_hand:
        raise SystemExit(STOPPED_BY_HAND)
    if not found.fits:
        raise SystemExit(CANNOT_BE_DONE)


def _short_cloth(job: Job, name: str | None, have: float | None) -> Cloth:
    """The cloth asked for, or the main one, with the length there is of it."""
    known = {cloth.name: cloth for cloth in job.cloths}
    if name is not None and name not in known:
        raise click.BadParameter(
            f"the job has no cloth {name!r}, but {', '.join(known)}", param_hint="--cloth"
        )
    cloth = job.cloths_cut[0] if name is None else known[name]
    if cloth.remnants:
        raise click.UsageError(f"{cloth.name} is remnants: `marker lay` says whether they suffice.")
    cloth = cloth if have is None else replace(cloth, have_mm=have)
    if cloth.have_mm is None:
        raise click.UsageError(
            f"How much {cloth.name} is there? Give --have, or `have` of the cloth in the job file."
        )
    if cloth.have_mm <= 2 * cloth.end_allowance_mm:
        raise click.BadParameter("the end allowances leave nothing of it", param_hint="--have")
    return cloth


def _say_nothing(_event: PlanningEvent) -> None:
    pass


def _say_trial(event: PlanningEvent) -> None:
    from marker.planning.events import CompilingBegan
    from marker.planning.shortage import TrialEnded
    from marker.units import cut_length

    if isinstance(event, CompilingBegan):
        say(event.said, err=True)
    elif isinstance(event, TrialEnded):
        said = cut_length(event.trial.length_mm) if event.trial.checked else "can't be done"
        step = f"{event.number}/{event.count}  " if event.number or not event.trial.changes else ""
        say(f"{step}{said}  {event.about}", err=True)
