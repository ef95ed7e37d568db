"""What `marker bands` says of each strip, as plain values for JSON and as lines for a person."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth
from marker.pattern.bands.band import Band
from marker.pattern.bands.band_findings import band_findings
from marker.pattern.bands.strip import ByRatio, Join, ShorterBy, Strip
from marker.pattern.bands.strip_layout import StripLayout
from marker.pattern.bands.strip_plan import StripPlan
from marker.units import inches, metric, percent

CORDS = (
    "Cords and ties on children's clothes have rules of their own, such as EN 14682 or ASTM F1816: "
    "look up those that hold where you are."
)


def band_facts(plan: StripPlan) -> dict[str, Any]:
    """One strip as plain values, lengths in mm to 0.1, stretch and ratio as shares."""
    strip, band, cloth = plan.strip, plan.band, plan.cloth
    return {
        "name": strip.name,
        "size": plan.size,
        "piece": strip.name,
        "cloth": cloth.name,
        "cut": strip.cut,
        "finishes": strip.finishes,
        "opening_mm": None if band is None else _mm(band.opening.length_mm),
        "ratio": None if band is None else round(band.ratio, 4),
        "seam_mm": None if band is None else _mm(band.seam_mm),
        "cut_length_mm": _mm(plan.cut_length_mm),
        "cut_width_mm": _mm(strip.width_mm),
        "unwashed_mm": plan.unwashed_mm and [_mm(mm) for mm in plan.unwashed_mm],
        "finished_width_mm": None if strip.finished_mm is None else _mm(strip.finished_mm),
        "fold": strip.fold,
        "direction": strip.direction,
        "parts": plan.parts.count,
        "part_length_mm": _mm(plan.parts.length_mm),
        "joins": _joins(plan),
        "marks": _marks(plan, band) if band else [],
        "zones": [_zone(k, plan, band) for k in range(len(band.sections))] if band else [],
        "cloth_stretch": cloth.stretch(strip.direction),
        "warnings": [f"{found.message}. {found.remedy}." for found in band_findings(plan)],
    }


def _mm(length: float) -> float:
    return round(length, 1)


def _joins(plan: StripPlan) -> list[dict[str, Any]]:
    """Joins by their distance from the cut end; the one that closes a ring is at both ends."""
    strip, band = plan.strip, plan.band
    join = {"kind": strip.join, "lost_mm": _mm(strip.lost_in_join_mm)}
    found = [{"at_mm": _mm(at), "closes": False, "garment": ""} | join for at in plan.joins_mm]
    if band is not None and band.opening.closed:
        place = str(band.opening.place(band.joined_at_mm))
        found.insert(0, {"at_mm": _mm(plan.seam_start_mm), "closes": True, "garment": place} | join)
    return found


def _marks(plan: StripPlan, band: Band) -> list[dict[str, Any]]:
    return [
        {
            "name": mark.name,
            "band_mm": _mm(plan.seam_start_mm + mark.band_mm),
            "opening_mm": _mm(mark.opening_mm),
            "garment": str(mark.garment),
        }
        for mark in band.marks
    ]


def _zone(number: int, plan: StripPlan, band: Band) -> dict[str, Any]:
    zone = band.sections[number]
    inside = plan.strip.finished_mm
    return {
        "start_mm": _mm(plan.seam_start_mm + zone.band_start_mm),
        "end_mm": _mm(plan.seam_start_mm + zone.band_end_mm),
        "opening_mm": _mm(zone.opening_mm),
        "inner_mm": None if inside is None else _mm(band.inner_mm(zone, inside)),
        "stretched": zone.stretched,
        "stretch": round(zone.stretch, 4) + 0.0,
    }


def band_lines(plan: StripPlan) -> Iterator[str]:
    """One strip as lines for a person."""
    strip, cloth, facts = plan.strip, plan.cloth, band_facts(plan)
    cut = plan.cut_length_mm, strip.width_mm
    yield (
        f"{strip.name}: cut {strip.cut} of {metric(cut[0])} × {metric(cut[1])} "
        f"({inches(cut[0])} × {inches(cut[1])}) from {cloth.name}, {strip.direction}"
    )
    if plan.unwashed_mm:
        length, width = plan.unwashed_mm
        yield (
            f"  unwashed cut {metric(length)} × {metric(width)} ({inches(length)} × "
            f"{inches(width)}): all else said of it here holds once it is washed"
        )
    yield from _width_lines(strip)
    if plan.band is not None:
        yield from _length_lines(plan, plan.band, cloth)
    if plan.parts.count > 1:
        yield (
            f"  parts    {plan.parts.count} of {metric(plan.parts.length_mm)}, each joined by "
            f"{_join_words(strip)}"
        )
    if facts["zones"]:
        yield "  zones    on the band   over the opening"
        yield from map(_zone_line, facts["zones"])
        yield "  marks    on the band   around the opening   on the garment"
        yield from map(_mark_line, facts["marks"])
    for warning in facts["warnings"]:
        yield f"  WARNING  {warning}"


def _width_lines(strip: Strip) -> Iterator[str]:
    if strip.fold is not None and strip.finished_mm is not None:
        yield (
            f"  width    {strip.fold} fold, finishes {metric(strip.finished_mm)} wide "
            f"({inches(strip.finished_mm)})"
        ).replace("flat fold", "flat")


def _length_lines(plan: StripPlan, band: Band, cloth: Cloth) -> Iterator[str]:
    strip, opening = plan.strip, band.opening
    edges = " + ".join(str(leg.ref) for leg in opening.walked.legs)
    yield f"  opening  {opening.name}, {metric(opening.length_mm)}: {edges}"
    if strip.finished_mm is not None:
        inner = opening.length_mm - opening.turn_rad * strip.finished_mm
        yield (
            f"  inside   it turns by {opening.turn_rad:.3f} rad, so {metric(strip.finished_mm)} "
            f"inside it is {metric(opening.length_mm)} - {opening.turn_rad:.3f} × "
            f"{metric(strip.finished_mm)} = {metric(inner)} long"
        )
    ends = _join_words(strip) if opening.closed else "its two ends"
    yield (
        f"  length   {_rule(plan, band)} = {metric(band.seam_mm)} when it is sewn together, + "
        f"{metric(2 * plan.seam_start_mm)} for {ends}"
    )
    gives = cloth.stretch(strip.direction)
    known = "its own stretch that way was not measured" if gives is None else (
        f"it gives {percent(gives)}"
    )  # fmt: skip
    yield (
        f"  stretch  1/{band.ratio:.3f} - 1 = {percent(1 / band.ratio - 1)} over all; "
        f"{cloth.name}: {known}"
    )


def _rule(plan: StripPlan, band: Band) -> str:
    opening = metric(band.opening.length_mm)
    rule = plan.strip.length
    if isinstance(rule, ByRatio):
        return f"{rule.ratio:g} × {opening}"
    if isinstance(rule, ShorterBy):
        return f"{opening} - {metric(rule.mm)}"
    return "the inner edge"


def _join_words(strip: Strip) -> str:
    if strip.join is Join.DIAGONAL:
        return "a diagonal join, which takes the strip's width"
    return f"a straight join, two allowances of {metric(strip.join_allowance_mm)}"


def _zone_line(zone: dict[str, Any]) -> str:
    span = f"{zone['start_mm'] / 10:.1f} to {zone['end_mm'] / 10:.1f} cm"
    how = f"stretched by {percent(zone['stretch'])}"
    if zone["stretch"] < 0:
        how = f"eased in by {percent(-zone['stretch'])}"
    if not zone["stretched"]:
        how = "not stretched"
    return f"           {span:<19} {zone['opening_mm'] / 10:.1f} cm, {how}"


def _mark_line(mark: dict[str, Any]) -> str:
    band, opening = f"{mark['band_mm'] / 10:.1f} cm", f"{mark['opening_mm'] / 10:.1f} cm"
    return f"           {band:<13} {opening:<20} {mark['garment']}: {mark['name']}"


def layout_facts(layout: StripLayout) -> dict[str, Any]:
    """The strips of one cloth cut by themselves, as plain values."""
    return {
        "cloth": layout.cloth.name,
        "length_mm": _mm(layout.length_mm),
        "rows": [
            {
                "direction": row.direction,
                "width_mm": _mm(row.width_mm),
                "used_mm": _mm(row.used_mm),
                "parts": [{"strip": name, "length_mm": _mm(mm)} for name, mm in row.parts],
            }
            for row in layout.rows
        ],
        "bias_squares": [
            {
                "width_mm": _mm(square.width_mm),
                "length_mm": _mm(square.length_mm),
                "side_mm": _mm(square.side_mm),
            }
            for square in layout.squares
        ],
    }


_ROW = {
    Direction.CROSSGRAIN: "cross-cut",
    Direction.LENGTHGRAIN: "row along the cloth",
    Direction.BIAS: "row at 45°",
}


def layout_lines(layout: StripLayout) -> Iterator[str]:
    """The strips of one cloth cut by themselves, as lines for a person."""
    yield f"Strips of {layout.cloth.name} by themselves take {metric(layout.length_mm)} of cloth:"
    for direction in Direction:
        rows = layout.rows_along(direction)
        for row in rows:
            parts = " + ".join(f"{name} {metric(mm)}" for name, mm in _counted(row.parts))
            yield f"  1 {_ROW[direction]} of {metric(row.width_mm)}: {parts}"
        if direction is Direction.BIAS and rows:
            yield "  each row steps its width × √2 along the selvage: " + ", ".join(
                f"{metric(width)} × √2 = {metric(width * 2**0.5)}"
                for width in dict.fromkeys(row.width_mm for row in rows)
            )
    for square in layout.squares:
        yield (
            f"  or continuous bias from a square: {metric(square.length_mm)} × "
            f"{metric(square.width_mm)} = {square.area_mm2 / 100:.0f} cm²; its side is the root of "
            f"that, {metric(square.side_mm)} ({inches(square.side_mm)}), and two seam allowances"
        )


def _counted(parts: Sequence[tuple[str, float]]) -> Iterator[tuple[str, float]]:
    """Equal parts of one strip once, with their number."""
    for name, mm in dict.fromkeys(parts):
        count = parts.count((name, mm))
        yield (f"{count} × {name}" if count > 1 else name), mm
