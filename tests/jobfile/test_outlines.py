"""Outlines read back as drawn: unit, direction, corners, stretches and flattened curves."""

from __future__ import annotations

import math
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from svgelements import Path as SvgPath

from marker.exchange.curves import flatten, parse_path
from marker.exchange.outlines import from_path, from_points
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import polyline_length, signed_area, stretch_points
from marker.pattern.edge import Edge
from marker.pattern.piece import Piece
from marker.pattern.stitching import edge_line
from tests.jobfile.writer import HEAD, only_piece, points_line, svg

Points = list[tuple[float, float]]


@st.composite
def simple_polygons(draw: st.DrawFn) -> Points:
    """Star-shaped about a point, so never self-crossing; either way round, in mm."""
    count = draw(st.integers(3, 12))
    radii = draw(st.lists(st.floats(20, 400), min_size=count, max_size=count))
    x, y = draw(st.floats(-500, 500)), draw(st.floats(-500, 500))
    way = draw(st.sampled_from([1, -1]))
    angles = [way * 2 * math.pi * k / count for k in range(count)]
    return [(x + r * math.cos(a), y + r * math.sin(a)) for r, a in zip(radii, angles, strict=True)]


def as_path(points: Points, mm_per_unit: float) -> str:
    """The points as path data, y down."""
    return "M " + " L ".join(f"{x / mm_per_unit!r} {-y / mm_per_unit!r}" for x, y in points) + " Z"


def expected(points: Points) -> FloatArray:
    outline = np.array(points)
    return outline if signed_area(outline) > 0 else outline[::-1]


@settings(max_examples=25, deadline=None)
@given(simple_polygons())
@pytest.mark.parametrize(("unit", "mm"), [("cm", 10.0), ("in", 25.4)])
def test_points_path_and_drawing_are_the_same_outline(unit: str, mm: float, points: Points) -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        head = HEAD.replace('"mm"', f'"{unit}"')
        data = as_path(points, mm)
        svg(
            folder,
            f'<path id="a" d="{data}"/>',
            f'width="7{unit}" height="3{unit}" viewBox="1 2 7 3"',
        )
        ways = [
            points_line([(x / mm, y / mm) for x, y in points]),
            f'path = "{data}"',
            'drawing = "drawing.svg#a"',
        ]
        for way in ways:
            read = only_piece(folder, way, head=head).outline
            np.testing.assert_allclose(read, expected(points), rtol=0, atol=1e-6)


def test_lengths_with_units_mix_with_bare_numbers(tmp_path: Path) -> None:
    piece = only_piece(tmp_path, 'points = [[0, 0], ["10 in", 0], ["10 in", "1/2 yd"]]')
    np.testing.assert_allclose(piece.outline, [(0, 0), (254, 0), (254, 457.2)])


def edge_points(piece: Piece, name: str) -> FloatArray:
    edge = piece.edges[name]
    return stretch_points(piece.outline, edge.start, edge.end)


CLOCKWISE = "points = [[0, 0], [0, 30], [20, 30], [40, 30], [40, 0]]"


def test_clockwise_outline_is_turned_and_its_edges_with_it(tmp_path: Path) -> None:
    piece = only_piece(tmp_path, CLOCKWISE, "edges = { top = [2, 4], side = [1, 2], hem = [5, 1] }")
    assert signed_area(piece.outline) == pytest.approx(1200)
    assert edge_points(piece, "top").tolist() == [[40, 30], [20, 30], [0, 30]]
    assert edge_points(piece, "side").tolist() == [[0, 30], [0, 0]]
    assert edge_points(piece, "hem").tolist() == [[0, 0], [40, 0]]


def test_counter_clockwise_edge_wraps_past_the_last_corner(tmp_path: Path) -> None:
    piece = only_piece(tmp_path, "points = [[0,0],[9,0],[9,9],[0,9]]", "edges = { a = [4, 2] }")
    assert piece.edges["a"] == Edge(3, 1)
    assert edge_points(piece, "a").tolist() == [[0, 9], [0, 0], [9, 0]]


