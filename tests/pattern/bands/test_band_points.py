"""Bands round the corners of their openings: straight sides keep their length but for the mitre."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.pattern.bands.band_findings import band_findings
from marker.pattern.bands.strip import AtPoint, ByRatio, Fold, LiesFlat, ShorterBy, Strip
from marker.pattern.bands.strip_plan import StripPlan, strip_plans
from marker.pattern.edge import Edge, EdgeRef, Stretch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.seams.sewing import Opening, Spot
from tests.pattern.bands.openings import JERSEY, half, place
from tests.shapes import polygon

WIDTH = 12.7
BAND = Strip(
    "neck binding", "jersey", 60, LiesFlat(), finishes="neckline", fold=Fold.SINGLE,
    finished_mm=WIDTH,
)  # fmt: skip
V_NECKS = [(60, 60), (87, 180), (87, 251), (100, 40), (70, 120)]


def v_front(width: float, depth: float) -> Piece:
    """Half a front with a straight V neck on its stitching line; edges: neck."""
    outline = polygon((0, 0), (260, 0), (260, 600), (width, 600), (0, 600 - depth))
    return Piece(
        "front", "jersey", outline, fold=Stretch(4, 0), line=Line.STITCHING,
        edges={"neck": Edge(3, 4)},
    )  # fmt: skip


def plan_of(strip: Strip, *pieces: Piece, closed: bool = False) -> StripPlan:
    edges = tuple(EdgeRef(piece.name, "neck") for piece in pieces)
    points = {"centre front": place("front", Spot.FOLD)}
    if closed:
        points["shoulder"] = place("back", 20.0)
    opening = Opening("neckline", edges, closed, points)
    (plan,) = strip_plans(Pattern("38", pieces, (strip,), openings=(opening,)), [JERSEY])
    return plan


def mitred_strip(width: float, depth: float, seam_mm: float, mitre_mm: float) -> FloatArray:
    """The inner edge of a strip folded round the point, end to end. Each half lies along its side
    of the V, its inner edge parallel to it and cut off at the mitre."""
    along = np.array([width, depth]) / math.hypot(width, depth)
    inward = np.array([-along[1], along[0]])  # away from the piece, towards the middle
    half_seam = seam_mm / 2
    return np.array([along * at + inward * WIDTH for at in (mitre_mm, half_seam)])


@pytest.mark.parametrize(("width", "depth"), V_NECKS)
def test_a_band_lies_flat_in_a_v_when_its_sides_keep_their_length(
    width: float, depth: float
) -> None:
    """Straight sides of √(w² + d²) each; the turn at the point is π - 2·atan(w ÷ d), and the mitre
    begins WIDTH·tan(turn ÷ 2) = WIDTH·d ÷ w either side of it (geometry)."""
    plan = plan_of(BAND, v_front(width, depth))
    assert plan.band is not None
    side = math.hypot(width, depth)
    assert plan.band.seam_mm == pytest.approx(2 * side)
    (point,) = plan.band.points
    assert point.turn_rad == pytest.approx(math.pi - 2 * math.atan(width / depth))
    assert (point.opening_mm, point.band_mm) == pytest.approx((side, side))
    assert point.mitre_mm == pytest.approx(WIDTH * depth / width)
    assert str(point.garment) == "front.neck at fold"
    assert "centre front, point" in [mark.name for mark in plan.band.marks]
    low, high = mitred_strip(width, depth, plan.band.seam_mm, point.mitre_mm or 0.0)
    assert low[0] == pytest.approx(0, abs=1e-9), "both halves meet on the fold"
    inside = shapely.LineString([low, high]).length
    assert plan.band.opening.inner_mm(WIDTH) == pytest.approx(2 * inside)
    assert not [each.code for each in band_findings(plan)]


def test_only_smooth_turning_shortens_an_inner_edge() -> None:
    """A V in front and half a circle of 87 mm at the back, 2·√(87² + 180²) + π·87: the half circle
    turns by π, each shoulder by atan(87 ÷ 180), too little for a corner. What the point takes, the
    mitre takes. Source for the inner edge: shapely's mitred buffer."""
    front, back = v_front(87, 180), half("back", 87, 87)
    plan = plan_of(BAND, front, back, closed=True)
    assert plan.band is not None
    length = 2 * math.hypot(87, 180) + math.pi * 87
    assert plan.band.opening.length_mm == pytest.approx(length, abs=0.01)
    turn = math.pi + 2 * math.atan(87 / 180)
    assert plan.band.seam_mm == pytest.approx(length - turn * WIDTH, abs=0.02)
    angles = np.linspace(0, math.pi, 2000)
    neck = np.vstack([np.column_stack([87 * np.cos(angles), 87 * np.sin(angles)]), [[0, -180]]])
    inner = shapely.Polygon(neck).buffer(-WIDTH, join_style="mitre", mitre_limit=50)
    shoulder = math.atan(87 / 180)
    mitred = 2 * WIDTH * (2 * math.tan(shoulder / 2) - shoulder)  # by shapely, not by us
    assert plan.band.opening.inner_mm(WIDTH) == pytest.approx(inner.length + mitred, abs=0.05)


