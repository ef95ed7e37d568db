"""How bad an overlap is: the quantity that the search drives to zero.

The severity of a pair joins two measures in their geometric mean: the penetration depth (how far
one piece must move, in the nearest direction, to be free) and the root of the area the two have
in common. Depth alone counts a corner like a whole side that laps as far; area alone gives no way
out of a piece that covers the other. It is scaled by the pieces' sizes, so that small pieces make
way for large ones (as Gardeyn, Vanden Berghe & Wauters 2025 scale theirs by the hulls). Near zero
depth it follows a hyperbola instead of vanishing, so that pieces that barely overlap still feel
which way is out (same paper). Whether a pair overlaps at all is decided exactly elsewhere.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import MultiPoint

from marker.geometry.arrays import FloatArray
from marker.geometry.kernels import kernel


def size(outline: FloatArray) -> float:
    """Fourth root of the area of the convex hull; a pair weighs as much as the product of both."""
    return float(MultiPoint(outline).convex_hull.area ** 0.25)


def joined(depth: FloatArray, common: FloatArray, soft: float) -> FloatArray:
    """Geometric mean, mm, of the depth and the root of the common area.

    depth : mm. Where it exceeds `soft` it counts as it is, below (and outside) as a hyperbola that
    stays positive. common : mm².
    """
    deep = np.where(depth > soft, depth, soft**2 / (2 * soft - np.minimum(depth, soft)))
    wide: FloatArray = np.sqrt(deep * np.sqrt(common + soft**2))
    return wide


def signed_depth(
    edges: FloatArray, origin: FloatArray, cell: float, nx: int, ny: int
) -> FloatArray:
    """Distance of each grid node to the nearest edge, positive inside. Returns (ny, nx)."""
    along = edges[:, 2:] - edges[:, :2]
    square = (along**2).sum(axis=1)
    lines = np.ascontiguousarray(np.column_stack([edges[:, :2], along, 1.0 / square]).T)
    xs = origin[0] + cell * np.arange(nx)
    ys = origin[1] + cell * np.arange(ny)
    distance = np.sqrt(_square_distances(lines, xs, ys))
    return np.where(_insides(edges, xs, ys), distance, -distance)


@kernel(allocates=True, fastmath=True)
def _square_distances(lines: FloatArray, xs: FloatArray, ys: FloatArray) -> FloatArray:
    """Square of each node's distance to the nearest edge. lines : (5, k) x, y, ux, uy, 1/|u|²."""
    squares = np.empty((len(ys), len(xs)))
    x1, y1, ux, uy, inverse = lines
    for row in range(len(ys)):
        for column in range(len(xs)):
            nearest = np.inf
            for k in range(len(x1)):
                px, py = xs[column] - x1[k], ys[row] - y1[k]
                t = min(max((px * ux[k] + py * uy[k]) * inverse[k], 0.0), 1.0)
                px -= t * ux[k]
                py -= t * uy[k]
                nearest = min(nearest, px * px + py * py)
            squares[row, column] = nearest
    return squares


@kernel(allocates=True)
def _insides(edges: FloatArray, xs: FloatArray, ys: FloatArray) -> NDArray[np.bool_]:
    """Whether each node lies inside: every crossing of its row turns all nodes to its left over."""
    inside = np.zeros((len(ys), len(xs)), dtype=np.bool_)
    for row in range(len(ys)):
        y = ys[row]
        for k in range(len(edges)):
            x1, y1, x2, y2 = edges[k, 0], edges[k, 1], edges[k, 2], edges[k, 3]
            if (y1 > y) != (y2 > y):
                crossing = x1 + (y - y1) * (x2 - x1) / (y2 - y1)
                for column in range(len(xs)):
                    if xs[column] >= crossing:
                        break
                    inside[row, column] = not inside[row, column]
    return inside


def cell_kinds(depth: FloatArray, cell: float) -> NDArray[np.int8]:
    """0 where a node's cell lies wholly outside, 1 wholly inside, 2 where the edge may cross.

    A cell is at most √2 × its side from its own node, so a depth beyond that settles it.
    """
    reach = cell * np.sqrt(2.0)
    return np.where(depth > reach, 1, np.where(depth < -reach, 0, 2)).astype(np.int8)
