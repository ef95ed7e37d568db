"""How far lines and outlines turn."""

from __future__ import annotations

import numpy as np

from marker.geometry.arrays import FloatArray


def turns_along(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Where an open polyline (k, 2) turns between its ends, and by how much, to the left positive.

    Returns distances along it (m,) and angles (m,) in radians, each above -pi and at most pi.
    Points that repeat the one before them are passed over.
    """
    steps = np.diff(points, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    steps, lengths = steps[lengths > 0], lengths[lengths > 0]
    return np.cumsum(lengths)[:-1], _angles(steps[:-1], steps[1:])


def interior_angle(outline: FloatArray, vertex: int) -> float:
    """Angle inside a counter-clockwise outline (n, 2) at one of its vertices, radians."""
    from_vertex = np.roll(outline, -vertex, axis=0) - outline[vertex]
    others = from_vertex[np.hypot(from_vertex[:, 0], from_vertex[:, 1]) > 0]
    return float(np.pi - _angles(-others[-1:], others[:1])[0])


def _angles(before: FloatArray, after: FloatArray) -> FloatArray:
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.asarray(np.arctan2(cross, (before * after).sum(axis=1)))
