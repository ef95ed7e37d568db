"""Grading: corners of the sample size moved by rules, and curves fitted until seams meet again.

Corners moved by rules leave a little between the sides of a seam whose curves differ in shape, such
as a sleeve's cap and its armhole. The first side is the measure, as in the seam report. The
curves of the others are made fuller or flatter; their ends, and the angles there, stay.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.geometry.outline import stretch_points
from marker.pattern.bands.strip import CutLength
from marker.pattern.bands.strip_plan import strip_as_piece
from marker.pattern.derived import rederived
from marker.pattern.edge import EdgeRef, Notch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.seams.sewing import Seam
from marker.pattern.seams.walk import Walk, walk
from marker.pattern.stitching import edge_length_mm
from marker.tolerances import SAME_LINE_MM, SAME_POINT_MM

MOST_FULLER = 0.5
"""Share of its rise by which a curve may be changed; beyond it, it is not the curve drawn."""

_LEAST_RISE = 0.005  # of its chord, for an edge to count as a curve
_ROUNDS = 8


@dataclass(frozen=True)
class GradeRule:
    """A named rule: where a point of the sample size lies in each other size.

    moves_mm : size -> (dx, dy), mm from the sample size's point, x to the right and y up in the
        drawing; (0, 0) for the sample size.
    """

    name: str
    moves_mm: Mapping[str, tuple[float, float]]


def graded_piece(sample: Piece, outline: FloatArray, kept: frozenset[int]) -> Piece:
    """The sample size's piece with its outline in another size, vertex by vertex the same.

    A notch stays at the share of its edge's stitching line where it stood, except those `kept` (by
    their place in `notches`), which stay at their distance. Raises CannotBeDone where no stitching
    line is left.
    """
    graded = replace(sample, outline=outline)

    def moved(notch: Notch) -> Notch:
        ratio = edge_length_mm(graded, notch.edge) / edge_length_mm(sample, notch.edge)
        return replace(notch, at_mm=notch.at_mm * ratio)

    notches = (
        notch if number in kept else moved(notch) for number, notch in enumerate(sample.notches)
    )
    return replace(graded, notches=tuple(notches))


def carried(points: FloatArray, outline: FloatArray, graded: FloatArray) -> FloatArray:
    """Where points (k, 2) of an outline lie once its vertices (n, 2) have moved.

    Each moves by a mean of the vertices' moves, weighted by its mean value coordinates (Hormann &
    Floater 2006, 'Mean value coordinates for arbitrary planar polygons'). It stays in its place
    where the outline is moved, turned, or scaled along either axis.
    """
    return np.array([point + _weights(point, outline) @ (graded - outline) for point in points])


def _weights(point: FloatArray, outline: FloatArray) -> FloatArray:
    """Mean value coordinates of a point, (n,), adding up to 1."""
    spokes = outline - point
    radii = np.hypot(*spokes.T)
    if radii.min() < SAME_POINT_MM:
        return np.asarray(np.arange(len(outline)) == np.argmin(radii), dtype=np.float64)
    after, radii_after = np.roll(spokes, -1, axis=0), np.roll(radii, -1)
    cross = spokes[:, 0] * after[:, 1] - spokes[:, 1] * after[:, 0]
    dot = (spokes * after).sum(axis=1)
    on_edge = (dot < 0) & (np.abs(cross) < SAME_POINT_MM * np.hypot(*(after - spokes).T))
    if on_edge.any():
        first = int(np.argmax(on_edge))
        share = radii[first] / (radii[first] + radii_after[first])
        found = np.zeros(len(outline))
        found[[first, (first + 1) % len(outline)]] = 1 - share, share
        return found
    half = np.tan(np.arctan2(cross, dot) / 2)
    weights = (half + np.roll(half, 1)) / radii
    return np.asarray(weights / weights.sum())


def with_true_seams(pattern: Pattern, sample: Pattern, by_rules: Collection[str]) -> Pattern:
    """The pattern with its seams' sides differing by what they differ in the sample.

    by_rules : names of the pieces graded by rules, whose curves may be fitted. An edge is fitted
    once, for the first seam that asks for it; what straight edges miss is left to the seam report.
    """
    pieces = {piece.name: piece for piece in pattern.pieces}
    fitted: set[tuple[str, str]] = set()
    for seam, own in zip(pattern.seams, sample.seams, strict=True):
        measure, *others = _walks(pattern, pieces.values(), seam)
        measure_0, *others_0 = _walks(sample, sample.pieces, own)
        grown = _sewn(measure, seam, 0) - _sewn(measure_0, own, 0)
        for k, (side, side_0) in enumerate(zip(others, others_0, strict=True), start=1):
            short = _sewn(side_0, own, k) + grown - _sewn(side, seam, k)
            curves = [
                leg
                for leg in side.legs
                if leg.ref.piece in by_rules
                and _key(leg.ref) not in fitted
                and _rise(pieces[leg.ref.piece], leg.ref.edge).any()
            ]
            fitted |= {_key(leg.ref) for leg in [*measure.legs, *side.legs]}
            if abs(short) > SAME_LINE_MM and curves:
                total = sum(leg.length_mm for leg in curves)
                for leg in {_key(leg.ref): leg for leg in curves}.values():
                    name = leg.ref.piece
                    wanted = leg.drawn_mm + short * leg.length_mm / total / leg.halves
                    pieces[name] = _fuller(pieces[name], leg.ref.edge, wanted)
    return replace(pattern, pieces=rederived(pieces.values()))


def _walks(pattern: Pattern, pieces: Iterable[Piece], seam: Seam) -> list[Walk]:
    strips = [s for s in pattern.strips if isinstance(s.length, CutLength)]
    drawn = [*pieces, *map(strip_as_piece, strips)]
    return [walk(drawn, side.edges) for side in seam.sides]


def _sewn(side: Walk, seam: Seam, number: int) -> float:
    """Length of a side once its ease is sewn in."""
    return side.length_mm - seam.sides[number].ease_mm


def _key(ref: EdgeRef) -> tuple[str, str]:
    return ref.piece, ref.edge


def _rise(piece: Piece, edge: str) -> FloatArray:
    """What makes the edge fuller, (k, 2): how far it rises over its chord, fading to its ends so
    that the angles there stay; nothing for a straight edge."""
    stretch = piece.edges[edge]
    line = stretch_points(piece.outline, stretch.start, stretch.end)
    chord = line[-1] - line[0]
    length = float(np.hypot(*chord))
    if length <= SAME_LINE_MM:
        return np.zeros_like(line)
    across = np.array([-chord[1], chord[0]]) / length
    rise = (line - line[0]) @ across
    if np.abs(rise).max() < _LEAST_RISE * length:
        return np.zeros_like(line)
    steps = np.diff(line, axis=0)
    reached = np.concatenate([[0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))])
    share = reached / reached[-1]
    return np.asarray(np.outer(4 * share * (1 - share) * rise, across))


def _fuller(piece: Piece, edge: str, wanted_mm: float) -> Piece:
    """The piece with its edge's stitching line of the wanted length, by the secant method; as it
    is where that would take more than the curve bears."""
    stretch, rise = piece.edges[edge], _rise(piece, edge)
    vertices = (stretch.start + np.arange(len(rise))) % len(piece.outline)

    def by(share: float) -> Piece:
        outline = piece.outline.copy()
        outline[vertices] += share * rise
        return replace(piece, outline=outline)

    before, share = 0.0, 0.01
    off = edge_length_mm(piece, edge) - wanted_mm
    for _ in range(_ROUNDS):
        now = edge_length_mm(by(share), edge) - wanted_mm
        if abs(now) < SAME_LINE_MM / 4:
            return _with_notches_shared(by(share), piece, edge)
        if now == off:
            break
        before, share, off = share, share - now * (share - before) / (now - off), now
        if abs(share) > MOST_FULLER:
            break
    return piece


def _with_notches_shared(fitted: Piece, piece: Piece, edge: str) -> Piece:
    """Notches of the edge at the share of its length where they stood."""
    ratio = edge_length_mm(fitted, edge) / edge_length_mm(piece, edge)
    notches = (
        replace(notch, at_mm=notch.at_mm * ratio) if notch.edge == edge else notch
        for notch in piece.notches
    )
    fullness = (taken.at_share(ratio) if taken.edge == edge else taken for taken in piece.fullness)
    return replace(fitted, notches=tuple(notches), fullness=tuple(fullness))
