"""Moving the edges of an outline inward, keeping count of which vertex became which.

The edges move like a wavefront; an edge shorter than the mitres eat up vanishes on the way and its
neighbours meet instead (the edge events of the straight skeleton: Aichholzer, Aurenhammer,
Alberts & Gärtner 1995, 'A novel type of skeleton for polygons').
"""

from __future__ import annotations

import numpy as np
import shapely

from marker.geometry.arrays import FloatArray, IntArray

_PARALLEL = 1e-9  # sine of the angle below which two edges count as parallel


class CollapsedError(ValueError):
    """Nothing simple is left of the outline: it is narrower than twice the distance somewhere."""


def inset(outline: FloatArray, distances: FloatArray) -> FloatArray:
    """Vertices of the outline after each edge moved inward, corners mitred without limit.

    outline : (n, 2), counter-clockwise, simple, first point not repeated, no edge of length 0.
    distances : (n,), how far edge i, from vertex i to the next, moves; not negative.
    Returns (n, 2): row i is where vertex i went. Vertices of edges that vanished share a point.
    Raises CollapsedError when what is left is empty, crosses itself or falls apart.
    """
    live = np.arange(len(outline))
    while len(live) >= 3:
        corners = _corners(outline, distances, live)
        lengths = _edge_lengths(outline, live, corners)
        gone = np.flatnonzero(lengths <= 0)
        if not len(gone):
            break
        before = _edge_lengths(outline, live, _corners(outline, 0 * distances, live))[gone]
        first = gone[np.argmin(before / (before - lengths[gone]))]  # lengths change linearly
        live = np.delete(live, first)
    if len(live) < 3 or not shapely.Polygon(corners).is_valid:
        raise CollapsedError
    return corners[np.searchsorted(live, np.arange(len(outline))) % len(live)]


def _unit_vectors(outline: FloatArray) -> FloatArray:
    steps = np.roll(outline, -1, axis=0) - outline
    return np.asarray(steps / np.hypot(steps[:, 0], steps[:, 1])[:, None])


def _edge_lengths(outline: FloatArray, live: IntArray, corners: FloatArray) -> FloatArray:
    """Length of each live edge along its own direction, negative once it has turned round."""
    steps = np.roll(corners, -1, axis=0) - corners
    return np.asarray((steps * _unit_vectors(outline)[live]).sum(axis=1))


def _corners(outline: FloatArray, distances: FloatArray, live: IntArray) -> FloatArray:
    """Where each moved live edge meets the live edge before it, (len(live), 2)."""
    units = _unit_vectors(outline)
    normals = np.column_stack([-units[:, 1], units[:, 0]])
    last = np.roll(live, 1)
    n1, n2, d2 = normals[last], normals[live], distances[live]
    # both lines as normal . point = c, seen from the start of the second edge
    c1 = (n1 * (outline[last] - outline[live])).sum(axis=1) + distances[last]
    sine = n1[:, 0] * n2[:, 1] - n1[:, 1] * n2[:, 0]
    parallel = np.abs(sine) < _PARALLEL
    same_line = ((n1 * n2).sum(axis=1) > 0) & (np.abs(c1 - d2) < 1e-6)
    if np.any(parallel & ~same_line):
        raise CollapsedError
    sine[parallel] = 1.0
    meeting = np.column_stack([c1 * n2[:, 1] - d2 * n1[:, 1], d2 * n1[:, 0] - c1 * n2[:, 0]])
    from_start = np.where(parallel[:, None], d2[:, None] * n2, meeting / sine[:, None])
    return np.asarray(outline[live] + from_start)
