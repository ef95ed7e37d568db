"""The convolution of two outlines: closed walks that wind about their Minkowski sum."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from marker.geometry.arrays import IntArray
from marker.geometry.kernels import kernel

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
