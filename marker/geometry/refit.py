"""An outline in another size: its corners moved, the edges between them fitted again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from marker.geometry.arrays import ComplexArray, FloatArray
from marker.geometry.outline import polyline_length, stretch_points

STRAIGHT_WITHIN = 1e-3
"""A bend of less than this share of its chord leaves an edge straight."""

SHORT_CHORD = 0.25
"""An edge whose ends are nearer than this share of its length has no direction to keep."""


def refitted(
    points: FloatArray, corners: Sequence[int], moves: Mapping[int, FloatArray]
) -> FloatArray:
    """The outline with its corners moved, (n, 2).

    points : (n, 2), closed. corners : vertices, ascending, at least two. moves : corner -> (2,) by
    which it moves; those between two of them move by their share of the way along the outline.

    Every edge is turned and scaled with its ends, so that a straight one stays straight and a curve
    keeps its shape. The ends of a curve are bent besides (a cubic of no height at either end), so
    that it meets its neighbours at the angle it did: what was square or smooth stays so.
    """
    shifts = _shifts(points, corners, moves)
    ends = [*corners[1:], corners[0]]
    lines = [_complex(stretch_points(points, a, b)) for a, b in zip(corners, ends, strict=True)]
    following = np.roll(shifts, -1)
    ratios = [_ratio(*each) for each in zip(lines, shifts, following, strict=True)]
    turns = [float(np.angle(ratio)) if ratio else 0.0 for ratio in ratios]
    straight = [_is_straight(line) for line in lines]
    at_start = [_turn_at(k, turns, straight) for k in range(len(corners))]
    at_end = [_turn_at((k + 1) % len(corners), turns, straight) for k in range(len(corners))]
    moved = points.copy()
    for k, line in enumerate(lines):
        ratio = ratios[k]
        if ratio is None:
            share = _shares(line)
            new = line + (1 - share) * shifts[k] + share * following[k]
        else:
            new = line[0] + shifts[k] + ratio * (line - line[0])
            if not straight[k]:
                new += _bend(line, ratio, at_start[k], at_end[k])
        moved[(corners[k] + np.arange(len(line))) % len(points)] = _pairs(new)
    return moved


def _shifts(
    points: FloatArray, corners: Sequence[int], moves: Mapping[int, FloatArray]
) -> ComplexArray:
    """By how much each corner moves, (c,) complex."""
    steps = np.diff(points, axis=0, append=points[:1])
    reached = np.concatenate([[0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))])
    known = sorted(moves)
    values = _complex(np.array([moves[vertex] for vertex in known]))
    at, where = reached[list(corners)], reached[known]
    return np.asarray(
        np.interp(at, where, values.real, period=reached[-1])
        + 1j * np.interp(at, where, values.imag, period=reached[-1])
    )


def _ratio(line: ComplexArray, first: complex, last: complex) -> complex | None:
    """By what an edge's chord is turned and scaled, as a complex factor; None for a short chord."""
    chord = line[-1] - line[0]
    if abs(chord) < SHORT_CHORD * polyline_length(_pairs(line)):
        return None
    return complex((chord + last - first) / chord)


def _turn_at(corner: int, turns: Sequence[float], straight: Sequence[bool]) -> float:
    """How a curve that ends at a corner turns there: with the straight edge it meets, or, where
    curves meet, both by the mean of what their chords turn."""
    before, after = corner - 1, corner
    for edge in (before, after):
        if straight[edge]:
            return turns[edge]
    return (turns[before] + turns[after]) / 2


def _bend(line: ComplexArray, ratio: complex, at_start: float, at_end: float) -> ComplexArray:
    """What turns the ends of a curve from its chord's turn to their own, (k,) complex."""
    share = _shares(line)
    scale = abs(ratio) * polyline_length(_pairs(line))
    first = _unit(line[1] - line[0]) * (np.exp(1j * at_start) - ratio / abs(ratio))
    last = _unit(line[-1] - line[-2]) * (np.exp(1j * at_end) - ratio / abs(ratio))
    return np.asarray(scale * (share * (1 - share) ** 2 * first - share**2 * (1 - share) * last))


def _is_straight(line: ComplexArray) -> bool:
    chord = line[-1] - line[0]
    if abs(chord) == 0:
        return False
    off = ((line - line[0]) * np.conj(chord)).imag / abs(chord)
    return bool(np.abs(off).max() <= STRAIGHT_WITHIN * abs(chord))


def _shares(line: ComplexArray) -> ComplexArray:
    """How far along the line each of its points lies, from 0 to 1."""
    reached = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(line)))])
    return np.asarray(reached / reached[-1])


def _unit(direction: complex) -> complex:
    return direction / abs(direction)


def _complex(points: FloatArray) -> ComplexArray:
    return np.asarray(points[:, 0] + 1j * points[:, 1])


def _pairs(numbers: ComplexArray) -> FloatArray:
    return np.column_stack([numbers.real, numbers.imag])
