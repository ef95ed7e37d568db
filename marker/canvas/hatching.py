"""Hatching at 45°. Paper mm."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.geometry.arrays import FloatArray


def hatching(region: BaseGeometry, spacing: float, slope: float) -> list[FloatArray]:
    """Lines at 45° through a region, rising if `slope` is positive, `spacing` apart along the page;
    in step with the page and not with the region."""
    low_x, low_y, high_x, high_y = region.bounds
    tall = high_y - low_y
    foot, head = (low_y, high_y) if slope > 0 else (high_y, low_y)
    first = np.floor((low_x - tall) / spacing) * spacing
    starts = np.arange(first, high_x + tall, spacing)
    rays = [shapely.LineString([(x, foot), (x + tall, head)]) for x in starts]
    parts = shapely.get_parts(shapely.intersection(region, rays))
    return [shapely.get_coordinates(line) for line in parts if line.length > 0]
