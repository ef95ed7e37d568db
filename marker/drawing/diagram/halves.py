"""A piece on the fold: the half of it that is seen, and its lines without the fold. Cloth mm."""

from __future__ import annotations

import numpy as np
import shapely

from marker.geometry.arrays import FloatArray
from marker.tolerances import SAME_POINT_MM


def half(ring: FloatArray, fold_y: float, above: bool) -> FloatArray:
    """(m, 2) what of a ring (n, 2) lies above a fold along the cloth, or below it; (0, 2) if
    nothing does."""
    if len(ring) == 0:
        return ring
    (low_x, low_y), (high_x, high_y) = ring.min(axis=0) - 1.0, ring.max(axis=0) + 1.0
    bounds = (fold_y, high_y) if above else (low_y, fold_y)
    part = shapely.Polygon(ring).intersection(shapely.box(low_x, bounds[0], high_x, bounds[1]))
    solid = [each for each in shapely.get_parts(part) if each.area > 0]
    if not solid:
        return np.empty((0, 2))
    largest = max(solid, key=lambda each: each.area)
    return np.asarray(shapely.get_coordinates(largest.exterior)[:-1])


def off_fold(ring: FloatArray, fold_y: float | None) -> list[FloatArray]:
    """The ring as runs, each (k, 2): closed, or what of it does not lie on the fold."""
    closed = np.vstack([ring, ring[:1]])
    if fold_y is None:
        return [closed]
    low, high = ring[:, 0].min() - 1.0, ring[:, 0].max() + 1.0
    fold = shapely.box(low, fold_y - SAME_POINT_MM, high, fold_y + SAME_POINT_MM)
    rest = shapely.line_merge(shapely.LineString(closed).difference(fold))
    return [shapely.get_coordinates(run) for run in shapely.get_parts(rest) if run.length > 0]
