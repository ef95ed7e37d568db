"""Edge lengths on the stitching line."""

from __future__ import annotations

import math

import numpy as np
import pytest

from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.pattern.allowances import stitching_ring
from marker.pattern.edge import Edge, EdgeRef, Stretch
from marker.pattern.piece import Line, Piece
from marker.pattern.seams.walk import walk
from marker.pattern.stitching import edge_length_mm
from tests.shapes import polygon, rectangle

STEPS = 180


def arc(radius: float, angle_deg: float) -> FloatArray:
    angles = np.radians(np.linspace(0, angle_deg, STEPS + 1))
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])


def skirt(angle_deg: float, line: Line = Line.CUT, allowance_mm: float = 0) -> Piece:
    """Ring sector of radii 200 and 800: `waist` the inner arc, `hem` the outer."""
    outline = np.concatenate([arc(800, angle_deg), arc(200, angle_deg)[::-1]])
    edges = {"hem": Edge(0, STEPS), "waist": Edge(STEPS + 1, 2 * STEPS + 1)}
    return Piece("skirt", "jersey", outline, line=line, allowance_mm=allowance_mm, edges=edges)


def panel(line: Line, allowance_mm: float, fold: Stretch | None = None) -> Piece:
    """Rectangle 300 × 500, its left edge 3 -> 0."""
    edges = {"top": Edge(2, 3), "side": Edge(1, 2), "round": Edge(1, 3)}
    return Piece(
        "panel",
        "jersey",
        rectangle(300, 500),
        line=line,
        allowance_mm=allowance_mm,
        edges=edges,
        fold=fold,
    )


def test_a_stitching_ring_is_measured_as_drawn() -> None:
    piece = panel(Line.STITCHING, 15)
    assert stitching_ring(piece).points is piece.outline
    assert edge_length_mm(piece, "round") == 800


def test_inside_a_cut_line_seams_end_where_the_neighbours_cross_them() -> None:
    piece = panel(Line.CUT, 15)
    assert edge_length_mm(piece, "top") == pytest.approx(270)
    assert edge_length_mm(piece, "side") == pytest.approx(470)
    assert edge_length_mm(piece, "round") == pytest.approx(740)


def test_a_side_on_the_fold_carries_no_allowance() -> None:
    piece = panel(Line.CUT, 15, fold=Stretch(3, 0))
    assert edge_length_mm(piece, "top") == pytest.approx(285)
    assert edge_length_mm(piece, "side") == pytest.approx(470)


def test_a_fold_over_several_vertices_carries_none_on_any_of_them() -> None:
    outline = polygon((0, 0), (300, 0), (300, 500), (0, 500), (0, 200))
    piece = Piece(
        "panel",
        "jersey",
        outline,
        allowance_mm=15,
        fold=Stretch(3, 0),
        edges={"top": Edge(2, 3)},
    )
    np.testing.assert_allclose(
        stitching_ring(piece).points, polygon((0, 15), (285, 15), (285, 485), (0, 485), (0, 200))
    )


def test_arcs_change_radius_by_the_allowance() -> None:
    """Half a ring: the hem shrinks from R to R - a, the waist grows from r to r + a (geometry).

    Both end a inside the straight edges, which the arc of radius ρ meets at asin(a / ρ).
    """
    piece = skirt(180, allowance_mm=10)
    for edge, radius in {"hem": 790, "waist": 210}.items():
        length = radius * (math.pi - 2 * math.asin(10 / radius))
        assert edge_length_mm(piece, edge) == pytest.approx(length, rel=1e-4)


def test_an_opening_loses_its_turning_times_the_distance() -> None:
    """Opening 20 in around, 5/8 in inside: 20 - 2π · 5/8 = 16.07 in (geometry)."""
    inch = 25.4
    angles = np.arange(720) * math.pi / 360
    radius = 20 * inch / (2 * math.pi)
    ring = radius * np.column_stack([np.cos(angles), np.sin(angles)])
    piece = Piece("facing", "jersey", ring, allowance_mm=5 / 8 * inch, edges={"edge": Edge(0, 0)})
    assert edge_length_mm(piece, "edge") / inch == pytest.approx(16.07, abs=0.005)


def test_circle_skirt_waist_radius() -> None:
    """A full circle's waist is 2πr, a half circle's πr (geometry)."""
    half = skirt(180, Line.STITCHING, 10)
    assert edge_length_mm(half, "waist") == pytest.approx(math.pi * 200, rel=1e-4)
    waists = [EdgeRef("skirt", "waist"), EdgeRef("skirt", "waist")]
    assert walk([half], waists).length_mm == pytest.approx(2 * math.pi * 200, rel=1e-4)


def test_no_room_for_a_stitching_ring_says_what_to_change() -> None:
    with pytest.raises(CannotBeDone, match=r"'panel'.*20 cm.*Lower `allowance`"):
        edge_length_mm(panel(Line.CUT, 200), "top")
