"""A strip's new ratio after a sample was sewn: facts for JSON, and its arithmetic for a person."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from marker.pattern.bands.band import Band
from marker.pattern.bands.band_length import adjusted_ratio
from marker.pattern.bands.strip_plan import StripPlan
from marker.reports.facts import Mark, Share
from marker.units import cut_length, percent


@dataclass(frozen=True, kw_only=True)
class SampleReport:
    """What would have made the sample lie flat, lengths in mm.

    pinched_mm : what had to be pinched out of it; below 0 where it drew its opening in. over_mm :
    length of opening that it was sewn to.
    """

    name: str
    ratio: Share
    new_ratio: Share
    new_cut_length_mm: Share
    band: Annotated[Band, Mark.HIDDEN]
    pinched_mm: Annotated[float, Mark.HIDDEN]
    over_mm: Annotated[float, Mark.HIDDEN]


def sample_report(
    plan: StripPlan, band: Band, pinched_mm: float, over_mm: float | None
) -> SampleReport:
    """The facts of a sewn sample. band : of the plan. over_mm : None for all of the opening."""
    over = band.opening.length_mm if over_mm is None else over_mm
    new = adjusted_ratio(band.ratio, over, pinched_mm)
    return SampleReport(
        name=plan.strip.name,
        ratio=band.ratio,
        new_ratio=new,
        new_cut_length_mm=new * band.opening.length_mm + plan.cut_length_mm - band.seam_mm,
        band=band,
        pinched_mm=pinched_mm,
        over_mm=over,
    )


def sample_lines(report: SampleReport) -> Iterator[str]:
    """The arithmetic, and what to do with the new ratio."""
    band, new = report.band, report.new_ratio
    sign = "-" if report.pinched_mm > 0 else "+"
    yield (
        f"{report.name}: ratio {band.ratio:.3f} {sign} {cut_length(abs(report.pinched_mm))} ÷ "
        f"{cut_length(report.over_mm)} = {new:.3f}"
    )
    yield (
        f"  between its joins {cut_length(new * band.opening.length_mm)} instead of "
        f"{cut_length(band.seam_mm)}, cut {cut_length(report.new_cut_length_mm)}; "
        f"over all it stretches by {percent(1 / new - 1)}"
    )
    yield (
        f"  set ratio = {new:.3f} in the job and sew another sample: this arithmetic does not know "
        f"how the cloth recovers"
    )
