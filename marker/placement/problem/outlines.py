"""How a cut outline lies when it is turned: its shape, and the tilts in which it fits the width."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiPoint, Polygon

from marker.geometry import polygons
from marker.geometry.arrays import FloatArray
from marker.tolerances import WIDTH_MM

SAME_DEG = 1e-3
"""Tilts no farther apart are one."""

_HALVINGS = 40


@dataclass(frozen=True, eq=False)
class Outlines:
    """One piece before it is reflected or turned; both (n, 2), mm, counter-clockwise.

    true : its cut outline. grown : holds that and half the gap around it, maybe of fewer points.
    """

    true: FloatArray
    grown: FloatArray


def oriented(
    outlines: Outlines, rotation_deg: float, mirrored: bool, margin: float
) -> tuple[FloatArray, FloatArray]:
    """The shape of a piece that is reflected, if `mirrored`, then turned; and (2,), where the lower
    left corner of its bounding box then is, mm.

    margin : half the gap. The shape is (m, 2), counter-clockwise, that corner at the origin.
    """
    true = polygons.turned(outlines.true, rotation_deg, mirrored)
    low, high = true.min(axis=0) - margin, true.max(axis=0) + margin
    solid = polygons.turned(outlines.grown, rotation_deg, mirrored)
    # mitred corners and turned chords reach farther than the gap asks; no cloth is there
    solid = polygons.clipped(solid[::-1] if mirrored else solid, low, high)
    return solid - low, low


def fitting_tilts(outline: FloatArray, limit: float, width: float) -> tuple[float, ...]:
    """Tilts in which an outline fits across `width`, at most three: none at all, and as far either
    way as it fits within `limit` degrees; nothing where it fits nowhere between."""
    hull = _hull(outline)
    steps = _steps(hull, limit)
    wanted = (
        0.0 if across(hull, 0.0) <= width + WIDTH_MM else None,
        _last_fitting(hull, steps, width),
        _last_fitting(hull, steps[::-1], width),
    )
    found: list[float] = []
    for tilt in wanted:
        if tilt is not None and all(abs(tilt - other) > SAME_DEG for other in found):
            found.append(tilt)
    return tuple(found)


def narrowest(outline: FloatArray, limit: float) -> float:
    """The least that an outline reaches across, mm, tilted by up to `limit` degrees either way."""
    hull = _hull(outline)
    return min(across(hull, tilt) for tilt in _steps(hull, limit))


def across(outline: FloatArray, tilt: float) -> float:
    """How far the tilted outline reaches across the cloth, mm."""
    return float(np.ptp(polygons.turned(outline, tilt, False)[:, 1]))


def _hull(outline: FloatArray) -> FloatArray:
    hull = MultiPoint(outline).convex_hull
    assert isinstance(hull, Polygon)  # outlines are simple
    return np.asarray(hull.exterior.coords, dtype=np.float64)[:-1]


def _steps(hull: FloatArray, limit: float) -> list[float]:
    """The tilts between which the reach across is a concave function, ascending.

    While the same two corners are outermost, it is the height of the line between them, a sine;
    they change where an edge lies along the cloth.
    """
    along = np.roll(hull, -1, axis=0) - hull
    level = -np.degrees(np.arctan2(along[:, 1], along[:, 0]))
    half_turns = level[:, None] + np.array([-180.0, 0.0, 180.0])
    inside = half_turns[np.abs(half_turns) < limit].tolist()
    return sorted({-limit, 0.0, limit, *inside})


def _last_fitting(hull: FloatArray, steps: list[float], width: float) -> float | None:
    """The tilt nearest to the last of the steps in which the outline fits; None if there is none.

    Between two steps the reach is concave: if neither fits, nothing between them does, and if one
    fits, all that fits lies on its side of one single tilt.
    """
    fits = [across(hull, step) <= width + WIDTH_MM for step in steps]
    if not any(fits):
        return None
    last = max(k for k, each in enumerate(fits) if each)
    good = steps[last]
    if last + 1 == len(steps):
        return good
    bad = steps[last + 1]
    for _ in range(_HALVINGS):
        middle = (good + bad) / 2
        if across(hull, middle) <= width + WIDTH_MM:
            good = middle
        else:
            bad = middle
    return good
