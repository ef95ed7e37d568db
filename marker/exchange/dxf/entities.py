"""Entities of a DXF file as points and texts in the drawing's plane (DXF reference, ENTITIES)."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import islice, pairwise
from typing import Any

import numpy as np

from marker.exchange.curves import arc_steps
from marker.exchange.dxf.opening import sound_entity
from marker.exchange.strokes import FLATTEN_MM, FURTHEST_MM
from marker.files.budget import Most
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray

_MOST_POINTS = Most.LINE_POINTS.most
HIGHEST_DEGREE = 10  # ezdxf's
LINES = {"LINE", "POLYLINE", "LWPOLYLINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "POINT"}
TEXTS = {"TEXT", "MTEXT", "ATTRIB"}
_FRAME_POINT = 16  # of a vertex: it shapes the curve, and does not lie on it
_MESHES = 16 | 64  # of a polyline


def points_of(entity: Any, tolerance: float) -> tuple[FloatArray, bool]:
    """(n, 2) in the drawing's unit, and whether the line closes from its last point.

    tolerance : of chords, in the same unit. Raises Unusable for an entity that is broken.
    """
    with sound_entity():
        points, closed = _points(entity, tolerance)
    if not np.isfinite(points).all():
        raise Unusable("its numbers are no places", "")
    return points, closed


_CARETS = re.compile(r"(?:\^ )*\Z")


def text_of(entity: Any) -> tuple[FloatArray, str] | None:
    """Where a text stands, (2,) in the drawing's unit, and what it says; None where it can't be
    read."""
    try:
        with sound_entity():
            text = str(entity.plain_text()) + _carets_at_end(entity)
            if entity.dxftype() == "MTEXT":
                at = entity.dxf.insert
            else:
                aligned = entity.dxf.get("halign", 0) or entity.dxf.get("valign", 0)
                own = entity.dxf.get("align_point") if aligned else None
                at = entity.ocs().to_wcs(entity.dxf.insert if own is None else own)
            place = np.array([at.x, at.y], dtype=np.float64)
    except Unusable:
        return None
    return (place, text) if np.isfinite(place).all() else None


def _carets_at_end(entity: Any) -> str:
    """The signs '^' with which a line ends, written as '^ ' each: ezdxf takes them off."""
    written = str(entity.dxf.get("text", ""))
    ending = _CARETS.search(written)
    assert ending is not None  # it matches nothing, too
    return "^" * (len(ending[0]) // 2) if entity.dxftype() == "TEXT" else ""


def layer_of(entity: Any) -> str:
    """The name of the layer that an entity lies on."""
    return str(entity.dxf.get("layer", "0")).strip()


def _points(entity: Any, tolerance: float) -> tuple[FloatArray, bool]:
    match entity.dxftype():
        case "POINT":
            return _flattened([entity.dxf.location]), False
        case "LINE":
            return _flattened([entity.dxf.start, entity.dxf.end]), False
        case "LWPOLYLINE":
            rows = ((x, y, bulge) for x, y, bulge in entity.get_points("xyb"))
            return _bulged(entity, rows, bool(entity.closed), tolerance), bool(entity.closed)
        case "POLYLINE":
            return _polyline(entity, tolerance), bool(entity.is_closed)
        case "ARC" | "CIRCLE":
            return _arc(entity, tolerance), False
        case "ELLIPSE":
            return _ellipse(entity, tolerance), False
        case _:
            _check_spline(entity, tolerance)
            return _spline(entity.construction_tool(), tolerance), bool(entity.closed)


def _flattened(points: Any) -> FloatArray:
    """Points as (n, 2), no more of them than tell that they are too many."""
    rows = [(point.x, point.y) for point in islice(points, _MOST_POINTS + 1)]
    return np.array(rows, dtype=np.float64).reshape(-1, 2)


def _polyline(entity: Any, tolerance: float) -> FloatArray:
    """The vertices of a polyline; those that only frame a curve are no points of it."""
    if entity.dxf.get("flags", 0) & _MESHES:
        raise Unusable("it is a mesh", "")
    vertices = [v for v in entity.vertices if not v.dxf.get("flags", 0) & _FRAME_POINT]
    if entity.is_3d_polyline:
        return _flattened(vertex.dxf.location for vertex in vertices)
    rows = (
        (vertex.dxf.location.x, vertex.dxf.location.y, vertex.dxf.get("bulge", 0.0))
        for vertex in vertices
    )
    return _bulged(entity, rows, bool(entity.is_closed), tolerance)


def _bulged(
    entity: Any, rows: Iterator[tuple[float, float, float]], closed: bool, tolerance: float
) -> FloatArray:
    """Vertices (x, y, bulge) as points, arcs as chords; an arc's bulge is the tangent of a quarter
    of its angle, positive counter-clockwise."""
    table = np.array(list(islice(rows, _MOST_POINTS + 1)), dtype=np.float64).reshape(-1, 3)
    if (table[:, 2] != 0).any() and np.isfinite(table).all():
        parts = [table[:1, :2]]
        for one, other in zip(table, np.roll(table, -1, axis=0), strict=True):
            parts.append(_arc_between(one[:2], other[:2], float(one[2]), tolerance))
        points = np.concatenate(parts if closed else parts[:-1])
    else:
        points = table[:, :2]
    height = float(entity.dxf.get("elevation", 0.0)) if entity.dxftype() == "LWPOLYLINE" else 0.0
    if entity.dxf.get("extrusion", (0, 0, 1))[2] > 0 and height == 0.0:
        return points
    return _flattened(entity.ocs().points_to_wcs((x, y, height) for x, y in points.tolist()))


def _arc_between(start: FloatArray, end: FloatArray, bulge: float, tolerance: float) -> FloatArray:
    """Points of an arc after its start; of a line, its end."""
    chord = end - start
    length = float(np.hypot(*chord))
    if bulge == 0.0 or length == 0.0:
        return end[None]
    radius = length * (1 + bulge * bulge) / (4 * abs(bulge))
    sweep = 4 * math.atan(bulge)
    steps = arc_steps(radius, abs(sweep), tolerance)
    left = np.array([-chord[1], chord[0]]) / length
    centre = (start + end) / 2 + left * length * (1 - bulge * bulge) / (4 * bulge)
    first = math.atan2(*(start - centre)[::-1])
    angles = first + sweep * np.arange(1, steps + 1) / steps
    points = centre + radius * np.column_stack([np.cos(angles), np.sin(angles)])
    points[-1] = end
    return np.asarray(points)


def _arc(entity: Any, tolerance: float) -> FloatArray:
    start, end = 0.0, 360.0
    if entity.dxftype() == "ARC":
        start = float(entity.dxf.start_angle)
        end = start + ((float(entity.dxf.end_angle) - start) % 360.0 or 360.0)
    steps = arc_steps(float(entity.dxf.radius), np.radians(end - start), tolerance)
    return _flattened(entity.vertices(np.linspace(start, end, steps + 1)))


def _ellipse(entity: Any, tolerance: float) -> FloatArray:
    """An ellipse's points by its parameter; its longer half axis bounds how far chords stray."""
    centre, major = (np.array([p.x, p.y]) for p in (entity.dxf.center, entity.dxf.major_axis))
    minor = np.array([entity.minor_axis.x, entity.minor_axis.y])
    start, end = float(entity.dxf.start_param), float(entity.dxf.end_param)
    if not np.isfinite([*centre, *major, *minor, start, end]).all():
        raise Unusable("its numbers are no places", "")
    sweep = (end - start) % math.tau or math.tau
    reach = max(float(np.hypot(*major)), float(np.hypot(*minor)))
    steps = arc_steps(reach, sweep, tolerance)
    angles = start + sweep * np.arange(steps + 1) / steps
    points = centre + np.outer(np.cos(angles), major) + np.outer(np.sin(angles), minor)
    return np.asarray(points)


