"""Numbers beside pieces too small to hold them, on leaders. Paper mm."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.drawing.diagram.fitting import Spot

_RADII = np.arange(3.5, 90.0, 1.5)
_ANGLES = np.radians(np.arange(15.0, 375.0, 15.0))
_CLEAR = 0.3
_WASTE_WORTH = 12.0  # mm of longer leader that lying in the waste is worth


def callout_spot(
    point: shapely.Point,
    diameter: float,
    pieces: BaseGeometry,
    taken: list[BaseGeometry],
    within: BaseGeometry,
) -> Spot:
    """The nearest free place for a disc whose leader starts at `point`.

    In the waste if there is any near, else over the bare part of a piece; never over anything
    `taken` (texts, arrows, other numbers and leaders) unless the whole sheet is.
    """
    rings = np.meshgrid(_RADII, _ANGLES, indexing="ij")
    radius, angle = (axis.ravel() for axis in rings)
    x, y = point.x + radius * np.cos(angle), point.y + radius * np.sin(angle)
    discs = shapely.buffer(shapely.points(x, y), diameter / 2 + _CLEAR)
    feet = np.full((len(x), 2), [point.x, point.y])
    leaders = shapely.linestrings(np.stack([feet, np.column_stack([x, y])], axis=1))
    text = shapely.unary_union(taken)
    for region in (within, text, pieces):
        shapely.prepare(region)
    free = shapely.contains(within, discs)
    free &= ~shapely.intersects(text, discs) & ~shapely.intersects(text, leaders)
    cost = radius + np.where(shapely.intersects(pieces, discs), _WASTE_WORTH, 0.0)
    best = int(np.argmin(np.where(free, cost, np.inf)))
    return Spot((float(x[best]), float(y[best])), 0.0)
