"""A named cast of tiny polygons: (n, 2) float64, counter-clockwise, first point not repeated.

Each fits a box of about 10 × 10 units with its lower left corner at the origin; scale to taste.
"""

from __future__ import annotations

import numpy as np

from marker.geometry.arrays import FloatArray


def polygon(*points: tuple[float, float]) -> FloatArray:
    """(n, 2) float64 array of the points given."""
    return np.array(points, dtype=np.float64)


def rectangle(width: float, height: float) -> FloatArray:
    """Rectangle with its lower left corner at the origin."""
    return polygon((0, 0), (width, 0), (width, height), (0, height))


def _around(
    radii: FloatArray, first_deg: float, last_deg: float, centre: tuple[float, float]
) -> FloatArray:
    angles = np.radians(np.linspace(first_deg, last_deg, len(radii)))
    return np.column_stack((centre[0] + radii * np.cos(angles), centre[1] + radii * np.sin(angles)))


SQUARE = rectangle(10, 10)
TRIANGLE = polygon((0, 0), (10, 0), (4, 8))
NEEDLE = polygon((0, 0), (10, 0.5), (0, 1))
ELL = polygon((0, 0), (10, 0), (10, 3), (4, 3), (4, 9), (0, 9))
CUP = polygon((0, 0), (10, 0), (10, 8), (7, 8), (7, 3), (3, 3), (3, 8), (0, 8))
NOTCHED = polygon((0, 0), (10, 0), (10, 6), (6, 6), (5, 2), (4, 6), (0, 6))
STAR = _around(np.tile([5.0, 2.0], 5), 18.0, 342.0, (5.0, 5.0))
STRIP = rectangle(10, 0.4)
HALF_DISC = _around(np.full(13, 5.0), 0.0, 180.0, (5.0, 0.0))
PARALLELOGRAM = polygon((0, 0), (7, 0), (10, 5), (3, 5))

CAST: dict[str, FloatArray] = {
    "square": SQUARE,
    "triangle": TRIANGLE,
    "needle": NEEDLE,
    "ell": ELL,
    "cup": CUP,
    "notched": NOTCHED,
    "star": STAR,
    "strip": STRIP,
    "half disc": HALF_DISC,
    "parallelogram": PARALLELOGRAM,
}
