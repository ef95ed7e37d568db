"""Corners of allowances: the short edges that the cut line needs there beside the moved ones.

Each corner is drawn for itself, around its vertex. Its lines are in walking order, each given by
its direction and by how far it ends up from the vertex, to the left of that direction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.geometry.outline import CORNER_TURN
from marker.pattern.edge import Hem

# corners of the cut line reach at most this many allowances out, then are cut off
MITRE_LIMIT = 4.0
LEAST_SINE = 0.1  # of the angle between an edge and the neighbour it can be folded back onto
_HAIR = 1e-9


@dataclass(frozen=True)
class Extra:
    """A line of the cut outline that belongs to a corner: direction (2,) and distance in mm."""

    unit: FloatArray
    distance: float


def mitred(before: FloatArray, after: FloatArray, d_before: float, d_after: float) -> list[Extra]:
    """Two edges, by direction and signed distance to the left, that run on until they meet.

    Where they hardly turn, the line steps square from one distance to the other.
    """
    if float(before @ after) > np.cos(CORNER_TURN):
        if abs(d_before - d_after) < _HAIR:
            return []
        mean = (before + after) / np.hypot(*(before + after))
        return [Extra(left(mean) * (1.0 if d_after > d_before else -1.0), 0.0)]
    return cut_off(before, after, d_before, d_after)


def cut_off(before: FloatArray, after: FloatArray, d_before: float, d_after: float) -> list[Extra]:
    """What cuts the mitre of two edges off where it would stand out further than `MITRE_LIMIT`."""
    sine = float(before[0] * after[1] - before[1] * after[0])
    if abs(sine) < _HAIR:
        return []
    meeting = (d_before * after - d_after * before) / sine
    reach, most = float(np.hypot(*meeting)), MITRE_LIMIT * max(-d_before, -d_after, 0.0)
    if sine < 0 or most == 0 or reach <= most:
        return []
    return [Extra(left(meeting / reach), -most)]


def ended(
    hem_line: FloatArray, side: FloatArray, neighbour_mm: float, hem: Hem | None, begins: bool
) -> list[Extra] | None:
    """How the allowance of one edge ends beside its neighbour's, or None where it can't so.

    hem_line : direction of the edge as walked. side : direction of the neighbour, away from the
    corner. neighbour_mm : the neighbour's allowance. hem : mirrored for this hem; None for
    square. begins : the corner is where the edge begins, else where it ends.
    """
    out = -left(hem_line)
    if side @ out > -LEAST_SINE:  # the neighbour runs on beside the edge, or outside it
        return None
    image = side - 2 * (side @ out) * out
    if hem is None:
        image, distance = out, neighbour_mm / float(-(side @ out))
    else:
        distance = neighbour_mm
    lines = [Extra(image, -distance)]
    if hem is not None and hem.under_mm > 0:  # turned under, it goes the way of the side again
        turn = image * hem.depth_mm / float(image @ out)
        away = turn @ left(-side) if begins else turn @ left(side)
        lines.append(Extra(-side, float(away) - distance))
    if begins:
        return lines
    return [Extra(-line.unit, line.distance) for line in reversed(lines)]


def left(unit: FloatArray) -> FloatArray:
    """The direction a quarter turn to the left."""
    return np.array([-unit[1], unit[0]])
