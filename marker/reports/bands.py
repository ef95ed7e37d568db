"""What `marker bands` says of each strip: facts for JSON, and lines for a person."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth
from marker.pattern.bands.band import Band
from marker.pattern.bands.band_findings import band_findings
from marker.pattern.bands.sections import PLAIN
from marker.pattern.bands.strip import AtPoint, ByRatio, Fold, Join, Lap, Lies, ShorterBy, Strip
from marker.pattern.bands.strip_plan import StripPlan
from marker.reports.facts import Mark, Mm, Share
from marker.reports.strips_alone import CostFacts, StripsFacts
from marker.units import cut_figure, cut_length, cut_lengths, cut_place, cut_size, percent, shown


@dataclass(frozen=True, kw_only=True)
class JoinFacts:
    """A join of a strip. closes : the one that makes it a ring, which is at both its ends."""

    at_mm: Mm
    closes: bool
    garment: str
    kind: Join
    lost_mm: Mm


@dataclass(frozen=True)
class MarkFacts:
    """A mark on a band, its place around the opening and on the garment. letter : on drawings."""

    name: str
    band_mm: Mm
    opening_mm: Mm
    garment: str
    letter: Annotated[str, Mark.HIDDEN] = ""


@dataclass(frozen=True, kw_only=True)
class PointFacts:
    """Where a band goes round a corner of its opening. mitre_mm : how far either side of it the
    mitre begins on the inner edge; None where that is not known or the ends are lapped."""

    at_mm: Mm
    opening_mm: Mm
    turn_deg: Mm
    made: AtPoint
    mitre_mm: Mm | None
    garment: str


@dataclass(frozen=True, kw_only=True)
class ZoneFacts:
    """A section of a band. inner_mm : of the finished band's inner edge, None if not known."""

    start_mm: Mm
    end_mm: Mm
    opening_mm: Mm
    inner_mm: Mm | None
    stretched: bool
    stretch: Share


@dataclass(frozen=True, kw_only=True)
class BandFacts:
    """One strip; lengths in mm, stretch and ratio as shares. Opening, ratio and seam are None for
    a strip that finishes nothing."""

    name: str
    size: str
    piece: str
    cloth: str
    cut: int
    finishes: str | None
    opening_mm: Mm | None
    ratio: Share | None
    seam_mm: Mm | None
    cut_length_mm: Mm
    cut_width_mm: Mm
    unwashed_mm: tuple[Mm, Mm] | None
    finished_width_mm: Mm | None
    fold: Fold | None
    direction: Direction
    parts: int
    part_length_mm: Mm
    joins: tuple[JoinFacts, ...]
    lies: Lies
    start_lap: Lap | None
    end_lap: Lap | None
    points: tuple[PointFacts, ...]
    marks: tuple[MarkFacts, ...]
    zones: tuple[ZoneFacts, ...]
    cloth_stretch: float | None
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class BandsReport:
    """The strips of each size, the strips of each cloth by themselves, what these cost."""

    bands: tuple[BandFacts, ...]
    strips: tuple[StripsFacts, ...]
    costs: tuple[CostFacts, ...]
    files: tuple[Path, ...]


def band_facts(plan: StripPlan) -> BandFacts:
    """The facts of one strip."""
    strip, band, cloth = plan.strip, plan.band, plan.cloth
    return BandFacts(
        name=strip.name,
        size=plan.size,
        piece=strip.name,
        cloth=cloth.name,
        cut=strip.cut,
        finishes=strip.finishes,
        opening_mm=None if band is None else band.opening.length_mm,
        ratio=None if band is None else band.ratio,
        seam_mm=None if band is None else band.seam_mm,
        cut_length_mm=plan.cut_length_mm,
        cut_width_mm=strip.width_mm,
        unwashed_mm=plan.unwashed_mm,
        finished_width_mm=strip.finished_mm,
        fold=strip.fold,
        direction=strip.direction,
        parts=plan.parts.count,
        part_length_mm=plan.parts.length_mm,
        joins=tuple(_joins(plan)),
        lies=strip.lies,
        start_lap=strip.start_lap,
        end_lap=strip.end_lap,
        points=_points(plan, band) if band else (),
        marks=_marks(plan, band) if band else (),
        zones=tuple(_zone(k, plan, band) for k in range(len(band.sections))) if band else (),
        cloth_stretch=cloth.stretch(strip.direction),
        warnings=tuple(f"{found.message}. {found.remedy}." for found in band_findings(plan)),
    )


