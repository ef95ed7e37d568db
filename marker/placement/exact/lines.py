"""A lower bound by lines along the cloth: what surely covers a line lies side by side on it.

Two pieces never share a place of a line, so the stretches of it that they cover add up to no more
than the length used. A piece on the fold needs its length of that fold; a piece too wide to lie
beside another covers the middle of the cloth wherever it lies.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.placement.problem.statement import Orientation, PlacementProblem, spans

LINES = 49
"""Lines looked at, evenly across the cloth; two more lie just inside its edges, where folds are."""

EDGE_MM = 0.01


def along_lines(cores: PlacementProblem, gap: float) -> float:
    """Lower bound on the length of a relaxation, mm. gap : what two cores keep between them."""
    width = cores.width
    inner = np.linspace(0.0, width, LINES + 2)[1:-1]
    heights = np.array([EDGE_MM, *inner, width - EDGE_MM])
    covered, pieces = np.zeros(len(heights)), np.zeros(len(heights))
    surely = lru_cache(maxsize=None)(lambda *key: _surely_covered(cores.shapes[key[0]], *key[1:]))

    def least(orientation: Orientation, low: float, high: float) -> FloatArray:
        if high - low > np.ptp(cores.shapes[orientation.shape][:, 1]):
            return np.zeros(len(heights))  # it can pass by every line
        return np.array([surely(orientation.shape, y - high, y - low) for y in heights])

    for item in cores.items:
        chords = np.full(len(heights), np.inf)
        for orientation in item.orientations:
            _, across = spans(cores, item, orientation, np.inf)
            chords = np.minimum(chords, least(orientation, across.low, across.high))
        covered += chords
        pieces += chords > 0
    return float(np.max(covered + gap * np.maximum(pieces - 1, 0), initial=0.0))


def _surely_covered(shape: FloatArray, low: float, high: float) -> float:
    """The least length of any line between two heights of a shape, mm, within it; 0 where one of
    the lines misses it.

    A line is meant just above its height, so that pieces which meet along it are not both on it. A
    shape's length of a line changes evenly between the heights of its corners: the least one is at
    a corner, just above or below it, or at an end.
    """
    corners = np.unique(shape[:, 1])
    if low < corners[0] or high > corners[-1] or high < low:
        return 0.0
    inside = corners[(corners > low) & (corners < high)]
    lengths = [_length(shape, y, above) for y in inside for above in (False, True)]
    lengths += [_length(shape, low, True), _length(shape, high, True)]
    if low < high:
        lengths.append(_length(shape, high, False))
    return min(lengths)


def _length(shape: FloatArray, height: float, above: bool) -> float:
    """Length of a line within a shape, mm, just above a height or just below it."""
    start, end = shape, np.roll(shape, -1, axis=0)
    low, high = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    crosses = (low <= height) & (height < high) if above else (low < height) & (height <= high)
    a, b = start[crosses], end[crosses]
    x = np.sort(a[:, 0] + (height - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1]))
    return float((x[1::2] - x[::2]).sum())
