"""Necks and hems that meet the fold in a point: both halves' allowance lines meet on the fold."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from marker.cloth.fabric import Cloth
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import is_ccw
from marker.job import Job
from marker.pattern.allowances import MITRE_LIMIT, cut_ring, stitching_ring
from marker.pattern.edge import Edge, Stretch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.stitching import edge_length_mm
from tests.shapes import polygon

CLOTH = Cloth("jersey", 1500)
WIDTH, HEIGHT, ALLOWANCE = 260.0, 700.0, 10.0
NECKS = [(width, depth) for width in (60, 75, 87, 110) for depth in (30, 90, 180, 251, 330)]
NARROW = 3.0


def half(outline: FloatArray, line: Line, allowance: float = ALLOWANCE) -> Piece:
    """Half a front: hem, side, shoulder and neck, then the fold up its left side."""
    names = ("hem", "side", "shoulder", "neck")
    edges = {name: Edge(k, k + 1) for k, name in enumerate(names)}
    return Piece(
        "front", "jersey", outline, fold=Stretch(4, 0), line=line, allowance_mm=allowance,
        edges=edges,
    )  # fmt: skip


def v_neck(width: float, depth: float) -> FloatArray:
    return polygon((0, 0), (WIDTH, 0), (WIDTH, HEIGHT), (width, HEIGHT), (0, HEIGHT - depth))


def both_halves(outline: FloatArray) -> BaseGeometry:
    """Source of what is opened here: shapely's affine maps and unions."""
    drawn = shapely.Polygon(outline)
    mirrored = shapely.transform(drawn, lambda points: points * (-1, 1))
    return shapely.union_all([drawn, mirrored])


def grown(outline: FloatArray, allowance: float) -> FloatArray:
    """The half of what shapely's mitred buffer makes of both halves, from the foot of the fold."""
    whole = both_halves(outline).buffer(allowance, join_style="mitre", mitre_limit=20)
    right = whole.intersection(shapely.box(0, -100, 1000, 1000))
    points = shapely.get_coordinates(right)[:-1]
    points = points if is_ccw(points) else points[::-1]
    on_fold = np.where(np.abs(points[:, 0]) < 1e-9, points[:, 1], np.inf)
    return np.roll(points, -int(np.argmin(on_fold)), axis=0)


@pytest.mark.parametrize("line", list(Line))
@pytest.mark.parametrize(("width", "depth"), NECKS)
def test_a_straight_v_neck_is_as_long_as_geometry_says(
    width: float, depth: float, line: Line
) -> None:
    """Half width w and depth d on the stitching line: √(w² + d²), whatever line was drawn."""
    outline = v_neck(width, depth)
    drawn = half(grown(outline, ALLOWANCE) if line is Line.CUT else outline, line)
    assert edge_length_mm(drawn, "neck") == pytest.approx(math.hypot(width, depth), abs=0.1)
    job = Job("choir robe", "38", (Pattern("38", (drawn,)),), (CLOTH,), {"38": 1})
    (cut,) = job.cut_pieces(CLOTH)
    wanted = both_halves(outline).buffer(ALLOWANCE, join_style="mitre", mitre_limit=20)
    assert cut.area_mm2 == pytest.approx(wanted.area, abs=1)


def pointed(angle_deg: float) -> FloatArray:
    """A half whose neck leaves the fold at this angle inside the piece, 120 mm long."""
    angle = math.radians(angle_deg)
    x, y = 120 * math.sin(angle), 400 - 120 * math.cos(angle)
    return polygon((0, 0), (300, 0), (300, y - 30), (x, y), (0, 400))


@pytest.mark.parametrize("angle", range(10, 171, 10))
def test_a_point_at_any_angle_grows_and_shrinks(angle: int) -> None:
    """Source: shapely's buffer of both halves. A point drawn sharper than the mitre's limit is cut
    off there, square to the fold."""
    outline = pointed(angle)
    ring = cut_ring(half(outline, Line.STITCHING, NARROW)).points
    wanted = grown(outline, NARROW)
    if 1 / math.sin(math.radians(angle)) > MITRE_LIMIT and angle < 90:
        assert ring[:, 1].max() == pytest.approx(400 + MITRE_LIMIT * NARROW)
        wanted = shapely.get_coordinates(
            shapely.Polygon(wanted) & shapely.box(0, -9, 999, 400 + MITRE_LIMIT * NARROW)
        )
    assert (shapely.Polygon(ring) ^ shapely.Polygon(wanted)).area < 1e-3
    back = stitching_ring(half(grown(outline, NARROW), Line.CUT, NARROW)).points
    assert (shapely.Polygon(back) ^ shapely.Polygon(outline)).area < 1e-3