def _joins(plan: StripPlan) -> Iterator[JoinFacts]:
    """The join that closes a ring first, then those between the parts."""
    strip, band = plan.strip, plan.band
    lost = strip.lost_in_join_mm

    def join(at_mm: float, closes: bool, garment: str) -> JoinFacts:
        return JoinFacts(at_mm=at_mm, closes=closes, garment=garment, kind=strip.join, lost_mm=lost)

    if band is not None and band.opening.closed and strip.point is not AtPoint.LAPPED:
        place = str(band.opening.place(band.joined_at_mm))
        yield join(plan.seam_start_mm, True, place)
    yield from (join(at, False, "") for at in plan.joins_mm)


def _marks(plan: StripPlan, band: Band) -> tuple[MarkFacts, ...]:
    start = plan.seam_start_mm
    return tuple(
        MarkFacts(mark.name, start + mark.band_mm, mark.opening_mm, str(mark.garment), mark.letter)
        for mark in band.marks
    )


def _points(plan: StripPlan, band: Band) -> tuple[PointFacts, ...]:
    return tuple(
        PointFacts(
            at_mm=plan.seam_start_mm + point.band_mm,
            opening_mm=point.opening_mm,
            turn_deg=math.degrees(point.turn_rad),
            made=point.made,
            mitre_mm=point.mitre_mm,
            garment=str(point.garment),
        )
        for point in band.points
    )


def _zone(number: int, plan: StripPlan, band: Band) -> ZoneFacts:
    zone = band.sections[number]
    inside = plan.strip.finished_mm
    return ZoneFacts(
        start_mm=plan.seam_start_mm + zone.band_start_mm,
        end_mm=plan.seam_start_mm + zone.band_end_mm,
        opening_mm=zone.opening_mm,
        inner_mm=None if inside is None else band.inner_mm(zone, inside),
        stretched=zone.stretched,
        stretch=zone.stretch,
    )


def band_lines(plan: StripPlan) -> Iterator[str]:
    """One strip as lines for a person."""
    strip, cloth, facts = plan.strip, plan.cloth, band_facts(plan)
    cut = plan.cut_length_mm, strip.width_mm
    yield (
        f"{strip.name}: cut {strip.cut} of {cut_size(*cut)} from {cloth.name}, {strip.direction}"
    )
    if plan.unwashed_mm:
        size = cut_size(*plan.unwashed_mm)
        yield f"  unwashed cut {size}: all else said of it here holds once it is washed"
    yield from _width_lines(strip)
    if plan.band is not None:
        yield from _length_lines(plan, plan.band, cloth)
    yield from _part_lines(plan)
    if facts.zones:
        yield f"  sections {'on the band':<23} over the opening"
        yield from map(_zone_line, facts.zones)
        yield "  marks    on the band   around the opening   on the garment"
        yield from map(_mark_line, facts.marks)
    for warning in facts.warnings:
        yield f"  WARNING  {warning}"


def tape_lines(plan: StripPlan) -> Iterator[str]:
    """A band for an opening of which the length alone is known, as lines for a person."""
    strip, facts, band = plan.strip, band_facts(plan), plan.band
    assert band is not None, "it finishes its opening"
    yield (
        f"band: cut {cut_size(plan.cut_length_mm, strip.width_mm)} for an opening of "
        f"{cut_lengths(band.opening.length_mm)}"
    )
    yield from _width_lines(strip)
    yield from _sum_lines(plan, band)
    if band.ratio < 1:
        needed = percent(1 / band.ratio - 1)
        yield f"  stretch  1/{band.ratio:.3f} - 1 = {needed}: the cloth must give that much"
    yield from _part_lines(plan)
    yield "  marks    on the band   around the opening"
    for mark in facts.marks:
        name = mark.name.removesuffix(", seam")
        yield f"           {cut_place(mark.band_mm):<13} {cut_place(mark.opening_mm)}: {name}"


def _width_lines(strip: Strip) -> Iterator[str]:
    if strip.fold is not None and strip.finished_mm is not None:
        yield (
            f"  width    {strip.fold} fold, finished width {cut_lengths(strip.finished_mm)}"
        ).replace("flat fold", "flat")


