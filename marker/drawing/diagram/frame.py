"""From a cut piece's own frame to the cloth's."""

from __future__ import annotations

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.layout import Placement


def laid(points: FloatArray, place: Placement) -> FloatArray:
    """Points (n, 2) of a cut piece where `place` lays them: reflected, turned, moved; mm."""
    hand = np.array([1.0, -1.0 if place.mirrored else 1.0])
    angle = np.radians(place.rotation_deg)
    cos, sin = np.cos(angle), np.sin(angle)
    turn = np.array([[cos, sin], [-sin, cos]])
    moved: FloatArray = (points * hand) @ turn + np.array([place.x_mm, place.y_mm])
    return moved
