"""Moving the edges of an outline in or out, keeping count of which vertex became which.

The edges move like a wavefront. An edge shorter than the mitres eat up vanishes on the way and its
neighbours meet instead. These are the edge events of the straight skeleton (Aichholzer,
Aurenhammer, Alberts & Gärtner 1995, 'A novel type of skeleton for polygons').
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from marker.geometry.arrays import FloatArray, IntArray

_PARALLEL = 1e-9  # sine of the angle below which two edges count as parallel
_HAIR_MM = 1e-7  # an edge this short has vanished but for a float's dust


class CollapsedError(ValueError):
    """Nothing simple is left of the outline: it is narrower than twice the distance somewhere."""


@dataclass(frozen=True)
class Front:
    """The edges of a closed outline, in order, and how far each moves.

    starts : (n, 2), where edge i begins; where it begins and ends may be one point.
    units : (n, 2), its direction.
    distances : (n,), how far it moves to its left, below 0 to its right.
    """

    starts: FloatArray
    units: FloatArray
    distances: FloatArray

    @classmethod
    def of(cls, outline: FloatArray, distances: FloatArray) -> Front:
        """The edges of an outline: edge i from vertex i to the next, none of length 0."""
        return cls(outline, directions(outline), distances)


def inset(outline: FloatArray, distances: FloatArray) -> FloatArray:
    """`moved` for an outline: (n, 2), counter-clockwise, simple, no edge of length 0."""
    return moved(Front.of(outline, distances))


def moved(front: Front) -> FloatArray:
    """Where each edge begins after all have moved, corners mitred without limit.

    Returns (n, 2): row i is where edge i begins now. Edges that vanished share a point.
    Raises CollapsedError when what is left is empty, crosses itself or falls apart.
    """
    live = np.arange(len(front.starts))
    while len(live) >= 3:
        corners = _corners(front, front.distances, live)
        lengths = _edge_lengths(front, live, corners)
        gone = np.flatnonzero(lengths <= _HAIR_MM)
        if not len(gone):
            break
        before = _edge_lengths(front, live, _corners(front, 0 * front.distances, live))[gone]
        lost = before - lengths[gone]  # lengths change linearly; those of no length go at once
        when = np.divide(before, lost, out=np.zeros_like(lost), where=lost > 0)
        first = gone[np.argmin(when)]
        live = np.delete(live, first)
    if len(live) < 3 or not shapely.Polygon(corners).is_valid:
        raise CollapsedError
    return corners[np.searchsorted(live, np.arange(len(front.starts))) % len(live)]


def directions(outline: FloatArray) -> FloatArray:
    """Unit vector of each edge, from its vertex to the next, (n, 2)."""
    steps = np.roll(outline, -1, axis=0) - outline
    return np.asarray(steps / np.hypot(steps[:, 0], steps[:, 1])[:, None])


def _edge_lengths(front: Front, live: IntArray, corners: FloatArray) -> FloatArray:
    """Length of each live edge along its own direction, negative once it has turned round."""
    steps = np.roll(corners, -1, axis=0) - corners
    return np.asarray((steps * front.units[live]).sum(axis=1))


def _corners(front: Front, distances: FloatArray, live: IntArray) -> FloatArray:
    """Where each moved live edge meets the live edge before it, (len(live), 2)."""
    normals = np.column_stack([-front.units[:, 1], front.units[:, 0]])
    last = np.roll(live, 1)
    n1, n2, d2 = normals[last], normals[live], distances[live]
    # both lines as normal . point = c, seen from the start of the second edge
    c1 = (n1 * (front.starts[last] - front.starts[live])).sum(axis=1) + distances[last]
    sine = n1[:, 0] * n2[:, 1] - n1[:, 1] * n2[:, 0]
    parallel = np.abs(sine) < _PARALLEL
    same_line = ((n1 * n2).sum(axis=1) > 0) & (np.abs(c1 - d2) < 1e-6)
    if np.any(parallel & ~same_line):
        raise CollapsedError
    sine[parallel] = 1.0
    meeting = np.column_stack([c1 * n2[:, 1] - d2 * n1[:, 1], d2 * n1[:, 0] - c1 * n2[:, 0]])
    from_start = np.where(parallel[:, None], d2[:, None] * n2, meeting / sine[:, None])
    return np.asarray(front.starts[live] + from_start)
