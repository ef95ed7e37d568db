"""Opening a half that was drawn on the fold into the whole piece."""

from __future__ import annotations

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.geometry.outline import stretch_points
from marker.pattern.edge import Stretch
from marker.tolerances import HAIR_MM


def reflect(points: FloatArray, line: FloatArray) -> FloatArray:
    """Points (k, 2) mirrored across the line through the two rows of `line`."""
    along = line[1] - line[0]
    along = along / np.hypot(*along)
    across = np.array([-along[1], along[0]])
    return np.asarray(points - 2 * np.outer((points - line[0]) @ across, across))


def unfold(outline: FloatArray, fold: Stretch) -> FloatArray:
    """The whole outline of a half: (n, 2) counter-clockwise, symmetric about the fold.

    The ends of the fold stay as single vertices, unless the edge runs straight across the fold
    there; vertices along the fold go.
    """
    drawn = stretch_points(outline, fold.end, fold.start)
    line = drawn[[-1, 0]]
    mirrored = reflect(drawn[1:-1], line)[::-1]
    along = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    first = 1 if abs((drawn[1] - drawn[0]) @ along) < HAIR_MM else 0
    last = -1 if abs((drawn[-2] - drawn[-1]) @ along) < HAIR_MM else len(drawn)
    return np.concatenate([drawn[first:last], mirrored])
