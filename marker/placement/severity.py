"""How bad an overlap is: the quantity that the search drives to zero.

The severity of a pair is its penetration depth (how far one piece must move, in the nearest
direction, to be free), scaled by the pieces' sizes so that small pieces make way for large ones
(as Gardeyn, Vanden Berghe & Wauters 2025 scale theirs by the hulls). Near zero depth it follows
a hyperbola instead of vanishing, so that pieces that barely overlap still feel which way is out
(same paper). Whether a pair overlaps at all is decided exactly elsewhere.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray
from shapely.geometry import MultiPoint

from marker.geometry.arrays import FloatArray


def scale(a: FloatArray, b: FloatArray) -> float:
    """Weight of the pair by size: the fourth root of the product of the convex hulls' areas."""
    hulls = MultiPoint(a).convex_hull.area * MultiPoint(b).convex_hull.area
    return float(hulls**0.25)


def of_depth(depth: FloatArray, soft: float) -> FloatArray:
    """Depth where it exceeds `soft`, a hyperbola that stays positive below (and outside)."""
    return np.where(depth > soft, depth, soft**2 / (2 * soft - np.minimum(depth, soft)))


@njit(cache=True, nogil=True)
def signed_depth(
    edges: FloatArray, origin: FloatArray, cell: float, nx: int, ny: int
) -> FloatArray:
    """Distance of each grid node to the nearest edge, positive inside. Returns (ny, nx)."""
    depth = np.empty((ny, nx))
    for row in range(ny):
        y = origin[1] + row * cell
        for column in range(nx):
            x = origin[0] + column * cell
            nearest = np.inf
            inside = False
            for k in range(edges.shape[0]):
                x1, y1, x2, y2 = edges[k, 0], edges[k, 1], edges[k, 2], edges[k, 3]
                ux, uy = x2 - x1, y2 - y1
                t = ((x - x1) * ux + (y - y1) * uy) / (ux * ux + uy * uy)
                t = min(max(t, 0.0), 1.0)
                gap_x, gap_y = x1 + t * ux - x, y1 + t * uy - y
                nearest = min(nearest, gap_x * gap_x + gap_y * gap_y)
                if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * ux / uy:
                    inside = not inside
            depth[row, column] = np.sqrt(nearest) if inside else -np.sqrt(nearest)
    return depth


def cell_kinds(depth: FloatArray, cell: float) -> NDArray[np.int8]:
    """0 where a node's cell lies wholly outside, 1 wholly inside, 2 where the edge may cross.

    A cell is at most √2 × its side from its own node, so a depth beyond that settles it.
    """
    reach = cell * np.sqrt(2.0)
    return np.where(depth > reach, 1, np.where(depth < -reach, 0, 2)).astype(np.int8)
