"""One outline in several sizes: which points correspond, and edges fitted to moved corners."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from marker.geometry.arrays import BoolArray, ComplexArray, FloatArray, IntArray
from marker.geometry.outline import polyline_length, sharp_vertices, stretch_points

_NEAR_MM = 0.05  # points nearer than this along the outline are not worth two


class NoCorrespondenceError(ValueError):
    """The outlines have not the same corners."""


def corresponding(outlines: Sequence[FloatArray], within_mm: float) -> FloatArray:
    """The outlines with as many points each, (k, n, 2); each is drawn to `within_mm`.

    outlines : k of them, walked the same way round. All points of the first are among its own in
    the result. Corners correspond to corners; between them, point to point where all have as many,
    or else places at the same share of the way. Where all have as many points, all may correspond
    point to point. The way in which points move less is taken, since a corner that is nearly
    straight may be one in some sizes alone.
    Raises NoCorrespondenceError where the numbers of corners and of points differ.
    """
    by_point = _point_to_point(outlines)
    try:
        by_corner = _corner_to_corner(outlines, within_mm)
    except NoCorrespondenceError:
        if by_point is None:
            raise
        return by_point
    if by_point is None or _moved(by_corner) <= _moved(by_point) * (1 + _ALIKE):
        return by_corner
    return by_point


_ALIKE = 1e-9


def _point_to_point(outlines: Sequence[FloatArray]) -> FloatArray | None:
    """All points as they stand, each outline from the one where the first begins; None where they
    have not as many."""
    first = outlines[0]
    if any(len(each) != len(first) for each in outlines):
        return None
    return np.stack([np.roll(each, -first_shift(first, each), axis=0) for each in outlines])


def _moved(found: FloatArray) -> float:
    """How far points move from the first outline to the others, beyond what all of them do: the
    largest mean square, mm²."""
    moves = found - found[0]
    off = moves - moves.mean(axis=1, keepdims=True)
    return float((off**2).sum(axis=2).mean(axis=1).max())


def _corner_to_corner(outlines: Sequence[FloatArray], within_mm: float) -> FloatArray:
    corners = [_corners(outline) for outline in outlines]
    if len({len(each) for each in corners}) > 1:
        counts = ", ".join(str(len(each)) for each in corners)
        raise NoCorrespondenceError(f"the outlines have {counts} corners")
    first = outlines[0][corners[0]]
    begun = [
        np.roll(own, -first_shift(first, outline[own]))
        for own, outline in zip(corners, outlines, strict=True)
    ]
    parts = []
    for k in range(len(first)):
        lines = [
            stretch_points(outline, int(own[k]), int(own[(k + 1) % len(own)]))
            for outline, own in zip(outlines, begun, strict=True)
        ]
        parts.append(_shared(lines, within_mm)[:, :-1])
    return np.concatenate(parts, axis=1)


def _corners(outline: FloatArray) -> IntArray:
    corners = sharp_vertices(outline)
    return corners if len(corners) else np.zeros(1, dtype=corners.dtype)


def first_shift(corners: FloatArray, others: FloatArray) -> int:
    """Which of the others, (n, 2), corresponds to the first of as many corners: the one with which
    the two polygons, laid centre on centre, lie nearest to each other."""
    own, theirs = _complex(corners), _complex(others)
    own, theirs = np.fft.fft(own - own.mean()), np.fft.fft(theirs - theirs.mean())
    # the nearest are those with the largest sum of products, of all shifts at once
    return int(np.argmax(np.fft.ifft(theirs * own.conj()).real))


def _shared(lines: Sequence[FloatArray], within_mm: float) -> FloatArray:
    """Polylines at the same shares of their ways, (k, m, 2): all points of the first, and what the
    others need besides."""
    if len({len(line) for line in lines}) == 1:
        return np.stack(lines)
    reached = [_reached(line) for line in lines]
    lengths = [float(each[-1]) for each in reached]
    shares = [each / each[-1] for each in reached]
    own = shares[0]
    others = np.unique(np.concatenate([own, *shares[1:]]))
    clear = np.abs(others[:, None] - own).min(axis=1) > _NEAR_MM / max(lengths)
    at = np.sort(np.concatenate([own, others[clear]]))
    values = np.stack(
        [
            np.column_stack([np.interp(at, share, line[:, axis]) for axis in (0, 1)])
            for share, line in zip(shares, lines, strict=True)
        ]
    )
    return values[:, enough(at, values, np.isin(at, own), within_mm)]


def enough(at: FloatArray, values: FloatArray, must: BoolArray, within: float) -> IntArray:
    """Which of the points give all the others to `within`, found as by Douglas & Peucker (1973).

    at : (n,), ascending. values : (k, n, 2), k points at each, linear in `at` in between.
    must : (n,) those that are kept anyway, the first and the last among them.
    """
    kept = list(map(int, np.flatnonzero(must)))
    open_ = list(pairwise(kept))
    while open_:
        first, last = open_.pop()
        inner = slice(first + 1, last)
        share = ((at[inner] - at[first]) / (at[last] - at[first]))[:, None]
        off = values[:, inner] - (values[:, [first]] * (1 - share) + values[:, [last]] * share)
        apart = np.hypot(off[..., 0], off[..., 1])
        if apart.size and apart.max() > within:
            middle = first + 1 + int(np.argmax(apart.max(axis=0)))
            kept.append(middle)
            open_ += [(first, middle), (middle, last)]
    return np.array(sorted(kept))


def telling_moves(outlines: FloatArray, within_mm: float) -> IntArray:
    """Points whose moves from the first outline to the others tell those of all between, by their
    share of the way along the first: its corners among them.

    outlines : (k, n, 2) as `corresponding` gives them.
    """
    own = np.concatenate([outlines[0], outlines[0][:1]])
    moves = outlines - outlines[0]
    must = np.zeros(len(own), dtype=bool)
    must[_corners(outlines[0])] = True
    must[[0, -1]] = True
    kept = enough(_reached(own), np.concatenate([moves, moves[:, :1]], axis=1), must, within_mm)
    return kept[:-1]


def _reached(line: FloatArray) -> FloatArray:
    steps = np.diff(line, axis=0)
    return np.concatenate([[0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))])


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
    that it meets its neighbours at the angle it did. What was square or smooth stays so.
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
