"""`marker bands`: how every band, binding and belt is cut, marked and sewn on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli import shell
from marker.cli.shell import SECONDS, as_json, exits_plainly, length_option, print_json

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from marker.job import Job
    from marker.pattern.bands.strip_layout import StripLayout
    from marker.planning.strips import StripCost
    from marker.reports.bands import BandsReport


@click.command()
@click.argument("job", type=click.Path(path_type=Path))
@shell.out_folder
@click.option(
    "--seconds",
    type=SECONDS,
    help="Also lay the pieces with and without the strips, so long each, to see what costs less.",
)
@click.option("--sample", metavar="STRIP", help="Adjust this strip's ratio to a sewn sample.")
@length_option("--rippled", help="What has to be pinched out of the sample for it to lie flat.")
@length_option("--gathered", help="By how much the sample draws its opening in.")
@length_option(
    "--over", help="Length of opening that the sample was sewn to; all of it if not given."
)
@as_json
@exits_plainly
def bands(
    job: Path,
    out: Path | None,
    seconds: float | None,
    sample: str | None,
    rippled: float | None,
    gathered: float | None,
    over: float | None,
    as_json: bool,
) -> None:
    """Print how each strip of JOB is cut and marked, and draw it to scale.

    With --sample it prints a strip's new ratio instead.
    """
    from marker.jobfile.reading import read_job

    read = read_job(job)
    if any(given is not None for given in (sample, rippled, gathered, over)):
        if sample is None or (rippled is None) == (gathered is None):
            raise click.UsageError("name the strip with --sample, and give --rippled or --gathered")
        pinched = rippled if rippled is not None else -(gathered or 0.0)
        _adjust(read, sample, pinched, over, as_json)
    else:
        _report(read, out, seconds, as_json)


def _adjust(job: Job, name: str, pinched_mm: float, over_mm: float | None, as_json: bool) -> None:
    from marker.reports.facts import to_json
    from marker.reports.sample import sample_lines, sample_report

    plans = {plan.strip.name: plan for plan in job.strip_plans(job.size)}
    band = plans[name].band if name in plans else None
    if band is None:
        known = ", ".join(repr(name) for name, plan in plans.items() if plan.band) or "none"
        raise click.UsageError(f"no strip {name!r} finishes an opening; those that do: {known}")
    report = sample_report(plans[name], band, pinched_mm, over_mm)
    if as_json:
        print_json(to_json(report))
    else:
        click.echo("\n".join(sample_lines(report)))


def _report(job: Job, out: Path | None, seconds: float | None, as_json: bool) -> None:
    from marker.cli.outputs import slug, write_bands
    from marker.files.writing import output_folder
    from marker.planning.strips import strips_alone
    from marker.reports.bands import BandsReport, band_facts
    from marker.reports.facts import to_json
    from marker.reports.strips_alone import cost_facts, strips_facts

    by_size = {size: job.strip_plans(size) for size in job.order}
    layouts = strips_alone(job)
    files: list[Path] = []
    if any(by_size.values()):
        with output_folder(out or Path("outputs") / slug(job.name)) as folder:
            files = write_bands(job.name, by_size, folder)
    costs = _costs(job, layouts, seconds) if seconds is not None and layouts else []
    report = BandsReport(
        tuple(band_facts(plan) for plans in by_size.values() for plan in plans),
        tuple(map(strips_facts, layouts)),
        tuple(map(cost_facts, costs)),
        tuple(files),
    )
    if as_json:
        print_json(to_json(report))
    else:
        click.echo("\n".join(_lines(job, layouts, report)))


def _costs(job: Job, layouts: Sequence[StripLayout], seconds: float) -> list[StripCost]:
    from marker.cli.interrupt import interrupt_as_event
    from marker.cli.progress import Reporter
    from marker.planning.limits import SearchLimits
    from marker.planning.strips import strip_costs

    with interrupt_as_event() as stopped, Reporter(quiet=False) as reporter:
        limits = SearchLimits(seconds, stopped=stopped)
        return strip_costs(job, layouts, limits, reporter)


def _lines(job: Job, layouts: Sequence[StripLayout], report: BandsReport) -> Iterator[str]:
    from marker.reports.bands import band_lines
    from marker.reports.strips_alone import cost_lines, strips_lines
    from marker.words import CORDS

    if not report.bands:
        yield f"{job.name} has no strips. Add a [[strip]] for each band, binding or belt."
        return
    for size in job.order:
        yield f"{job.name}, size {size}, for one garment; along a band from its cut end"
        for plan in job.strip_plans(size):
            yield from ("", *band_lines(plan))
        yield ""
    for layout in layouts:
        yield from (*strips_lines(layout), "")
    for cost in report.costs:
        yield from (*cost_lines(cost), "")
    yield from (f"wrote  {path}" for path in report.files)
    if any(band.finishes == "" for band in report.bands):
        yield CORDS