def _length_lines(plan: StripPlan, band: Band, cloth: Cloth) -> Iterator[str]:
    strip, opening = plan.strip, band.opening
    edges = " + ".join(str(leg.ref) for leg in opening.walked.legs)
    yield f"  opening  {opening.name}, {cut_length(opening.length_mm)}: {edges}"
    if strip.finished_mm is not None and strip.lies is Lies.FLAT:
        turn = round(math.degrees(opening.smooth_turn_rad), 1) + 0.0
        width = cut_length(strip.finished_mm)
        inner = opening.inner_mm(strip.finished_mm)
        mitres = opening.length_mm - opening.smooth_turn_rad * strip.finished_mm - inner
        less = f" - {cut_length(mitres)} in its corners" if opening.corners else ""
        yield (
            f"  inside   it turns smoothly by {turn:g}°, so {width} inside it is "
            f"{cut_length(opening.length_mm)} {'-' if turn >= 0 else '+'} "
            f"{abs(turn):g}°/360° × 2π × {width}{less} = {cut_length(inner)} long"
        )
    yield from _point_lines(plan, band)
    yield from _sum_lines(plan, band)
    gives = cloth.stretch(strip.direction)
    known = "its own stretch that way was not measured" if gives is None else (
        f"it gives {percent(gives)}"
    )  # fmt: skip
    yield (
        f"  stretch  1/{band.ratio:.3f} - 1 = {percent(1 / band.ratio - 1)} over all; "
        f"{cloth.name}: {known}"
    )


def _sum_lines(plan: StripPlan, band: Band) -> Iterator[str]:
    """What the cut length is made of."""
    strip, opening = plan.strip, band.opening
    ends = _join_words(strip) if opening.closed else "its two ends"
    if strip.point is AtPoint.LAPPED:
        ends = "its two ends, which lap"
    beyond = plan.cut_length_mm - band.seam_mm - sum(strip.laps_mm)
    laps = "".join(
        f" + {cut_length(lap.mm)} {lap.kind} at its {end} end"
        for end, lap in (("first", strip.start_lap), ("last", strip.end_lap))
        if lap
    )
    yield (
        f"  length   {_rule(plan, band)} = {cut_length(band.seam_mm)} when it is sewn together, + "
        f"{cut_length(beyond)} for {ends}{laps}"
    )


def _part_lines(plan: StripPlan) -> Iterator[str]:
    if plan.parts.count > 1:
        yield (
            f"  parts    {plan.parts.count} of {cut_length(plan.parts.length_mm)}, each joined by "
            f"{_join_words(plan.strip)}"
        )


def _point_lines(plan: StripPlan, band: Band) -> Iterator[str]:
    for point in _points(plan, band):
        where = f"{point.garment}, {cut_place(point.at_mm)} on the band"
        how = "mitred there along the line that halves the corner"
        if point.made is AtPoint.LAPPED:
            how = (
                f"each end is cut {cut_length(plan.seam_start_mm)} past it and caught in the seam "
                "of the other side"
            )
        elif point.mitre_mm is not None:
            how = (
                f"a mitre from there to {cut_length(point.mitre_mm)} either side on the inner edge"
            )
        yield f"  point    {where}, turns by {point.turn_deg:.0f}°: {how}"


def _rule(plan: StripPlan, band: Band) -> str:
    opening = cut_length(band.opening.length_mm)
    if plan.strip.lies is Lies.STANDING and plan.strip.length == ShorterBy(0.0):
        return "as long as its opening"
    rule = plan.strip.length
    if isinstance(rule, ByRatio):
        return f"{rule.ratio:g} × {opening}"
    if isinstance(rule, ShorterBy):
        return f"{opening} - {cut_length(rule.mm)}"
    opens = " without its corners" if band.opening.corners else ""
    return f"the inner edge{opens}"


def _join_words(strip: Strip) -> str:
    if strip.join is Join.DIAGONAL:
        return "a diagonal join, which takes the strip's width"
    return f"a straight join, two allowances of {cut_length(strip.join_allowance_mm)}"


def _zone_line(zone: ZoneFacts) -> str:
    span = f"{cut_figure(zone.start_mm, shown().lead)} to {cut_place(zone.end_mm)}"
    how = f"stretched by {percent(zone.stretch)}"
    if zone.stretch < 0:
        how = f"eased in by {percent(-zone.stretch)}"
    if abs(zone.stretch) < PLAIN:
        how = "not stretched"
    return f"           {span:<23} {cut_place(zone.opening_mm)}, {how}"


def _mark_line(mark: MarkFacts) -> str:
    band, opening = cut_place(mark.band_mm), cut_place(mark.opening_mm)
    return f"  {mark.letter:>7}  {band:<13} {opening:<20} {mark.garment}: {mark.name}"
