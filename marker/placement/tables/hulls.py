"""Convex hulls: what keeps two shapes apart until their no-fit polygon is made.

Of a thousand different outlines there are hundreds of thousands of pairs, whose polygons take
minutes and gigabytes. Where two hulls block each other at one height is told from the hulls alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry import MultiPoint
from shapely.geometry.polygon import orient

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel


class Hulls(NamedTuple):
    """The two sides of each shape's hull, both from its lowest to its highest point.

    start : (2 s + 1,) the right side of shape k owns start[2 k] to start[2 k + 1], its left side
    what follows. point : (h, 2) mm, each higher than the one before on its side.
    """

    start: IntArray
    point: FloatArray


NO_HULLS = Hulls(np.zeros(1, dtype=np.int64), np.empty((0, 2)))


def hulls_of(shapes: Sequence[FloatArray]) -> Hulls:
    """The hulls of shapes, (n, 2), mm, in any order of points."""
    sides = [side for shape in shapes for side in _sides(shape)]
    return Hulls(
        np.cumsum([0, *map(len, sides)]).astype(np.int64),
        np.concatenate([np.empty((0, 2)), *sides]),
    )


def _sides(shape: FloatArray) -> tuple[FloatArray, FloatArray]:
    hull = MultiPoint(shape).convex_hull
    assert isinstance(hull, shapely.Polygon)
    ring = np.asarray(orient(hull).exterior.coords)[:-1]
    across = ring[:, 1]
    low, high = np.flatnonzero(across == across.min()), np.flatnonzero(across == across.max())
    right_low, left_low = low[ring[low, 0].argmax()], low[ring[low, 0].argmin()]
    right_high, left_high = high[ring[high, 0].argmax()], high[ring[high, 0].argmin()]
    return _between(ring, right_low, right_high), _between(ring, left_high, left_low)[::-1]


def _between(ring: FloatArray, first: np.int64, last: np.int64) -> FloatArray:
    """The points of a ring from one number to another."""
    turned = np.roll(ring, -int(first), axis=0)
    return turned[: int(last - first) % len(ring) + 1]


@kernel()
def blocked_by_hull(hulls: Hulls, a: int, b: int, dy: float) -> tuple[float, float]:
    """Between which x, less that of a, the hull of b overlaps that of a, when b lies higher by dy;
    they must share some height."""
    greatest = _reach(hulls, 2 * a, 2 * b + 1, dy, 1.0)
    least = _reach(hulls, 2 * a + 1, 2 * b, dy, -1.0)
    return -least, greatest


@kernel()
def _reach(hulls: Hulls, one: int, other: int, dy: float, sign: float) -> float:
    """The most by which side `one` lies beyond side `other` at any height that both have.

    dy : mm by which the other is higher. sign : 1 beyond to the right, -1 to the left.
    Both are straight between their points, so it is most at one of these.
    """
    i, i_end = hulls.start[one], hulls.start[one + 1] - 1
    j, j_end = hulls.start[other], hulls.start[other + 1] - 1
    y = max(hulls.point[i, 1], hulls.point[j, 1] + dy)
    end = min(hulls.point[i_end, 1], hulls.point[j_end, 1] + dy)
    most = -np.inf
    while True:
        while i + 1 < i_end and hulls.point[i + 1, 1] <= y:
            i += 1
        while j + 1 < j_end and hulls.point[j + 1, 1] + dy <= y:
            j += 1
        most = max(most, sign * (_at(hulls, i, y) - _at(hulls, j, y - dy)))
        if y >= end:
            return most
        after = end
        if hulls.point[i + 1, 1] > y:
            after = min(after, hulls.point[i + 1, 1])
        if hulls.point[j + 1, 1] + dy > y:
            after = min(after, hulls.point[j + 1, 1] + dy)
        y = after


@kernel(inline=True)
def _at(hulls: Hulls, k: int, y: float) -> float:
    """x at a height of the edge that begins at a point."""
    low, high = hulls.point[k, 1], hulls.point[k + 1, 1]
    part = (y - low) / (high - low)
    return float(hulls.point[k, 0] + part * (hulls.point[k + 1, 0] - hulls.point[k, 0]))
