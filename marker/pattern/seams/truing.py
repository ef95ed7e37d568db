"""Truing: which edge to shorten or lengthen, and by how much, so that a seam's sides meet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from marker.pattern.edge import EdgeRef
from marker.pattern.seams.walk import Leg, Walk
from marker.units import metric

LEAST_EDIT_MM = 0.5  # nobody cuts finer: common practice, no source


@dataclass(frozen=True)
class Edit:
    """A change of one edge.

    by_mm : how much too long the edge is, folds opened; below 0 if it is too short.
    halves : 2 if only half of it is drawn. listed : how often the edge is sewn in this seam.
    """

    ref: EdgeRef
    by_mm: float
    halves: int
    listed: int

    def __str__(self) -> str:
        """'shorten skirt front.waist by 6 mm, 3 mm on the half drawn'."""
        verb = "shorten" if self.by_mm > 0 else "lengthen"
        edge = f"{self.ref.piece}.{self.ref.edge}"
        half = f", {metric(abs(self.by_mm) / 2)} on the half drawn" if self.halves == 2 else ""
        each = f" (each of {self.listed})" if self.listed > 1 else ""
        return f"{verb} {edge} by {metric(abs(self.by_mm))}{half}{each}"


def length_edits(measure: Walk, own: Walk, more_ease_mm: float) -> list[Edit]:
    """What makes `own` as long as `measure` and `more_ease_mm`.

    Each edge is held against the one it lies on if both sides are made up alike; otherwise the
    difference is shared out by length.
    """
    off = own.length_mm - measure.length_mm - more_ease_mm
    by_edge = leg_differences(measure, own, more_ease_mm)
    alike = sum(map(abs, by_edge)) <= abs(off) + LEAST_EDIT_MM * len(by_edge)
    if not by_edge or not alike:
        by_edge = [off * leg.length_mm / own.length_mm for leg in own.legs]
    return edits(own.legs, by_edge)


def leg_differences(measure: Walk, own: Walk, more_ease_mm: float) -> list[float]:
    """How much longer each edge is than the one it lies on; empty for sides of unlike make-up."""
    if len(measure.legs) != len(own.legs):
        return []
    return [
        leg.length_mm - other.length_mm - more_ease_mm * leg.length_mm / own.length_mm
        for leg, other in zip(own.legs, measure.legs, strict=True)
    ]


def edits(legs: Sequence[Leg], by_mm: Sequence[float]) -> list[Edit]:
    """One edit for each edge that is off by more than a hair, an edge listed twice once; the
    largest first."""
    shares: dict[tuple[str, str], list[float]] = {}
    by_name = {(leg.ref.piece, leg.ref.edge): leg for leg in legs}
    for leg, by in zip(legs, by_mm, strict=True):
        shares.setdefault((leg.ref.piece, leg.ref.edge), []).append(by)
    found = [
        Edit(by_name[name].ref, sum(share) / len(share), by_name[name].halves, len(share))
        for name, share in shares.items()
    ]
    found.sort(key=lambda edit: -abs(edit.by_mm))
    return [edit for edit in found if abs(edit.by_mm) >= LEAST_EDIT_MM] or found[:1]


def said(changes: Sequence[Edit]) -> str:
    """All the edits as one remedy."""
    text = "; ".join(map(str, changes))
    return text[:1].upper() + text[1:]
