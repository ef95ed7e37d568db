"""Measuring outlines and stretches of them: lengths, areas, places, turns.

An outline is (n, 2) float64, its first point not repeated; a polyline is (k, 2) float64.
"""

from __future__ import annotations

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray

CORNER_TURN = np.radians(30)  # chords of a curve turn by less from one to the next


def signed_area(outline: FloatArray) -> float:
    """Area by the shoelace formula, positive when the outline runs counter-clockwise."""
    points = outline - outline[0]  # near the origin, so that far-off outlines lose no digits
    x, y = points[:, 0], points[:, 1]
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def is_ccw(outline: FloatArray) -> bool:
    """Whether the outline runs counter-clockwise, y up."""
    return signed_area(outline) > 0


def stretch_points(outline: FloatArray, start: int, end: int) -> FloatArray:
    """Vertices from `start` to `end`, both included, walking on and past the last to the first.

    Returns (k, 2). `start == end` walks the whole outline and repeats that vertex at the end.
    """
    count = len(outline)
    steps = (end - start) % count or count
    return outline[(start + np.arange(steps + 1)) % count]


def chords(start: int, end: int, count: int) -> IntArray:
    """Edges of an outline of `count` vertices from vertex `start` to `end`, each by its vertex."""
    return np.asarray((start + np.arange((end - start) % count or count)) % count)


def polyline_length(points: FloatArray) -> float:
    """Length of an open polyline; 0 for a single point."""
    steps = np.diff(points, axis=0)
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum())


def point_along(points: FloatArray, distance: float) -> FloatArray:
    """Point (2,) at `distance` along an open polyline, held at its ends when beyond them."""
    steps = np.diff(points, axis=0)
    reached = np.concatenate([[0.0], np.cumsum(np.hypot(steps[:, 0], steps[:, 1]))])
    x = np.interp(distance, reached, points[:, 0])
    y = np.interp(distance, reached, points[:, 1])
    return np.array([x, y], dtype=np.float64)


def nearest_along(points: FloatArray, point: FloatArray) -> tuple[float, float]:
    """Distance along an open polyline to its place nearest to `point`, and how far off that is."""
    steps = np.diff(points, axis=0)
    squares = (steps**2).sum(axis=1)
    along = ((point - points[:-1]) * steps).sum(axis=1)
    shares = np.clip(along / np.where(squares > 0, squares, 1.0), 0.0, 1.0)
    off = np.hypot(*(points[:-1] + shares[:, None] * steps - point).T)
    first = int(np.argmin(off))
    lengths = np.sqrt(squares)
    return float(lengths[:first].sum() + shares[first] * lengths[first]), float(off[first])


def flattening_error(points: FloatArray) -> float:
    """By how much the chords of a polyline fall short of the smooth curve they were taken from.

    Where two chords of lengths a and b turn by an angle t, an arc along half of each is longer
    than both halves by t²(a + b)/48. That is to the second order in t (the series of the chord).
    Turns of `CORNER_TURN` and more are corners, not curves.
    """
    steps = np.diff(points, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    steps, lengths = steps[lengths > 0], lengths[lengths > 0]
    headings = np.arctan2(steps[:, 1], steps[:, 0])
    turns = (np.diff(headings) + np.pi) % (2 * np.pi) - np.pi
    curved = np.where(np.abs(turns) < CORNER_TURN, turns, 0.0)
    return float((curved**2 * (lengths[:-1] + lengths[1:])).sum() / 48)


def sharp_vertices(outline: FloatArray) -> IntArray:
    """Vertices of an outline where it turns by `CORNER_TURN` or more, in order, (k,)."""
    after = np.roll(outline, -1, axis=0) - outline
    before = np.roll(after, 1, axis=0)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turns = np.abs(np.arctan2(cross, (before * after).sum(axis=1)))
    return np.flatnonzero(turns >= CORNER_TURN)


def inward_at(outline: FloatArray, point: FloatArray) -> tuple[float, float]:
    """Unit vector into an outline, square to its edge nearest to `point`.

    outline : (n, 2), either way round; edges of no length are passed over.
    """
    start, edge = outline, np.roll(outline, -1, axis=0) - outline
    length = np.hypot(edge[:, 0], edge[:, 1])
    start, edge, length = start[length > 0], edge[length > 0], length[length > 0]
    along = np.clip(((point - start) * edge).sum(axis=1) / length**2, 0.0, 1.0)
    gap = start + along[:, None] * edge - point
    nearest = int(np.argmin(np.hypot(gap[:, 0], gap[:, 1])))
    dx, dy = edge[nearest] / length[nearest]
    side = 1.0 if is_ccw(outline) else -1.0
    return (float(-dy * side), float(dx * side))


def turns_along(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Where an open polyline (k, 2) turns between its ends, and by how much, to the left positive.

    Returns distances along it (m,) and angles (m,) in radians, each above -pi and at most pi.
    Points that repeat the one before them are passed over.
    """
    steps = np.diff(points, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    steps, lengths = steps[lengths > 0], lengths[lengths > 0]
    return np.cumsum(lengths)[:-1], _angles(steps[:-1], steps[1:])


def interior_angle(outline: FloatArray, vertex: int) -> float:
    """Angle inside a counter-clockwise outline (n, 2) at one of its vertices, radians."""
    from_vertex = np.roll(outline, -vertex, axis=0) - outline[vertex]
    others = from_vertex[np.hypot(from_vertex[:, 0], from_vertex[:, 1]) > 0]
    return float(np.pi - _angles(-others[-1:], others[:1])[0])


def _angles(before: FloatArray, after: FloatArray) -> FloatArray:
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.asarray(np.arctan2(cross, (before * after).sum(axis=1)))
