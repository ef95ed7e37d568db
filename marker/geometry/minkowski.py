"""No-fit polygons: where one outline may not stand against another.

They are Minkowski sums, made from the convolution of the two outlines: closed walks that wind about
the sum.
"""

from __future__ import annotations

import numpy as np
import pyclipper
from numpy.typing import NDArray

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.tolerances import GRID_MM, PLAY_MM

SLIVER_MM2 = 1.0
"""Holes of a no-fit polygon smaller than this are closed: pieces could hide in one another."""


def no_fit_edges(fixed: FloatArray, moving: FloatArray) -> FloatArray:
    """Boundary of the no-fit polygon of two outlines, as edges.

    With reference points at their own origins, the outlines overlap exactly when
    (moving's position - fixed's position) lies inside the boundary.

    fixed, moving : (n, 2), (m, 2), mm, simple, counter-clockwise.
    Returns (k, 4) float64: x1, y1, x2, y2, mm; the inside lies to the left of each edge.
    """
    return edges_of_sum(standing(fixed), sliding(moving))


def no_fit_rings(fixed: FloatArray, moving: FloatArray) -> list[list[list[int]]]:
    """The no-fit polygon of `no_fit_edges` with all its holes: rings of points in grid units,
    counter-clockwise but for the holes."""
    return _union(standing(fixed), sliding(moving))


def standing(outline: FloatArray) -> IntArray:
    """The fixed outline's part in a no-fit polygon, (n, 2), grid units: points that fall together
    on the grid become one."""
    grid = np.rint(outline / GRID_MM).astype(np.int64)
    moves = (grid != np.roll(grid, -1, axis=0)).any(axis=1)
    return np.asarray(grid[moves])


def sliding(outline: FloatArray) -> IntArray:
    """The moving outline's part: less the play, and seen from its other side."""
    return -_shrunk(standing(outline))


def edges_of_sum(a: IntArray, b: IntArray) -> FloatArray:
    """`no_fit_edges` of what `standing` and `sliding` have made of the two outlines."""
    kept = [ring for ring in _union(a, b) if not _is_sliver(ring)]
    return np.concatenate([_edges(np.asarray(ring, dtype=np.float64) * GRID_MM) for ring in kept])


def _union(a: IntArray, b: IntArray) -> list[list[list[int]]]:
    clipper = pyclipper.Pyclipper()
    clipper.AddPaths(convolution(a, b), pyclipper.PT_SUBJECT, True)
    union: list[list[list[int]]] = clipper.Execute(
        pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO
    )
    return union


def _is_sliver(ring: list[list[int]]) -> bool:
    hole = not pyclipper.Orientation(ring)
    return hole and bool(-pyclipper.Area(ring) * GRID_MM**2 < SLIVER_MM2)


def _shrunk(outline: IntArray) -> IntArray:
    """Outline moved inward by the play, each vertex by at most twice as much. A sharp tip whose
    edges all moved by the play would be drawn back much farther, and lie over its neighbour."""
    along = np.roll(outline, -1, axis=0) - outline
    after = np.column_stack([-along[:, 1], along[:, 0]]) / np.hypot(*along.T)[:, None]
    before = np.roll(after, 1, axis=0)
    mitre = (before + after) / np.maximum(1 + (before * after).sum(axis=1), 1e-6)[:, None]
    size = np.hypot(*mitre.T)[:, None]
    moved = outline + mitre * np.minimum(1, 2 / np.maximum(size, 1)) * PLAY_MM / GRID_MM
    whole = pyclipper.SimplifyPolygon(np.rint(moved).astype(np.int64).tolist())
    return np.asarray(max(whole, key=pyclipper.Area), dtype=np.int64)


def _edges(ring: FloatArray) -> FloatArray:
    return np.concatenate([ring, np.roll(ring, -1, axis=0)], axis=1)


Passes = NDArray[np.int8]


