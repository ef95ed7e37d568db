"""`marker bands --sample`: a strip's new ratio after a sample was sewn."""

from __future__ import annotations

import click

from marker.cli.shell import print_json
from marker.job import Job
from marker.units import metric, percent


def adjust(
    job: Job,
    name: str | None,
    rippled_mm: float | None,
    gathered_mm: float | None,
    over_mm: float | None,
    as_json: bool,
) -> None:
    """Print the ratio that would have made the sample lie flat, with its arithmetic."""
    from marker.pattern.bands.band_length import adjusted_ratio

    if name is None or (rippled_mm is None) == (gathered_mm is None):
        raise click.UsageError("name the strip with --sample, and give --rippled or --gathered")
    plans = {plan.strip.name: plan for plan in job.strip_plans(job.size)}
    band = plans[name].band if name in plans else None
    if band is None:
        known = ", ".join(repr(name) for name, plan in plans.items() if plan.band) or "none"
        raise click.UsageError(f"no strip {name!r} finishes an opening; those that do: {known}")
    over = band.opening.length_mm if over_mm is None else over_mm
    out = rippled_mm if rippled_mm is not None else -(gathered_mm or 0.0)
    new = adjusted_ratio(band.ratio, over, out)
    seam = new * band.opening.length_mm
    cut = seam + plans[name].cut_length_mm - band.seam_mm
    if as_json:
        facts = {"name": name, "ratio": band.ratio, "new_ratio": new, "new_cut_length_mm": cut}
        print_json({key: round(v, 4) if isinstance(v, float) else v for key, v in facts.items()})
        return
    sign = "-" if out > 0 else "+"
    click.echo(
        f"{name}: ratio {band.ratio:.3f} {sign} {metric(abs(out))} ÷ {metric(over)} = {new:.3f}\n"
        f"  between its joins {metric(seam)} instead of {metric(band.seam_mm)}, cut {metric(cut)}; "
        f"over all it stretches by {percent(1 / new - 1)}\n"
        f"  set ratio = {new:.3f} in the job and sew another sample: how the cloth recovers is not "
        f"in this arithmetic"
    )
