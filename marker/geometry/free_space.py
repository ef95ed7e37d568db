"""Convex pieces of the free space around no-fit polygons.

For bounds, inner approximations of no-fit polygons and the whole plane around them in slices.
Everything errs to one side, a polygon only ever loses area, so what is said to be free holds all
that truly is. For the linear programs, one convex piece about one point, by a kernel.
"""

from __future__ import annotations

import numpy as np
import pyclipper
import shapely
from shapely.geometry import LinearRing, MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.geometry.minkowski import no_fit_rings
from marker.tolerances import GRID_MM, HAIR_MM

_ROUNDING_MM = 0.004
"""Outlines, sums and offsets are each rounded to GRID_MM; together they stray less than this."""

_ARC_MM = 0.01
"""Chords stray so far from the arcs of grown corners."""

Window = tuple[float, float, float, float]
"""x low, y low, x high, y high."""


def inner_no_fit(fixed: FloatArray, moving: FloatArray, erosion: float) -> MultiPolygon:
    """What of the no-fit polygon lies deeper than `erosion`, mm, or a bit less; may be empty.

    fixed, moving : (n, 2), (m, 2), mm, simple, counter-clockwise. An erosion below zero grows: the
    result then holds less than all that lies nearer than that.
    """
    growth = -(erosion + _ROUNDING_MM)
    offset = pyclipper.PyclipperOffset(4.0, _ARC_MM / GRID_MM)
    # corners grow round, with chords inside the arcs; they shrink sharp
    join = pyclipper.JT_ROUND if growth > 0 else pyclipper.JT_MITER
    offset.AddPaths(no_fit_rings(fixed, moving), join, pyclipper.ET_CLOSEDPOLYGON)
    rings = offset.Execute(growth / GRID_MM)
    outer = [_polygon(ring) for ring in rings if pyclipper.Orientation(ring)]
    holes = [_polygon(ring) for ring in rings if not pyclipper.Orientation(ring)]
    return _polygons(unary_union(outer).difference(unary_union(holes)))


def simplify_inward(polygons: MultiPolygon, tolerance: float) -> MultiPolygon:
    """Polygons of fewer points inside the given ones; each point left out costs at most
    `tolerance`, mm, from where the boundary was before."""
    return MultiPolygon([_inside(polygon, tolerance) for polygon in polygons.geoms])


def free_slices(polygons: MultiPolygon, window: Window, tolerance: float) -> list[FloatArray]:
    """Convex polygons (k, 2), counter-clockwise, that together cover the window outside `polygons`.

    Outside the hull each slice lies beyond one edge and not beyond the one before, so that these
    share no area. Pockets and holes are cut along their edges until convex, each piece reaching
    at most `tolerance`, mm, over its border.
    """
    frame = box(*window)
    if polygons.is_empty:
        return [_points(frame)]
    hull = _hull(polygons)
    corners = _points(hull)
    onward = np.roll(corners, -1, axis=0)
    slices = []
    for k in range(len(corners)):
        beyond = _clip(_points(frame), corners[k], onward[k], right=True)
        part = _clip(beyond, corners[k - 1], onward[k - 1], right=False)
        if len(part) > 2:
            slices.append(part)
    for pocket in _polygons(hull.difference(polygons).intersection(frame)).geoms:
        slices += _convex_parts(pocket, tolerance)
    return slices


def _inside(polygon: Polygon, tolerance: float) -> Polygon:
    """The polygon simplified as far as it stays inside itself; where its borders come close to
    one another, by a smaller tolerance."""
    around = polygon.buffer(HAIR_MM)
    while tolerance > HAIR_MM:
        simple = _simplified(orient(polygon), tolerance)
        if simple.is_valid and around.contains(simple):
            return simple
        tolerance /= 2
    return polygon


def _simplified(polygon: Polygon, tolerance: float) -> Polygon:
    rings = [polygon.exterior, *polygon.interiors]
    shell, *holes = [_thinned(_corners(ring), tolerance) for ring in rings]
    return Polygon(shell, [hole for hole in holes if len(hole) > 2])


def _thinned(ring: FloatArray, tolerance: float) -> FloatArray:
    """Ring (inside to the left) without its cheapest points: a convex corner is cut off, an edge
    between two reflex corners gives way to the meeting point of its neighbours."""
    points = ring.copy()
    while len(points) > 3:
        cut, (fill, meeting) = _cost_of_cutting(points), _cost_of_filling(points)
        k, m = int(cut.argmin()), int(fill.argmin())
        if min(cut[k], fill[m]) > tolerance:
            break
        if cut[k] <= fill[m]:
            points = np.delete(points, k, axis=0)
        else:
            points[m] = meeting[m]
            points = np.delete(points, (m + 1) % len(points), axis=0)
    return points