def convolution(a: IntArray, b: IntArray) -> list[list[list[int]]]:
    """Closed walks whose winding number about a point z is positive exactly when z lies inside the
    Minkowski sum of the two filled outlines (Guibas, Ramshaw & Stolfi 1983).

    a, b : (n, 2), (m, 2) int64, simple, counter-clockwise.
    The winding number counts the connected parts of a ∩ (z - b), none of which has a hole.
    An edge of one outline is swept at each vertex of the other whose turn passes the edge's
    direction, backwards where the turn is clockwise. Equal directions count as if `a` were turned
    a hair further, so that each is passed exactly once.
    """
    points, ends = _walks(np.ascontiguousarray(a), np.ascontiguousarray(b))
    return [walk.tolist() for walk in np.split(points, ends[:-1])]


@kernel(allocates=True)
def _walks(a: IntArray, b: IntArray) -> tuple[IntArray, IntArray]:
    """All steps chained into closed walks: their points, walk after walk, and where each ends.

    A node is a vertex of each outline. As many steps arrive at each node as leave it, so a walk
    goes on until it is back where it began.
    """
    a_at_b = _passes(a, b, True)
    b_at_a = _passes(b, a, False)
    first, target = _steps(a_at_b, b_at_a)
    left = first[1:].copy()  # steps of a node are taken from the last back to the first
    points = np.empty((len(target), 2), dtype=np.int64)
    ends = np.empty(len(target), dtype=np.int64)
    count, walks = 0, 0
    for start in range(len(left)):
        while left[start] > first[start]:
            node = start
            while True:
                i, j = divmod(node, len(b))
                points[count, 0], points[count, 1] = a[i, 0] + b[j, 0], a[i, 1] + b[j, 1]
                count += 1
                left[node] -= 1
                node = target[left[node]]
                if node == start:
                    break
            ends[walks] = count
            walks += 1
    return points, ends[:walks]


@kernel(allocates=True)
def _passes(swept: IntArray, turning: IntArray, tie_to_start: bool) -> Passes:
    """(n, m): 1 where the counter-clockwise turn at turning[j] passes the direction of the edge
    that starts at swept[i], -1 where a clockwise turn does, else 0. A turn includes the direction
    it starts from (in the counter-clockwise sense) if `tie_to_start`, else the one it ends at."""
    n, m = len(swept), len(turning)
    passes = np.zeros((n, m), dtype=np.int8)
    for j in range(m):
        after, before = (j + 1) % m, j - 1
        low_x, low_y = turning[j, 0] - turning[before, 0], turning[j, 1] - turning[before, 1]
        high_x, high_y = turning[after, 0] - turning[j, 0], turning[after, 1] - turning[j, 1]
        turn = low_x * high_y - low_y * high_x
        if turn < 0:
            low_x, low_y, high_x, high_y = high_x, high_y, low_x, low_y
        for i in range(n):
            to = (i + 1) % n
            x, y = swept[to, 0] - swept[i, 0], swept[to, 1] - swept[i, 1]
            from_low, to_high = low_x * y - low_y * x, x * high_y - y * high_x
            if tie_to_start:
                tied = from_low == 0 and x * low_x + y * low_y > 0
            else:
                tied = to_high == 0 and x * high_x + y * high_y > 0
            if tied or (from_low > 0 and to_high > 0):
                passes[i, j] = np.sign(turn)
    return passes


@kernel(allocates=True)
def _steps(a_at_b: Passes, b_at_a: Passes) -> tuple[IntArray, IntArray]:
    """Steps by the node they leave: node k owns target[first[k]] to target[first[k + 1]].

    Node i × m + j is vertex i of the first outline with vertex j of the second.
    """
    n, m = a_at_b.shape
    first = np.zeros(n * m + 1, dtype=np.int64)
    target = np.empty(0, dtype=np.int64)
    for filling in (False, True):
        for i in range(n):
            for j in range(m):
                node = i * m + j
                for sign, other in (
                    (a_at_b[i, j], (i + 1) % n * m + j),
                    (b_at_a[j, i], i * m + (j + 1) % m),
                ):
                    if sign == 0:
                        continue
                    start, end = (node, other) if sign > 0 else (other, node)
                    if filling:
                        first[start] -= 1
                        target[first[start]] = end
                    else:
                        first[start] += 1
        if not filling:
            first = np.cumsum(first)
            target = np.empty(first[-1], dtype=np.int64)
    return first, target
