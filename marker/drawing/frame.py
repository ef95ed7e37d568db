"""From a cut piece's own frame to the cloth's, and the inward direction at a point of its edge."""

from __future__ import annotations

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.geometry.outline import is_ccw
from marker.layout import Placement


def laid(points: FloatArray, place: Placement) -> FloatArray:
    """Points (n, 2) of a cut piece where `place` lays them: reflected, turned, moved; mm."""
    hand = np.array([1.0, -1.0 if place.mirrored else 1.0])
    angle = np.radians(place.rotation_deg)
    cos, sin = np.cos(angle), np.sin(angle)
    turn = np.array([[cos, sin], [-sin, cos]])
    moved: FloatArray = (points * hand) @ turn + np.array([place.x_mm, place.y_mm])
    return moved


def inward_at(outline: FloatArray, point: FloatArray) -> tuple[float, float]:
    """Unit vector into the piece, square to the edge of `outline` nearest to `point`.

    outline : (n, 2), either way round; edges of no length are passed over.
    """
    start, edge = outline, np.roll(outline, -1, axis=0) - outline
    length = np.hypot(edge[:, 0], edge[:, 1])
    start, edge, length = start[length > 0], edge[length > 0], length[length > 0]
    along = np.clip(((point - start) * edge).sum(axis=1) / length**2, 0.0, 1.0)
    gap = start + along[:, None] * edge - point
    nearest = int(np.argmin(np.hypot(gap[:, 0], gap[:, 1])))
    dx, dy = edge[nearest] / length[nearest]
    side = 1.0 if is_ccw(outline) else -1.0
    return (float(-dy * side), float(dx * side))
