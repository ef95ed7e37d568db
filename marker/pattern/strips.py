"""Bands, bindings and belts: how long each is cut, from how many parts, and how it lies."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.geometry.polygons import turned
from marker.job import Job
from marker.pattern.edge import Edge
from marker.pattern.piece import CutPiece, Direction, Line, Piece, Strip
from marker.pattern.walk import walk
from marker.units import metric

LONG_EDGE = "long edge"  # what seams call the long side of a strip
_HAIR_MM = 1e-6  # a float's dust must not cost a join


@dataclass(frozen=True)
class StripPlan:
    """How one strip is cut, lengths in mm.

    finishes : the edges it finishes, 'piece.edge' each, joined by ' + '; empty for a free strip.
    opening_mm : their length on the stitching line, None for a free strip.
    cut_length_mm : the whole strip before its ends are closed, parts already joined.
    parts, part_length_mm : how many equal parts each strip is joined from, and their cut length.
    cut : how many whole strips one garment needs.
    """

    name: str
    finishes: str
    opening_mm: float | None
    cut_length_mm: float
    width_mm: float
    parts: int
    part_length_mm: float
    direction: Direction
    join_allowance_mm: float
    cut: int


def strip_plans(job: Job, cloth: Cloth) -> tuple[StripPlan, ...]:
    """How each strip of this cloth is cut, in the job's order.

    Raises CannotBeDone when a derived length is not positive or the cloth is too narrow.
    """
    return tuple(
        _plan(strip, job.pieces, cloth) for strip in job.strips if strip.cloth == cloth.name
    )


def cut_strip(plan: StripPlan, size: str, cloth: str) -> CutPiece:
    """The parts of a strip as one outline and its number of copies."""
    note = ""
    if plan.parts > 1:
        note = (
            f"joined from {plan.parts} parts, {plan.part_length_mm:.0f} mm each; "
            f"join allowance {plan.join_allowance_mm:g} mm"
        )
    on_bias = plan.direction is Direction.BIAS
    return CutPiece(
        name=plan.name,
        size=size,
        cloth=cloth,
        outline=_strip_outline(plan.part_length_mm, plan.width_mm, plan.direction),
        turns=(0.0, 90.0, 180.0, 270.0) if on_bias else (0.0, 180.0),
        copies=plan.parts * plan.cut,
        note=note,
    )


def _plan(strip: Strip, pieces: tuple[Piece, ...], cloth: Cloth) -> StripPlan:
    opening = walk(pieces, strip.finishes).length_mm if strip.finishes else None
    total = _cut_length(strip, opening)
    parts = _fewest_parts(strip, total, cloth)
    lost = 2 * strip.join_allowance_mm * (parts - 1)
    return StripPlan(
        name=strip.name,
        finishes=" + ".join(map(str, strip.finishes)),
        opening_mm=opening,
        cut_length_mm=total,
        width_mm=strip.width_mm,
        parts=parts,
        part_length_mm=(total + lost) / parts,
        direction=strip.direction,
        join_allowance_mm=strip.join_allowance_mm,
        cut=strip.cut,
    )


def _cut_length(strip: Strip, opening_mm: float | None) -> float:
    """Cut length of the whole strip: as given, or derived from the stitching line it finishes."""
    if opening_mm is None or strip.length_mm is not None:
        return float(strip.length_mm or 0.0)
    if strip.ratio is not None:
        between_joins = strip.ratio * opening_mm
    else:
        between_joins = opening_mm - (strip.shorter_by_mm or 0.0)
    if between_joins <= 0:
        raise CannotBeDone(
            f"strip {strip.name!r} comes out {metric(-between_joins)} less than nothing: the "
            f"opening it finishes is {metric(opening_mm)} long. Lower `shorter_by`, or check that "
            f"`finishes` lists every edge of the opening."
        )
    return between_joins + (2 * strip.join_allowance_mm if strip.closed else 0.0)


def _fewest_parts(strip: Strip, total_mm: float, cloth: Cloth) -> int:
    """Fewest equal parts, joined straight, that fit the cloth: N·L - 2a(N - 1) = total."""
    usable = cloth.usable_width_mm
    if strip.direction is Direction.LENGTHGRAIN:
        _demand_room(strip, usable - strip.width_mm, cloth)
        return 1
    longest = usable
    if strip.direction is Direction.BIAS:  # the box of L x w at 45° is (L + w)/√2 across the cloth
        longest = usable * math.sqrt(2) - strip.width_mm
    _demand_room(strip, longest, cloth)
    if total_mm <= longest + _HAIR_MM:
        return 1
    joins = 2 * strip.join_allowance_mm
    _demand_room(strip, longest - joins - _HAIR_MM, cloth)
    return math.ceil((total_mm - joins - _HAIR_MM) / (longest - joins))


def _demand_room(strip: Strip, room_mm: float, cloth: Cloth) -> None:
    if room_mm < 0:
        raise CannotBeDone(
            f"strip {strip.name!r}, {strip.direction}, {metric(strip.width_mm)} wide with join "
            f"allowances of {metric(strip.join_allowance_mm)}, does not fit across cloth "
            f"{cloth.name!r}, usable width {metric(cloth.usable_width_mm)}: {metric(-room_mm)} too "
            f"little even in parts. Take a wider cloth, a narrower strip or smaller joins."
        )


def _strip_outline(length: float, width: float, direction: Direction) -> FloatArray:
    """Strip with its box at the origin, x along the cloth; on the bias its length runs at +45°."""
    along = {Direction.CROSSGRAIN: 90.0, Direction.LENGTHGRAIN: 0.0, Direction.BIAS: 45.0}
    flat = np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])
    outline = turned(flat, along[direction], mirrored=False)
    return np.asarray(outline - outline.min(axis=0))


def strip_as_piece(strip: Strip) -> Piece:
    """A strip of given length as a piece, so that its long edge can be sewn into seams.

    Drawn on the stitching line: the long edge runs from join allowance to join allowance.
    """
    length = max((strip.length_mm or 0.0) - 2 * strip.join_allowance_mm, _HAIR_MM)
    outline = np.array([[0.0, 0.0], [length, 0.0], [length, strip.width_mm], [0.0, strip.width_mm]])
    edges = {LONG_EDGE: Edge(0, 1)}
    return Piece(strip.name, strip.cloth, outline, line=Line.STITCHING, edges=edges)
