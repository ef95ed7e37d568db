"""Outlines of one piece in several sizes, point by point, and what of their moves is enough."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from marker.geometry.arrays import BoolArray, FloatArray, IntArray
from marker.geometry.outline import sharp_vertices, stretch_points

_NEAR_MM = 0.05  # points nearer than this along the outline are not worth two


class NoCorrespondenceError(ValueError):
    """The outlines have not the same corners."""


def corresponding(outlines: Sequence[FloatArray], within_mm: float) -> FloatArray:
    """The outlines with as many points each, (k, n, 2); each is drawn to `within_mm`.

    outlines : k of them, walked the same way round. All points of the first are among its own in
    the result. Corners correspond to corners; between them, point to point where all have as many,
    or else places at the same share of the way.
    Raises NoCorrespondenceError where the numbers of corners differ.
    """
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
    own, theirs = corners - corners.mean(axis=0), others - others.mean(axis=0)
    apart = [((np.roll(theirs, -shift, axis=0) - own) ** 2).sum() for shift in range(len(own))]
    return int(np.argmin(apart))


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
