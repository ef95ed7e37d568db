"""Convex pieces of the free space outside a polygon."""

from __future__ import annotations

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.tolerances import HAIR_MM


@kernel(allocates=True)
def free_space(edges: FloatArray, x: float, y: float) -> FloatArray:
    """Half-planes whose common part lies outside the polygon and holds the point (x, y).

    edges : (k, 4) x1, y1, x2, y2, the inside to the left, holes included.
    Returns (m, 3) nx, ny, c with unit normals: nx·X + ny·Y >= c. A point inside is first taken
    across its nearest edge, so that the first half-plane does not hold it but the free side does.

    Greedy inflation: the nearest part of the boundary that is still in view gives a half-plane,
    all boundary behind it is cut away, until nothing is left in view.
    """
    parts = edges.copy()
    carrier = np.arange(len(edges), dtype=np.int64)
    count = len(edges)
    planes = np.empty((len(edges), 3))
    found = 0
    px, py = x, y
    if _inside(edges, x, y):
        px, py = _across_nearest(edges, x, y)
    while count > 0 and found < len(planes):
        nearest, best_side, pick = np.inf, -np.inf, -1
        for k in range(count):
            qx, qy = _closest(parts[k], px, py)
            gap = np.hypot(px - qx, py - qy)
            side = _side(edges[carrier[k]], px, py)
            if gap < nearest - 1e-7 or (gap < nearest + 1e-7 and side > best_side):
                nearest, best_side, pick = min(gap, nearest), side, k
        edge = edges[carrier[pick]]
        if best_side >= -1e-7:
            # the edge's own line: outward normal, to the right of the edge
            size = np.hypot(edge[2] - edge[0], edge[3] - edge[1])
            nx, ny = (edge[3] - edge[1]) / size, (edge[0] - edge[2]) / size
            c = nx * edge[0] + ny * edge[1]
        else:
            # seen from behind: the line through its nearest point, square to the view
            qx, qy = _closest(parts[pick], px, py)
            nx, ny = (px - qx) / nearest, (py - qy) / nearest
            c = nx * qx + ny * qy
        planes[found, 0], planes[found, 1], planes[found, 2] = nx, ny, c
        found += 1
        count = _cut(parts, carrier, count, nx, ny, c)
    return planes[:found]


@kernel(allocates=True)
def _closest(part: FloatArray, x: float, y: float) -> tuple[float, float]:
    ux, uy = part[2] - part[0], part[3] - part[1]
    size = ux * ux + uy * uy
    t = 0.0 if size == 0.0 else ((x - part[0]) * ux + (y - part[1]) * uy) / size
    t = min(max(t, 0.0), 1.0)
    return part[0] + t * ux, part[1] + t * uy


@kernel(allocates=True)
def _side(edge: FloatArray, x: float, y: float) -> float:
    """Distance of a point from the edge's line, positive on the outer side (right)."""
    ux, uy = edge[2] - edge[0], edge[3] - edge[1]
    return float((uy * (x - edge[0]) - ux * (y - edge[1])) / np.hypot(ux, uy))


@kernel(allocates=True)
def _inside(edges: FloatArray, x: float, y: float) -> bool:
    inside = False
    for k in range(len(edges)):
        x1, y1, x2, y2 = edges[k, 0], edges[k, 1], edges[k, 2], edges[k, 3]
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1):
            inside = not inside
    return inside


@kernel(allocates=True)
def _across_nearest(edges: FloatArray, x: float, y: float) -> tuple[float, float]:
    nearest, out_x, out_y = np.inf, x, y
    for k in range(len(edges)):
        qx, qy = _closest(edges[k], x, y)
        gap = np.hypot(qx - x, qy - y)
        if gap < nearest:
            nearest, out_x, out_y = gap, qx, qy
    return out_x, out_y


@kernel(allocates=True)
def _cut(parts: FloatArray, carrier: IntArray, count: int, nx: float, ny: float, c: float) -> int:
    """Keep, in place, only what lies strictly beyond the half-plane's line; how many are left."""
    left = 0
    for k in range(count):
        x1, y1, x2, y2 = parts[k, 0], parts[k, 1], parts[k, 2], parts[k, 3]
        side1, side2 = nx * x1 + ny * y1 - c, nx * x2 + ny * y2 - c
        if side1 <= HAIR_MM and side2 <= HAIR_MM:
            continue
        if side1 < 0.0:
            t = side1 / (side1 - side2)
            x1, y1 = x1 + t * (x2 - x1), y1 + t * (y2 - y1)
        elif side2 < 0.0:
            t = side2 / (side2 - side1)
            x2, y2 = x2 + t * (x1 - x2), y2 + t * (y1 - y2)
        parts[left, 0], parts[left, 1], parts[left, 2], parts[left, 3] = x1, y1, x2, y2
        carrier[left] = carrier[k]
        left += 1
    return left
