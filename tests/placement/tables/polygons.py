"""No-fit polygons as shapely's."""

from __future__ import annotations

from shapely.geometry import Polygon

from marker.geometry.arrays import FloatArray


def solid_of(edges: FloatArray) -> Polygon:
    """The polygon of edges (k, 4), its rings chained from end to start."""
    onward = {tuple(edge[:2]): tuple(edge[2:]) for edge in edges}
    rings = []
    while onward:
        start, at = onward.popitem()
        ring = [start]
        while at != start:
            ring.append(at)
            at = onward.pop(at)
        rings.append(ring)
    rings.sort(key=lambda ring: -Polygon(ring).area)
    return Polygon(rings[0], rings[1:])
