"""What would go wrong when a band is sewn on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from marker.cloth.fabric import Cloth
from marker.pattern.bands.band import CLEAR_MM, Band
from marker.pattern.bands.sections import Section
from marker.pattern.bands.strip import Lies, Strip
from marker.pattern.bands.strip_plan import StripPlan
from marker.pattern.finding import Finding, Severity
from marker.units import metric, percent

_HAIR = 1e-6


def band_findings(plan: StripPlan) -> tuple[Finding, ...]:
    """Stretch beyond what the cloth gives, ripples, and joins where they should not be.

    Stretch is not judged where it was not measured on the cloth, nor ripples of a band that nobody
    says how it is folded.
    """
    strip, band, cloth, size = plan.strip, plan.band, plan.cloth, plan.size
    if band is None:
        return ()
    found = [*_overstretched(strip, band, cloth, size), *_ripples(plan, band, cloth, size)]
    if band.clear_mm is not None and band.clear_mm < CLEAR_MM - _HAIR:
        found.append(_near_a_point(strip, band, size))
    return tuple(found)


def bands_findings(plans: Iterable[StripPlan]) -> tuple[Finding, ...]:
    """The findings of every band among these strips."""
    return tuple(finding for plan in plans for finding in band_findings(plan))


def _overstretched(strip: Strip, band: Band, cloth: Cloth, size: str) -> Iterator[Finding]:
    gives = cloth.stretch(strip.direction)
    worst = max(band.sections, key=lambda section: section.stretch)
    if gives is None or worst.stretch <= gives + _HAIR:
        return
    still = band.opening.length_mm - sum(z.opening_mm for z in band.sections if z.stretched)
    least = (still + (band.opening.length_mm - still) / (1 + gives)) / band.opening.length_mm
    yield Finding(
        code="stretch-beyond-cloth",
        severity=Severity.ERROR,
        piece=strip.name,
        seam=strip.finishes,
        size=size,
        message=(
            f"{strip.name} must stretch by {percent(worst.stretch)} over "
            f"{metric(worst.opening_mm)} of its opening, and {cloth.name} gives {percent(gives)} "
            f"along the {strip.direction}"
        ),
        remedy=(
            f"Make the band at least {least:.3f} of the opening, cut it where the cloth stretches "
            f"more, or take a cloth that does"
        ),
    )


def _ripples(plan: StripPlan, band: Band, cloth: Cloth, size: str) -> Iterator[Finding]:
    """A band is eased into the opening's inner edge, as far as the cloth can be eased in; of the
    sections where it is too long for that, the worst is named first."""
    strip = plan.strip
    if strip.lies is Lies.STANDING:  # its far edge is as long as its seam
        return

    def inner(section: Section) -> float:
        return band.inner_mm(section, strip.finished_mm or 0.0)

    def too_long(section: Section) -> float:
        inside = band.mitred_mm(section, strip.finished_mm or 0.0)
        return section.band_mm - inside - inner(section) / (1 - cloth.eases_in)

    rippling = [
        section for section in band.sections if section.stretched and too_long(section) > _HAIR
    ]
    if not rippling:
        return
    rippling.sort(key=too_long, reverse=True)
    most = (band.seam_mm - sum(map(too_long, rippling))) / band.opening.length_mm
    start = plan.seam_start_mm
    where = [
        f"by {metric(too_long(section))} from {metric(start + section.band_start_mm)} to "
        f"{metric(start + section.band_end_mm)} on the band, where the inner edge is "
        f"{metric(inner(section))} long"
        for section in rippling
    ]
    yield Finding(
        code="band-ripples",
        severity=Severity.WARNING,
        piece=strip.name,
        seam=strip.finishes,
        size=size,
        message=(
            f"{strip.name} is too long to lie flat, though it takes {percent(cloth.eases_in)} of "
            f"ease: {'; '.join(where)}"
        ),
        remedy=f"Make the band at most {most:.3f} of the opening, or make it narrower",
    )


def _near_a_point(strip: Strip, band: Band, size: str) -> Finding:
    return Finding(
        code="join-near-point",
        severity=Severity.WARNING,
        piece=strip.name,
        seam=strip.finishes,
        size=size,
        message=(
            f"a join of {strip.name} comes {metric(band.clear_mm or 0.0)} from a point that "
            f"joins keep {metric(CLEAR_MM)} clear of"
        ),
        remedy="Name another point in join_at, or other points in joins_clear_of",
    )
