"""`marker bands`: how every band, binding and belt is cut, marked and sewn on."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from marker.cli import shell
from marker.cli.shell import SECONDS, Number, as_json, exits_plainly, length_option, print_json, say

RATIO = Number(0.0, 2, "ratio", above=True)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from marker.job import Job
    from marker.pattern.bands.strip_layout import StripLayout
    from marker.planning.strips import StripCost
    from marker.reports.bands import BandsReport


@click.command()
@click.argument("job", type=click.Path(path_type=Path), required=False)
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
@length_option("--opening", help="No JOB: the length of an opening, as measured with a tape.")
@length_option("--finished-width", help="With --opening: how wide the band is once sewn.")
@click.option("--ratio", type=RATIO, help="With --opening: the band as a share of it.")
@length_option("--shorter-by", help="With --opening: how much shorter the band is.")
@click.option(
    "--lies-flat",
    type=Number(0.0, 720, "degrees"),
    help="With --opening: the band lies flat in one that turns so far, 360 for a round neck.",
)
@click.option("--stands", is_flag=True, help="With --opening: a waistband or cuff, with two ends.")
@length_option("--underlap", help="With --stands: how far it goes on beyond its last end.")
@click.option(
    "--fold",
    type=click.Choice(["flat", "single", "double"]),
    default="single",
    show_default=True,
    help="With --opening: how the band is folded.",
)
@length_option("--cloth-width", help="With --opening: usable width, to know the parts.")
@as_json
@exits_plainly
def bands(
    job: Path | None,
    out: Path | None,
    seconds: float | None,
    sample: str | None,
    rippled: float | None,
    gathered: float | None,
    over: float | None,
    as_json: bool,
    opening: float | None,
    **tape: Any,
) -> None:
    """Print how each strip of JOB is cut and marked, and draw it to scale.

    With --sample it prints a strip's new ratio instead. With --opening and no JOB it does so for
    one band alone, and draws nothing.
    """
    from marker.cli.shell import read_shown

    if opening is not None:
        if job is not None:
            raise click.UsageError("give a JOB or --opening, not both")
        shell.show_as_given()
        _from_tape(opening, as_json, **tape)
        return
    if job is None:
        raise click.UsageError("give a JOB, or the length of an opening with --opening")
    given = [name for name, value in tape.items() if value and name != "fold"]
    if given:
        option = given[0].replace("_", "-")
        raise click.UsageError(f"--{option} goes with --opening, and the JOB says it of its strips")
    read = read_shown(job)
    if any(given is not None for given in (sample, rippled, gathered, over)):
        if sample is None or (rippled is None) == (gathered is None):
            raise click.UsageError("name the strip with --sample, and give --rippled or --gathered")
        pinched = rippled if rippled is not None else -(gathered or 0.0)
        _adjust(read, sample, pinched, over, as_json)
    else:
        _report(read, out, seconds, as_json)


def _from_tape(
    opening: float,
    as_json: bool,
    *,
    finished_width: float | None,
    ratio: float | None,
    shorter_by: float | None,
    lies_flat: float | None,
    stands: bool,
    underlap: float | None,
    fold: str,
    cloth_width: float | None,
) -> None:
    from marker.pattern.bands.strip import ByRatio, Fold, LiesFlat, ShorterBy
    from marker.pattern.bands.tape import TapeBand, band_from_tape
    from marker.reports.bands import BandsReport, band_facts, tape_lines
    from marker.reports.facts import to_json

    rules: list[ByRatio | ShorterBy | LiesFlat] = []
    rules += [] if ratio is None else [ByRatio(ratio)]
    rules += [] if shorter_by is None else [ShorterBy(shorter_by)]
    rules += [] if lies_flat is None else [LiesFlat()]
    if stands and not rules:
        rules = [ShorterBy(0.0)]
    if len(rules) != 1:
        raise click.UsageError(
            "say how long the band is by one of --ratio, --shorter-by, --lies-flat, --stands"
        )
    if stands and lies_flat is not None:
        raise click.UsageError("a band that stands does not lie flat: leave out one of the two")
    if finished_width is None:
        raise click.UsageError('say how wide it is, such as --finished-width "1/2 in"')
    if underlap is not None and not stands:
        raise click.UsageError("--underlap is for a band with two ends: add --stands")
    tape = TapeBand(
        opening, rules[0], finished_width, Fold(fold), closed=not stands, stands=stands,
        turn_rad=math.radians(lies_flat or 0.0), underlap_mm=underlap or 0.0,
        cloth_width_mm=cloth_width,
    )  # fmt: skip
    plan = band_from_tape(tape)
    if as_json:
        print_json(to_json(BandsReport((band_facts(plan),), (), (), ())))
    else:
        say("\n".join(tape_lines(plan)))


def _adjust(job: Job, name: str, pinched_mm: float, over_mm: float | None, as_json: bool) -> None:
    from marker.reports.facts import to_json
    from marker.reports.sample import sample_lines, sample_report
    from marker.words import spelled_as

    plans = {plan.strip.name: plan for plan in job.strip_plans(job.size)}
    name = spelled_as(name, plans) or name
    band = plans[name].band if name in plans else None
    if band is None:
        known = ", ".join(repr(name) for name, plan in plans.items() if plan.band) or "none"
        raise click.UsageError(f"no strip {name!r} finishes an opening; those that do: {known}")
    report = sample_report(plans[name], band, pinched_mm, over_mm)
    if as_json:
        print_json(to_json(report))
    else:
        say("\n".join(sample_lines(report)))


def _report(job: Job, out: Path | None, seconds: float | None, as_json: bool) -> None:
    from marker.files.writing import output_folder
    from marker.outputs.drawings import write_bands
    from marker.outputs.folders import job_folder
    from marker.planning.strips import strips_alone
    from marker.reports.bands import BandsReport, band_facts
    from marker.reports.facts import to_json
    from marker.reports.strips_alone import cost_facts, strips_facts

    by_size = {size: job.strip_plans(size) for size in job.order}
    layouts = strips_alone(job)
    files: list[Path] = []
    if any(by_size.values()):
        with output_folder(out or job_folder(job.name)) as folder:
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
        say("\n".join(_lines(job, layouts, report)))


def _costs(job: Job, layouts: Sequence[StripLayout], seconds: float) -> list[StripCost]:
    from marker.cli.running import Reporter, stop_signals
    from marker.planning.limits import SearchLimits
    from marker.planning.strips import strip_costs

    with stop_signals() as signals, Reporter(quiet=False) as reporter:
        limits = SearchLimits(seconds, stopped=signals.stopped)
        return strip_costs(job, layouts, limits, reporter)


def _lines(job: Job, layouts: Sequence[StripLayout], report: BandsReport) -> Iterator[str]:
    from marker.reports.bands import band_lines
    from marker.reports.strips_alone import cost_lines, strips_lines
    from marker.words import CORDS, with_size

    if not report.bands:
        yield f"{job.name} has no strips. Add a [[strip]] for each band, binding or belt."
        return
    for size in job.order:
        yield f"{with_size(job.name, size)}, for one garment; along a band from its cut end"
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
