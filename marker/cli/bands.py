"""`marker bands`: how every band, binding and belt is cut, marked and sewn on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from marker.cli import shell
from marker.cli.shell import SECONDS, as_json, exits_plainly, length_option, print_json

if TYPE_CHECKING:
    from collections.abc import Sequence

    from marker.job import Job
    from marker.pattern.bands.strip_layout import StripLayout
    from marker.pattern.bands.strip_plan import StripPlan
    from marker.planning.strips import StripCost


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
    from marker.cli.sample import adjust
    from marker.jobfile.reading import read_job

    read = read_job(job)
    if any(given is not None for given in (sample, rippled, gathered, over)):
        adjust(read, sample, rippled, gathered, over, as_json)
    else:
        _report(read, out, seconds, as_json)


def _report(job: Job, out: Path | None, seconds: float | None, as_json: bool) -> None:
    from marker.cli.outputs import slug, write_bands
    from marker.files.writing import output_folder
    from marker.pattern.bands.strip_layout import strip_layout
    from marker.planning.strips import cost_facts
    from marker.reports.bands import band_facts
    from marker.reports.facts import to_json
    from marker.reports.strips_alone import strips_facts

    strips = [plan for size in job.order for plan in job.strip_plans(size)]
    layouts = [
        strip_layout(plans, cloth, 1)
        for cloth in job.cloths
        if (
            plans := [
                plan
                for size in job.garments
                for plan in strips
                if (plan.size, plan.cloth.name) == (size, cloth.name)
            ]
        )
    ]
    files: list[Path] = []
    if strips:
        by_size = {size: [plan for plan in strips if plan.size == size] for size in job.order}
        with output_folder(out or Path("outputs") / slug(job.name)) as folder:
            files = write_bands(job.name, by_size, folder)
    costs = _costs(job, layouts, seconds) if seconds is not None and layouts else []
    if as_json:
        print_json(
            {
                "bands": [to_json(band_facts(plan)) for plan in strips],
                "strips": [to_json(strips_facts(layout)) for layout in layouts],
                "costs": [cost_facts(cost) for cost in costs],
                "files": [str(path) for path in files],
            }
        )
        return
    _say(job, strips, layouts, costs, files)


def _costs(job: Job, layouts: Sequence[StripLayout], seconds: float) -> list[StripCost]:
    from marker.cli.interrupt import interrupt_as_event
    from marker.cli.progress import Reporter
    from marker.planning.limits import SearchLimits
    from marker.planning.strips import strip_costs

    with interrupt_as_event() as stopped, Reporter(quiet=False) as reporter:
        limits = SearchLimits(seconds, stopped=stopped)
        return strip_costs(job, layouts, limits, reporter)


def _say(
    job: Job,
    strips: Sequence[StripPlan],
    layouts: Sequence[StripLayout],
    costs: Sequence[StripCost],
    files: Sequence[Path],
) -> None:
    from marker.planning.strips import cost_lines
    from marker.reports.bands import CORDS, band_lines
    from marker.reports.layout import CAUTION
    from marker.reports.strips_alone import strips_lines

    if not strips:
        click.echo(f"{job.name} has no strips. Add a [[strip]] for each band, binding or belt.")
        return
    for size in job.order:
        click.echo(f"{job.name}, size {size}, for one garment; along a band from its cut end")
        for plan in strips:
            if plan.size == size:
                click.echo("\n" + "\n".join(band_lines(plan)))
    for layout in layouts:
        click.echo("\n" + "\n".join(strips_lines(layout)))
    for cost in costs:
        click.echo("\n" + "\n".join(cost_lines(cost)))
    click.echo("\n" + "".join(f"wrote  {path}\n" for path in files))
    if any(plan.band is None for plan in strips):
        click.echo(CORDS)
    click.echo(CAUTION)