def _cost_of_cutting(points: FloatArray) -> FloatArray:
    """Distance of each convex corner from the chord past it; infinite at reflex corners."""
    before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
    chord = after - before
    height = _cross(chord, points - before) / np.maximum(np.hypot(*chord.T), HAIR_MM)
    return np.where(height <= HAIR_MM, np.abs(height), np.inf)


def _cost_of_filling(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """For the edge from each corner to the next, both reflex: where its neighbours' lines meet
    inside, and how far from the edge; infinite elsewhere."""
    edge = np.roll(points, -1, axis=0) - points
    before, after = np.roll(edge, 1, axis=0), np.roll(edge, -1, axis=0)
    first, second = _cross(before, edge), _cross(edge, after)
    slant = _cross(before, after)
    allowed = (first < 0) & (second < 0) & (slant < 0)
    reach = np.divide(second, slant, out=np.zeros(len(edge)), where=allowed)
    meeting = points + before * reach[:, None]
    height = np.abs(reach * first) / np.hypot(*edge.T)
    return np.where(allowed, height, np.inf), meeting


def _convex_parts(polygon: Polygon, tolerance: float) -> list[FloatArray]:
    """Convex polygons that cover a polygon and reach at most `tolerance` out of it. It is cut at
    its deepest reflex corner, along the longer edge there, until the hulls of the parts will do."""
    hull = _hull(polygon)
    rings = [_corners(ring) for ring in (polygon.exterior, *polygon.interiors)]
    corners = np.concatenate(rings)
    depth = np.asarray(shapely.distance(hull.exterior, shapely.points(corners)))
    deepest = int(depth.argmax())
    if depth[deepest] <= tolerance:
        return [_points(hull)]
    before = np.concatenate([np.roll(ring, 1, axis=0) for ring in rings])
    after = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    corner = corners[deepest]
    far = max(before[deepest], after[deepest], key=lambda end: float(np.hypot(*(end - corner))))
    return [
        convex
        for right in (False, True)
        for part in _polygons(_side(polygon, corner, far, right)).geoms
        for convex in _convex_parts(part, tolerance)
    ]


def _side(polygon: Polygon, a: FloatArray, b: FloatArray, right: bool) -> BaseGeometry:
    """What of a polygon lies to one side of the line from a to b."""
    frame = _points(box(*polygon.buffer(1.0).bounds))
    return polygon.intersection(Polygon(_clip(frame, a, b, right)))


def _clip(convex: FloatArray, a: FloatArray, b: FloatArray, right: bool) -> FloatArray:
    """What of a convex polygon lies to the right, or left, of the line from a to b."""
    if len(convex) == 0:
        return convex
    sign = -1.0 if right else 1.0
    height = sign * _cross(b - a, convex - a)
    kept = []
    for k in range(len(convex)):
        side, other = height[k], height[(k + 1) % len(convex)]
        p, q = convex[k], convex[(k + 1) % len(convex)]
        if side >= 0:
            kept.append(p)
        if side * other < 0:
            kept.append(p + (q - p) * (side / (side - other)))
    return np.array(kept)


def _polygons(shape: BaseGeometry) -> MultiPolygon:
    """The polygons among the parts of a shape, without points and lines."""
    parts = getattr(shape, "geoms", [shape])
    return MultiPolygon([part for part in parts if isinstance(part, Polygon) and part.area > 0])


def _polygon(ring: list[list[int]]) -> Polygon:
    return Polygon(np.asarray(ring, dtype=np.float64) * GRID_MM).buffer(0)


def _hull(shape: Polygon | MultiPolygon) -> Polygon:
    hull = shape.convex_hull
    assert isinstance(hull, Polygon)
    return hull


def _points(polygon: Polygon) -> FloatArray:
    """Corners of the exterior, counter-clockwise."""
    return _corners(orient(polygon).exterior)


def _corners(ring: LinearRing) -> FloatArray:
    return np.asarray(ring.coords, dtype=np.float64)[:-1]


def _cross(u: FloatArray, v: FloatArray) -> FloatArray:
    product: FloatArray = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    return product


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
    if _holds(edges, x, y):
        px, py = _across_nearest(edges, x, y)
    while count > 0 and found < len(planes):
        nearest, best_side, pick = np.inf, -np.inf, -1
        for k in range(count):
            qx, qy = _closest(parts[k], px, py)
            gap = np.hypot(px - qx, py - qy)
            side = _outside_by(edges[carrier[k]], px, py)
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
def _outside_by(edge: FloatArray, x: float, y: float) -> float:
    """Distance of a point from the edge's line, positive on the outer side (right)."""
    ux, uy = edge[2] - edge[0], edge[3] - edge[1]
    return float((uy * (x - edge[0]) - ux * (y - edge[1])) / np.hypot(ux, uy))


@kernel(allocates=True)
def _holds(edges: FloatArray, x: float, y: float) -> bool:
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
