"""What would go wrong when a band is sewn on."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

from marker.cloth.fabric import Cloth
from marker.pattern.bands.band import CLEAR_MM, Band, fitted, points_clear_of
from marker.pattern.bands.sections import Section
from marker.pattern.bands.strip import Lies, Strip
from marker.pattern.bands.strip_plan import StripPlan
from marker.pattern.finding import Finding, FindingCode, Severity
from marker.units import cut_length, cut_length_down, cut_length_up, percent, percent_up

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
        found.append(_near_a_point(plan, band))
    return tuple(found)


def bands_findings(plans: Iterable[StripPlan]) -> tuple[Finding, ...]:
    """The findings of every band among these strips."""
    return tuple(finding for plan in plans for finding in band_findings(plan))


def _overstretched(strip: Strip, band: Band, cloth: Cloth, size: str) -> Iterator[Finding]:
    gives = cloth.stretch(strip.direction)
    worst = max(band.sections, key=lambda section: section.stretch)
    if gives is None or worst.stretch <= gives + _HAIR:
        return
    length = band.opening.length_mm
    still = length - sum(z.opening_mm for z in band.sections if z.stretched)
    least = still + (length - still) / (1 + gives)
    yield Finding(
        code=FindingCode.STRETCH_BEYOND_CLOTH,
        severity=Severity.ERROR,
        piece=strip.name,
        seam=strip.finishes,
        size=size,
        message=(
            f"{strip.name} must stretch by {percent(worst.stretch)} over "
            f"{cut_length(worst.opening_mm)} of its opening, and {cloth.name} gives "
            f"{percent(gives)} "
            f"along the {strip.direction}"
        ),
        remedy=(
            f"Make the band at least {math.ceil(1000 * least / length) / 1000:.3f} of the opening, "
            f"{cut_length_up(least)} between its joins, or cut it where the cloth stretches by "
            f"{percent_up(worst.stretch)} or more, or take a cloth that does"
        ),
    )


def _ripples(plan: StripPlan, band: Band, cloth: Cloth, size: str) -> Iterator[Finding]:
    """A band is eased into the opening's inner edge, as far as the cloth can be eased in. Of the
    sections where it is too long for that, the worst is named first."""
    strip = plan.strip
    if strip.lies is Lies.STANDING:  # its far edge is as long as its seam
        return
    width = strip.finished_mm or 0.0
    stretched = [section for section in band.sections if section.stretched]
    too_long = {
        section: _too_long_mm(band, section, width, cloth)
        for section in stretched
        if _too_long_mm(band, section, width, cloth) > _HAIR
    }
    if not too_long:
        return
    start = plan.seam_start_mm
    where = [
        f"by {cut_length(too_long[section])} from {cut_length(start + section.band_start_mm)} to "
        f"{cut_length(start + section.band_end_mm)} on the band, where the inner edge is "
        f"{cut_length(band.inner_mm(section, width))} long"
        for section in sorted(too_long, key=lambda section: -too_long[section])
    ]
    length = band.opening.length_mm
    still = length - sum(section.opening_mm for section in stretched)
    # all that is stretched shares one ratio, so that the worst section says what it may be
    ratio = min(
        (section.band_mm - _too_long_mm(band, section, width, cloth)) / section.opening_mm
        for section in stretched
    )
    most = (still + (length - still) * ratio) / length
    yield Finding(
        code=FindingCode.BAND_RIPPLES,
        severity=Severity.WARNING,
        piece=strip.name,
        seam=strip.finishes,
        size=size,
        message=(
            f"{strip.name} is too long to lie flat, though it takes {percent(cloth.eases_in)} of "
            f"ease: {'; '.join(where)}"
        ),
        remedy=f"Make the band at most {math.floor(1000 * most) / 1000:.3f} of the opening"
        + _narrower(band, stretched, cloth),
    )


def _too_long_mm(band: Band, section: Section, width_mm: float, cloth: Cloth) -> float:
    """By how much a section of a band that finishes this wide cannot be eased in; below 0 if it
    can. It grows evenly with the width."""
    inside = band.mitred_mm(section, width_mm)
    return section.band_mm - inside - band.inner_mm(section, width_mm) / (1 - cloth.eases_in)


def _narrower(band: Band, stretched: Iterable[Section], cloth: Cloth) -> str:
    """The width at which all of it lies flat, where there is one."""
    widest = math.inf
    for section in stretched:
        none = _too_long_mm(band, section, 0.0, cloth)
        more = _too_long_mm(band, section, 1.0, cloth) - none
        if more > 0:
            widest = min(widest, -none / more)
    return (
        f", or finish it at most {cut_length_down(widest)} wide" if 0.1 <= widest < math.inf else ""
    )


def _near_a_point(plan: StripPlan, band: Band) -> Finding:
    strip = plan.strip
    return Finding(
        code=FindingCode.JOIN_NEAR_POINT,
        severity=Severity.WARNING,
        piece=strip.name,
        seam=strip.finishes,
        size=plan.size,
        message=(
            f"a join of {strip.name} comes {cut_length(band.clear_mm or 0.0)} from a point that "
            f"joins keep {cut_length(CLEAR_MM)} clear of"
        ),
        remedy=_join_elsewhere(plan, band),
    )


def _join_elsewhere(plan: StripPlan, band: Band) -> str:
    """A point where it may be joined, or else the points that it cannot keep clear of."""
    strip, opening = plan.strip, band.opening

    def clear(changed: Strip) -> bool:
        tried = fitted(changed, opening, band.seam_mm, plan.parts.count)
        return tried.clear_mm is None or tried.clear_mm >= CLEAR_MM - _HAIR

    if strip.join_at and clear(replace(strip, join_at="")):
        named = [name for name in opening.points if clear(replace(strip, join_at=name))]
        return f"Say join_at = {named[0]!r}" if named else "Leave out join_at"
    kept = points_clear_of(strip, opening)
    while kept:
        kept = kept[:-1]
        if clear(replace(strip, join_at="", joins_clear_of=tuple(kept))):
            break
    listed = ", ".join(f'"{name}"' for name in kept)
    without = " and leave out join_at" if strip.join_at else ""
    return f"Say joins_clear_of = [{listed}]{without}"
