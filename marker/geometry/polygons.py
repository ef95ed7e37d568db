"""Growing, simplifying (both hold the original outline), clipping, turning, reflecting outlines."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import intersection_all
from shapely.affinity import rotate
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from marker.geometry.arrays import FloatArray

_MITRE_LIMIT = 4.0
_TILTS = 17

SLIVER_MM = 0.01
"""Half of the width up to which a part of a region's surroundings counts as none."""


def grow(outline: FloatArray, distance: float) -> FloatArray:
    """Outline grown outward by `distance` with mitred corners.

    outline : (n, 2), simple, counter-clockwise. Returns (m, 2), counter-clockwise; holes that
    growing closes off (a mouth narrower than twice the distance) are filled.
    """
    if distance == 0:
        return outline
    grown = Polygon(outline).buffer(distance, join_style="mitre", mitre_limit=_MITRE_LIMIT)
    return _exterior(grown)


def simplify_outward(outline: FloatArray, tolerance: float) -> FloatArray:
    """An outline of fewer points that contains this one, strays at most 2 × `tolerance` from it
    and has the same bounding box.

    Growing by the tolerance first pays for what the simplification (Douglas & Peucker 1973) may
    cut off. Returned only if it saves at least half of the points, else the outline itself.
    """
    original = Polygon(outline)
    grown = original.buffer(tolerance, join_style="mitre", mitre_limit=_MITRE_LIMIT)
    simple = _exterior(grown.simplify(tolerance).intersection(box(*original.bounds)))
    return simple if 2 * len(simple) <= len(outline) else outline


def clipped(outline: FloatArray, low: FloatArray, high: FloatArray) -> FloatArray:
    """The part of an outline inside the box from corner `low` to corner `high`, (2,) each.

    Returns (m, 2), counter-clockwise. Where the box cuts it apart, the largest part.
    """
    inside = Polygon(outline).intersection(box(*low, *high))
    parts = [part for part in getattr(inside, "geoms", [inside]) if isinstance(part, Polygon)]
    return _exterior(max(parts, key=lambda part: part.area))


def lacking(outline: FloatArray, holes: Sequence[FloatArray] = ()) -> tuple[FloatArray, ...]:
    """What a region lacks of its bounding box: its holes, and the corners and bays around it.

    outline : (n, 2), simple. holes : the same, inside it. Returns outlines (m, 2),
    counter-clockwise, simple. A part narrower than twice SLIVER_MM all over is left out.
    """
    region = Polygon(outline, holes)
    rest = box(*region.bounds).difference(region)
    return tuple(
        _exterior(part)  # the region reaches all four sides of the box, so no part has a hole
        for part in getattr(rest, "geoms", [rest])
        if not part.buffer(-SLIVER_MM).is_empty
    )


def turned(outline: FloatArray, degrees: float, mirrored: bool) -> FloatArray:
    """Outline reflected in the x axis if `mirrored`, then turned counter-clockwise.

    Points keep their order, so a mirrored outline runs the other way round. Multiples of 90° are
    exact.
    """
    points = outline * np.array([1.0, -1.0]) if mirrored else outline
    quarter, rest = divmod(degrees, 90.0)
    if rest == 0:
        cosine, sine = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)][int(quarter) % 4]
    else:
        cosine, sine = float(np.cos(np.radians(degrees))), float(np.sin(np.radians(degrees)))
    rotated: FloatArray = points @ np.array([[cosine, sine], [-sine, cosine]])
    return rotated


def reflect(points: FloatArray, line: FloatArray) -> FloatArray:
    """Points (k, 2) mirrored across the line through the two rows of `line`."""
    along = line[1] - line[0]
    along = along / np.hypot(*along)
    across = np.array([-along[1], along[0]])
    return np.asarray(points - 2 * np.outer((points - line[0]) @ across, across))


def shrink(outline: FloatArray, distance: float) -> FloatArray:
    """What of an outline lies deeper than `distance`, or a bit less: (m, 2), counter-clockwise;
    (0, 2) if that is not a simple outline."""
    return _shrunk(Polygon(outline), distance) if distance else outline


def _shrunk(region: BaseGeometry, distance: float) -> FloatArray:
    deep = region.buffer(-distance, join_style="mitre")
    if not isinstance(deep, Polygon) or deep.is_empty or deep.interiors:
        return np.empty((0, 2))
    return _exterior(deep)


def shared_by_tilts(outline: FloatArray, limit: float) -> FloatArray:
    """What an outline covers however it is turned about its centroid by up to `limit` degrees
    either way, or a bit less.

    Returns (m, 2), counter-clockwise; (0, 2) if that is not a simple outline. Between two of the
    turns tried nothing moves farther than `spare` from the nearer one.
    """
    if limit == 0:
        return outline
    original = Polygon(outline)
    centre = original.centroid
    reach = float(np.hypot(*(outline - [centre.x, centre.y]).T).max())
    turns = np.linspace(-limit, limit, _TILTS)
    spare = 2 * reach * np.sin(np.radians(turns[1] - turns[0]) / 4)
    every = [rotate(original, float(turn), origin=centre) for turn in turns]
    return _shrunk(intersection_all(every), spare)


def _exterior(polygon: BaseGeometry) -> FloatArray:
    assert isinstance(polygon, Polygon)  # growing and simplifying one outline leaves one
    ring = orient(Polygon(polygon.exterior)).exterior.coords
    return np.asarray(ring, dtype=np.float64)[:-1]
