"""Outlines by formula: the shapes that skirts, yokes, pockets and belts are drafted from."""

from __future__ import annotations

import math

import numpy as np

from marker.exchange.curves import arc_steps
from marker.exchange.outlines import Drawn, closed, from_points
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.jobfile.piece_table import Rectangle, RingSector, Shape, Trapezoid, Triangle


def from_shape(shape: Shape, flatten_mm: float) -> Drawn:
    """Outline of a formula shape, counter-clockwise, its corners as each table of shapes says."""
    match shape:
        case Rectangle(width=width, height=height):
            return from_points([(0, 0), (width, 0), (width, height), (0, height)])
        case Trapezoid(bottom=bottom, top=top, height=height):
            inset = (bottom - top) / 2
            return from_points([(0, 0), (bottom, 0), (bottom - inset, height), (inset, height)])
        case Triangle(base=base, height=height):
            return from_points([(0, 0), (base, 0), (base / 2, height)])
        case RingSector():
            return _ring_sector(shape, flatten_mm)


def _ring_sector(ring: RingSector, flatten_mm: float) -> Drawn:
    if ring.inner_radius >= ring.outer_radius:
        raise Unusable("inner_radius is not below outer_radius", "Exchange or correct them")
    if ring.angle == 360:
        outer = closed(_arc(ring.outer_radius, 360, flatten_mm)[:-1], [0])
        return Drawn(outer.points, outer.corners, (_arc(ring.inner_radius, 360, flatten_mm)[:-1],))
    outer_arc = _arc(ring.outer_radius, ring.angle, flatten_mm)
    inner_arc = _arc(ring.inner_radius, ring.angle, flatten_mm)[::-1]
    points = np.concatenate([inner_arc[-1:], outer_arc, inner_arc[:-1]])
    return closed(points, [0, 1, len(outer_arc), len(outer_arc) + 1])


def _arc(radius: float, degrees: float, flatten_mm: float) -> FloatArray:
    """Points from angle 0 to `degrees` about the origin, both ends included."""
    steps = arc_steps(radius, math.radians(degrees), flatten_mm)
    angles = np.radians(np.linspace(0.0, degrees, steps + 1))
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])
