"""The seam report as plain values for JSON and as lines for a person."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from marker.pattern.finding import Finding
from marker.pattern.seams.seam_report import SeamReport, SideReport
from marker.units import inches, metric


def seam_facts(report: SeamReport) -> dict[str, Any]:
    """One seam: its sides, each with its lengths in mm; the side marked `measure` leads."""
    return {
        "name": report.seam.name,
        "size": report.size,
        "tolerance_mm": report.seam.tolerance_mm,
        "sides": [
            _side(side) | {"measure": number == report.measure}
            for number, side in enumerate(report.sides)
        ],
    }


def _side(side: SideReport) -> dict[str, Any]:
    walk = side.walk
    return {
        "edges": [str(leg.ref) for leg in walk.legs],
        "length_mm": round(walk.length_mm, 2),
        "flattening_error_mm": round(walk.flattening_error_mm, 3),
        "ease_mm": round(side.side.ease_mm, 2),
        "difference_mm": round(side.difference_mm, 2),
        "notches_mm": sorted(round(at, 2) for mark in walk.marks for at in mark.at_mm),
    }


def finding_facts(finding: Finding) -> dict[str, str]:
    """One finding, all texts."""
    return {key: str(value) for key, value in asdict(finding).items()}


def seam_lines(seam: dict[str, Any]) -> Iterator[str]:
    """`seam_facts` as lines for a person."""
    yield seam["name"]
    for side in seam["sides"]:
        length = side["length_mm"]
        yield (
            f"  {length / 10:6.1f} cm ({inches(length)})  {' + '.join(side['edges'])}"
            f"{_ease(side['ease_mm'])}{_off(side, seam['tolerance_mm'])}"
        )


def _ease(mm: float) -> str:
    if mm == 0:
        return ""
    return f", {metric(mm)} eased in" if mm > 0 else f", stretched by {metric(-mm)}"


def _off(side: dict[str, Any], tolerance_mm: float) -> str:
    off = side["difference_mm"]
    if abs(off) <= tolerance_mm:
        return ""
    return f", {metric(abs(off))} too {'long' if off > 0 else 'short'}"


def finding_lines(finding: dict[str, Any]) -> Iterator[str]:
    """A finding as lines for a person, its remedy below it."""
    yield f"{finding['severity']}: {finding['message']}"
    yield f"  {finding['remedy']}."