@pytest.mark.parametrize(
    "points", [CLOCKWISE, "points = [[0, 0], [40, 0], [40, 30], [20, 30], [0, 30]]"]
)
def test_notch_is_measured_from_the_corner_named_first(points: str, tmp_path: Path) -> None:
    corners = "[1, 2]"
    edges, notches = f"edges = {{ a = {corners} }}", "notches = [{ edge = 'a', at = 12 }]"
    piece = only_piece(tmp_path, points, edges, notches)
    np.testing.assert_array_equal(edge_line(piece, "a")[0], np.zeros(2))
    assert piece.notches[0].at_mm == 12


def test_fold_of_a_clockwise_outline_runs_with_the_outline(tmp_path: Path) -> None:
    piece = only_piece(tmp_path, CLOCKWISE, "fold = [1, 2]")
    assert piece.fold is not None
    fold = stretch_points(piece.outline, piece.fold.start, piece.fold.end)
    assert fold.tolist() == [[0, 30], [0, 0]]


def test_points_closed_by_hand_keep_their_corner_numbers() -> None:
    drawn = from_points([(0, 0), (9, 0), (9, 0), (9, 9), (0, 0)])
    assert drawn.points.tolist() == [[0, 0], [9, 0], [9, 9]]
    assert drawn.corners == (0, 1, 1, 2, 0)


def test_corners_of_a_path_are_the_ends_of_its_commands() -> None:
    drawn = from_path("M 0 0 C 0 20 60 20 60 0 v 50 H 0 Z", 1.0, 0.1)
    assert drawn.points[list(drawn.corners)].tolist() == [[0, 0], [60, 0], [60, -50], [0, -50]]
    assert len(drawn.points) > 8


def test_path_drawn_back_to_its_start_needs_no_z() -> None:
    assert len(from_path("M 0 0 L 9 0 L 9 9 L 0 0", 1.0, 0.1).points) == 3


def test_whole_outline_as_an_edge(tmp_path: Path) -> None:
    piece = only_piece(tmp_path, CLOCKWISE, "edges = { edge = [1, 1] }")
    assert polyline_length(edge_points(piece, "edge")) == pytest.approx(140)


CURVES = {
    "circle": "M 300 0 A 300 300 0 0 1 -300 0 A 300 300 0 0 1 300 0 Z",
    "ellipse": "M 300 0 A 300 100 30 1 1 -300 0 Z",
    "armhole": "M 0 0 C 10 90 60 120 140 130 L 140 0 Z",
    "S": "M 0 0 C 400 0 -200 300 200 300 L -200 300 Z",
    "cusp": "M 0 0 C 200 200 0 200 200 0 Z",
    "quadratic": "M 0 0 Q 150 300 300 0 T 600 0 L 600 400 0 400 Z",
}


@pytest.mark.parametrize("tolerance", [1.0, 0.1, 0.01])
@pytest.mark.parametrize("name", CURVES)
def test_no_chord_is_further_from_its_curve_than_the_tolerance(name: str, tolerance: float) -> None:
    """The curve itself by svgelements' own point(), sampled at 2000 places a command."""
    points, ends, _ = flatten(parse_path(CURVES[name]), tolerance)
    start = 0
    for segment, end in zip(list(SvgPath(CURVES[name]))[1:], ends[1:], strict=False):
        curve = [segment.point(t) for t in np.linspace(0, 1, 2001)]
        chords = shapely.LineString(points[start : end + 1])
        distances = shapely.distance(chords, shapely.points([(p.x, p.y) for p in curve]))
        assert distances.max() <= tolerance + 1e-9
        start = end


def test_flattened_circle_has_no_more_points_than_needed() -> None:
    """Sagitta r (1 - cos(pi/n)) <= t: n = pi / acos(1 - t/r) = 121.7 for r = 300, t = 0.1."""
    points, _, _ = flatten(parse_path(CURVES["circle"]), 0.1)
    assert 122 <= len(points) - 1 <= 124


def test_flat_cubic_is_one_chord() -> None:
    assert len(flatten(parse_path("M 0 0 C 30 0 60 0 90 0 L 9 9 Z"), 0.1)[0]) == 3