def _check_spline(entity: Any, tolerance: float) -> None:
    count = max(len(entity.control_points), len(entity.fit_points))
    if entity.dxf.degree > HIGHEST_DEGREE or count > Most.CONTROL_POINTS.most:
        raise Unusable(f"degree {entity.dxf.degree}, {count} points", "")
    controls = np.array([*entity.control_points, *entity.fit_points], dtype=np.float64)
    if not (np.abs(controls) <= FURTHEST_MM * tolerance / FLATTEN_MM).all():
        raise Unusable("it is absurdly far away", "")
    others = np.array([*entity.knots, *entity.weights], dtype=np.float64)
    if not np.isfinite(others).all():
        raise Unusable("it is broken", "")


def _spline(curve: Any, tolerance: float) -> FloatArray:
    """A B-spline's points within its knots' domain, more where a chord strays from the curve. The
    knots before and after that belong to no part of the curve, as where a closed one is uniform."""
    degree, knots = int(curve.degree), np.array(curve.knots(), dtype=np.float64)
    weights = np.array(curve.weights() or np.ones(len(curve.control_points)), dtype=np.float64)
    controls = np.array([(p.x, p.y) for p in curve.control_points], dtype=np.float64)
    weighted = np.column_stack([controls * weights[:, None], weights])
    first, last = knots[degree], knots[len(controls)]
    inside = np.unique(knots[(knots >= first) & (knots <= last)])
    parts = 2 * degree + 2
    at = np.concatenate(
        [*(np.linspace(a, b, parts, endpoint=False) for a, b in pairwise(inside)), inside[-1:]]
    )
    points = _on_spline(weighted, knots, degree, at)
    while len(at) <= _MOST_POINTS:
        between = (at[:-1] + at[1:]) / 2
        middle = _on_spline(weighted, knots, degree, between)
        off = np.hypot(*(middle - (points[:-1] + points[1:]) / 2).T)
        bent = np.flatnonzero((off > tolerance / 2) & (between > at[:-1]) & (between < at[1:]))
        if not len(bent):
            break
        at = np.insert(at, bent + 1, between[bent])
        points = np.insert(points, bent + 1, middle[bent], axis=0)
    return points


def _on_spline(weighted: FloatArray, knots: FloatArray, degree: int, at: FloatArray) -> FloatArray:
    """(n, 2): points of a rational B-spline by de Boor's scheme. weighted : (m, 3) x·w, y·w, w."""
    span = np.clip(np.searchsorted(knots, at, side="right") - 1, degree, len(weighted) - 1)
    part = weighted[span[:, None] - degree + np.arange(degree + 1)]
    for level in range(1, degree + 1):
        index = span[:, None] - degree + np.arange(level, degree + 1)
        low, high = knots[index], knots[index + degree + 1 - level]
        width = np.where(high > low, high - low, 1.0)
        share = ((at[:, None] - low) / width)[..., None]
        part = (1 - share) * part[:, :-1] + share * part[:, 1:]
    points: FloatArray = part[:, 0, :2] / part[:, 0, 2:]
    return points
