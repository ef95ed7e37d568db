"""Clip paths and windows of SVG drawings: what of a line is shown (CSS Masking 1, section 6)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from xml.etree.ElementTree import Element

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.exchange.curves import flatten
from marker.exchange.strokes import FLATTEN_MM, Stroke
from marker.exchange.svg.drawing import SHAPES, Drawing, paths_of, tag_of, transform_of
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray

_MOST_SHAPES = 200  # in one clip path
_TOUCHING_MM = 0.01  # a line on the edge of what is shown is shown


def window(to_mm: FloatArray, width: float, height: float) -> shapely.Polygon:
    """What is shown through a window of a drawing, mm."""
    corners = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    return shapely.Polygon(_moved(corners, to_mm))


def clip_path(
    drawing: Drawing, name: str, element: Element, to_mm: FloatArray
) -> BaseGeometry | None:
    """The region of the clip path with that id, mm; None where there is none.

    to_mm : (3, 3), from the coordinates of `element`, which it clips. Raises Unusable for a clip
    path that can't be read.
    """
    path = drawing.by_id.get(name)
    if path is None or tag_of(path) != "clipPath":
        return None
    inside = to_mm @ transform_of(path)
    if path.get("clipPathUnits") == "objectBoundingBox":
        inside = inside @ _box_of(element)
    shapes = [inner for inner in path.iter() if tag_of(inner) in SHAPES][:_MOST_SHAPES]
    regions = []
    for shape in shapes:
        at = inside @ transform_of(shape)
        tolerance = FLATTEN_MM / max(float(np.linalg.norm(at[:2, :2], ord=2)), 1e-12)
        for part in paths_of(shape):
            points, _, _ = flatten(part, tolerance)
            if len(points) > 2:
                regions.append(shapely.make_valid(shapely.Polygon(_moved(points, at))))
    return shapely.unary_union(regions)


def clipped(line: Stroke, region: BaseGeometry | None) -> Iterator[Stroke]:
    """The parts of a line that are shown in a region; all of it where that is None."""
    if region is None:
        yield line
        return
    points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
    shape = shapely.LineString(points) if len(points) > 1 else shapely.Point(points[0])
    shown = region.buffer(_TOUCHING_MM)
    if shown.covers(shape):
        yield line
        return
    for part in shapely.get_parts(shapely.intersection(shape, shown)):
        if isinstance(part, shapely.LineString) and not part.is_empty:
            yield replace(line, points=shapely.get_coordinates(part), closed=False, shape=0)


def _box_of(element: Element) -> FloatArray:
    """(3, 3): from the unit square to the box around a shape, in its own coordinates."""
    if tag_of(element) not in (*SHAPES, "line"):
        raise Unusable("its clip path counts in parts of a group", "Save it without clip paths")
    boxes = np.array([path.bbox() for path in paths_of(element)], dtype=np.float64)
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    across, down = high - low
    return np.array([[across, 0.0, low[0]], [0.0, down, low[1]], [0.0, 0.0, 1.0]])


def _moved(points: FloatArray, to_mm: FloatArray) -> FloatArray:
    moved: FloatArray = points @ to_mm[:2, :2].T + to_mm[:2, 2]
    return moved