def test_a_square_neck_has_four_points() -> None:
    """Half widths of 80 mm, 100 mm deep in front and 60 at the back: eight sides, four corners of
    90°, each mitred over the band's width (geometry)."""

    def square(name: str, depth: float) -> Piece:
        outline = polygon(
            (0, 0), (260, 0), (260, 600), (80, 600), (80, 600 - depth), (0, 600 - depth)
        )
        return Piece(
            name, "jersey", outline, fold=Stretch(5, 0), line=Line.STITCHING,
            edges={"neck": Edge(3, 5)},
        )  # fmt: skip

    plan = plan_of(replace(BAND, length=ShorterBy(0)), square("front", 100), square("back", 60),
                   closed=True)  # fmt: skip
    assert plan.band is not None
    assert [point.mitre_mm for point in plan.band.points] == pytest.approx([WIDTH] * 4)
    assert plan.band.opening.inner_mm(WIDTH) == pytest.approx(
        2 * (160 - 2 * WIDTH + 160 - 2 * WIDTH)
    )
    assert plan.band.clear_mm is not None
    assert plan.band.clear_mm >= 25, "no join in a corner"


@pytest.mark.parametrize(("width", "depth"), V_NECKS)
def test_lapped_ends_reach_into_the_other_seam(width: float, depth: float) -> None:
    """Each end, laid along its side past the point, reaches the far edge of the other side's
    allowance with both its long edges, and no further: met with shapely."""
    lapped = replace(
        BAND, point=AtPoint.LAPPED, length=ByRatio(0.9), join_at="centre front"
    )  # fmt: skip
    plan = plan_of(lapped, v_front(width, depth), half("back", width, 40), closed=True)
    assert plan.band is not None
    assert plan.band.joined_at_mm == pytest.approx(math.hypot(width, depth))
    assert plan.band.points[0].made is AtPoint.LAPPED
    along = np.array([-width, -depth]) / math.hypot(width, depth)  # down the right side
    inward = np.array([-depth, width]) / math.hypot(width, depth)
    other = np.array([-width, depth]) / math.hypot(width, depth)
    out = np.array([-depth, -width]) / math.hypot(width, depth)  # into the other half
    stitched = lapped.join_allowance_mm * out
    reach = shapely.LineString([stitched - 9e3 * other, stitched + 9e3 * other])
    reached = []
    for edge in (0.0, WIDTH):
        line = shapely.LineString([edge * inward - 9e3 * along, edge * inward + 9e3 * along])
        reached.append(float(shapely.get_coordinates(line.intersection(reach))[0] @ along))
    assert plan.seam_start_mm == pytest.approx(max(reached), abs=1e-6)


@pytest.mark.parametrize(
    ("change", "closed", "problem"),
    [
        ({"point": AtPoint.LAPPED}, False, "is not closed"),
        ({"point": AtPoint.LAPPED, "join_at": "shoulder"}, True, "'shoulder' is none"),
        ({"finished_mm": 300.0}, False, "so sharp"),
    ],
)
def test_points_that_cannot_be(change: dict[str, object], closed: bool, problem: str) -> None:
    pieces = (v_front(87, 180), half("back", 87, 40)) if closed else (v_front(87, 180),)
    with pytest.raises(CannotBeDone, match=problem):
        plan_of(replace(BAND, **change), *pieces, closed=closed)  # type: ignore[arg-type]
