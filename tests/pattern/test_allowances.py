"""Allowances by edge: closed forms, shapely's buffer, hems that fold back, and there and back."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.pattern.allowances import cut_ring, stitching_ring
from marker.pattern.edge import Corner, Edge, Hem, HemKind, Stretch
from marker.pattern.piece import Line, Piece
from tests.shapes import CAST, polygon, rectangle

SQUARE_END, MIRRORED, MITRED = Corner.SQUARE, Corner.MIRRORED, Corner.MITRED


def stitched(outline: FloatArray, allowance: float = 10, **edges: Edge) -> Piece:
    return Piece(
        "front", "jersey", outline, line=Line.STITCHING, allowance_mm=allowance, edges=edges
    )


def area(points: FloatArray) -> shapely.Polygon:
    return shapely.Polygon(points)


def same(points: FloatArray, expected: FloatArray, within_mm2: float = 1e-6) -> bool:
    return float(area(points).symmetric_difference(area(expected)).area) < within_mm2


def arc(radius: float, from_deg: float, to_deg: float, steps: int = 180) -> FloatArray:
    angles = np.radians(np.linspace(from_deg, to_deg, steps + 1))
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])


@pytest.mark.parametrize("name", sorted(CAST))
def test_one_allowance_agrees_with_shapely(name: str) -> None:
    """Source: shapely's buffer, corners mitred to the same limit."""
    outline = CAST[name] * 50
    grown = area(outline).buffer(12, join_style="mitre", mitre_limit=4)
    assert same(cut_ring(stitched(outline, 12)).points, np.array(grown.exterior.coords))


@settings(deadline=None)
@given(
    radii=st.lists(st.floats(100, 300), min_size=4, max_size=6),
    allowance=st.floats(1, 25),
)
def test_curved_outlines_agree_with_shapely(radii: list[float], allowance: float) -> None:
    """A smooth outline, hollow and full, by a trigonometric series; source: shapely's buffer.

    shapely drops hollows shallower than 1 % of the allowance, hence the tolerance.
    """
    turn = np.linspace(0, 2 * math.pi, 240, endpoint=False)
    waves = [(r - 200) / (4 * k * k) * np.cos(k * turn + r) for k, r in enumerate(radii, 1)]
    around = 200 + np.sum(waves, axis=0)
    outline = around[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    grown = area(outline).buffer(allowance, join_style="mitre", mitre_limit=4)
    own = area(cut_ring(stitched(outline, allowance)).points)
    assert own.symmetric_difference(grown).area < 0.011 * allowance * own.length


def test_a_circle_grows_by_its_allowance() -> None:
    """Circumference 2π(r + a); 720 chords fall short by (π/720)²/6 of it (geometry)."""
    ring = cut_ring(stitched(arc(200, 0, 360, 720)[:-1], 15)).points
    exact = 2 * math.pi * 215
    apothem = 200 * math.cos(math.pi / 720) + 15  # the chords, not the corners, move by 15
    assert area(ring).length == pytest.approx(1440 * apothem * math.tan(math.pi / 720))
    assert area(ring).length == pytest.approx(exact, abs=exact * (math.pi / 720) ** 2)


@pytest.mark.parametrize("radius", [80, 12])
def test_inside_curves_lose_their_allowance(radius: float) -> None:
    """A half round hollow of radius r, 50 deep, keeps one of radius r - a (geometry)."""
    hollow = arc(radius, 180, 360) + polygon((0, 150))
    outline = np.concatenate([polygon((-150, 0), (150, 0), (150, 200)), [(radius, 200)]])
    outline = np.concatenate([outline, hollow[::-1], polygon((-radius, 200), (-150, 200))])
    points = cut_ring(stitched(outline, 10)).points
    left = area(rectangle(320, 220) - (160, 10)).difference(area(points)).area
    assert left == pytest.approx(
        math.pi * (radius - 10) ** 2 / 2 + 60 * 2 * (radius - 10), rel=0.002
    )


def test_an_inside_curve_sharper_than_its_allowance_closes_to_a_point() -> None:
    """A V with a rounded foot of radius 4: the walls meet, no loop is left; source: shapely."""
    foot = arc(4, 210, 330, 20)
    outline = np.concatenate([polygon((-100, -80), (100, -80), (100, 90), (60, 90)), foot[::-1]])
    outline = np.concatenate([outline, polygon((-60, 90), (-100, 90))])
    grown = area(outline).buffer(10, join_style="mitre", mitre_limit=4)
    assert same(cut_ring(stitched(outline, 10)).points, np.array(grown.exterior.coords), 1)


def test_each_edge_has_its_own_allowance() -> None:
    piece = stitched(
        rectangle(300, 200),
        10,
        hem=Edge(0, 1, hem=Hem(HemKind.TURNED_ONCE, 30, 0)),
        side=Edge(1, 2, allowance_mm=15),
        fold=Edge(3, 0, allowance_mm=0),
    )
    expected = polygon((0, -30), (315, -30), (315, 210), (0, 210))
    assert same(cut_ring(piece).points, expected)


def test_the_fold_has_none_and_the_cut_line_crosses_it_where_it_is_drawn() -> None:
    piece = Piece(
        "front", "jersey", rectangle(300, 200), fold=Stretch(3, 0), line=Line.STITCHING,
        allowance_mm=10, edges={"hem": Edge(0, 1, hem=Hem(HemKind.TURNED_ONCE, 30, 0))},
    )  # fmt: skip
    assert same(cut_ring(piece).points, polygon((0, -30), (310, -30), (310, 210), (0, 210)))


def test_along_a_straight_line_the_allowance_steps() -> None:
    piece = stitched(
        polygon((0, 0), (300, 0), (300, 100), (300, 200), (0, 200)),
        10,
        slit=Edge(1, 2, allowance_mm=25),
    )
    expected = polygon((-10, -10), (325, -10), (325, 100), (310, 100), (310, 210), (-10, 210))
    assert same(cut_ring(piece).points, expected)
    drawn = Piece(
        "front", "jersey", expected, allowance_mm=10, edges={"slit": Edge(1, 2, allowance_mm=25)}
    )
    assert same(stitching_ring(drawn).points, rectangle(300, 200))
    straight = Piece(
        "front", "jersey", piece.outline, allowance_mm=10,
        edges={"slit": Edge(1, 2, allowance_mm=25), "seam": Edge(2, 3)},
    )  # fmt: skip
    inner = polygon((10, 10), (275, 10), (275, 100), (290, 100), (290, 190), (10, 190))
    assert same(stitching_ring(straight).points, inner)
    np.testing.assert_allclose(
        stitching_ring(straight).line(Stretch(1, 2)), polygon((275, 10), (275, 100))
    )
    np.testing.assert_allclose(
        stitching_ring(straight).line(Stretch(2, 3)), polygon((290, 100), (290, 190))
    )


def test_square_ends() -> None:
    """At 60°: the stitching line meets the neighbour's cut line a / sin 60° out (geometry)."""
    outline = polygon((0, 0), (400, 0), (300, 100 * math.sqrt(3)), (100, 100 * math.sqrt(3)))
    piece = stitched(outline, 10, hem=Edge(0, 1, allowance_mm=20, corner=SQUARE_END))
    points = cut_ring(piece).points
    reach = 10 / math.sin(math.radians(60))
    for corner in [(-reach, 0), (-reach, -20), (400 + reach, -20), (400 + reach, 0)]:
        assert np.abs(points - corner).sum(axis=1).min() < 1e-9
    mitred = area(cut_ring(stitched(outline, 10, hem=Edge(0, 1, allowance_mm=20))).points)
    assert area(points).difference(mitred).area < 1e-9


def hemmed(slope: float, other: float, hem: Hem, side_mm: float, corner: Corner | None) -> Piece:
    """A panel 400 high on a level hem 500 long; its sides lean in by `slope` and `other`."""
    outline = polygon((0, 0), (500, 0), (500 - 400 * other, 400), (400 * slope, 400))
    return stitched(outline, side_mm, hem=Edge(0, 1, hem=hem, corner=corner))


def folded_back(cut: FloatArray, hem: Hem) -> BaseGeometry:
    """Everything beyond the hem line y = 0, folded back along it, and turned under at its depth."""
    below = area(cut).intersection(shapely.box(-1e4, -hem.allowance_mm - 1, 1e4, 0))
    once = shapely.affinity.scale(below, 1, -1, origin=(0, 0))
    lower = once.intersection(shapely.box(-1e4, 0, 1e4, hem.depth_mm))
    beyond = once.intersection(shapely.box(-1e4, hem.depth_mm, 1e4, 1e4))
    return lower.union(shapely.affinity.scale(beyond, 1, -1, origin=(0, hem.depth_mm)))


HEMS = st.sampled_from([Hem.usual(kind) for kind in HemKind])


@given(slope=st.floats(-0.6, 0.6), other=st.floats(-0.6, 0.3), hem=HEMS, side_mm=st.floats(0, 20))
def test_a_mirrored_hem_folds_back_within_the_sides(
    slope: float, other: float, hem: Hem, side_mm: float
) -> None:
    """Folded back, the allowance ends exactly where the sides are cut; nothing stands out."""
    cut = cut_ring(hemmed(slope, other, hem, side_mm, None)).points
    back = folded_back(cut, hem)
    body = area(cut).intersection(shapely.box(-1e4, 0, 1e4, hem.depth_mm))
    assert back.difference(body).area < 1e-6
    assert body.difference(back).area < 1e-6
    assert cut[:, 1].min() == pytest.approx(-hem.allowance_mm)


def test_a_mitred_hem_stands_out_where_the_sides_lean_in() -> None:
    """What mirrored corners are for: on an A-line the plain corner is too wide folded back."""
    hem = Hem.usual(HemKind.TURNED_ONCE)
    cut = cut_ring(hemmed(0.3, 0.3, hem, 10, MITRED)).points
    body = area(cut).intersection(shapely.box(-1e4, 0, 1e4, hem.depth_mm))
    assert folded_back(cut, hem).difference(body).area > 2 * 30 * 0.3 * 30 * 0.9


def test_a_curved_side_is_mirrored_as_deep_as_the_hem() -> None:
    """A side of radius 600 strays from its chord over 30 by 30²/(8 · 600) = 0.19 mm (geometry)."""
    side = arc(600, 0, 25, 60) - polygon((100, 0))
    outline = np.concatenate([polygon((0, 0)), side, [(0, side[-1, 1])]])
    piece = stitched(outline, 10, hem=Edge(0, 1, hem=Hem.usual(HemKind.TURNED_ONCE)))
    cut = cut_ring(piece).points
    body = area(cut).intersection(shapely.box(-1e4, 0, 1e4, 30))
    back = folded_back(cut, Hem.usual(HemKind.TURNED_ONCE))
    assert back.hausdorff_distance(body) < 0.25


def test_hem_beside_hem_is_mitred() -> None:
    hem = Hem(HemKind.TURNED_ONCE, 30, 0)
    piece = stitched(rectangle(300, 200), 10, hem=Edge(0, 1, hem=hem), slit=Edge(1, 2, hem=hem))
    assert same(cut_ring(piece).points, polygon((-10, -30), (330, -30), (330, 210), (-10, 210)))


def test_overlapping_hems_are_refused() -> None:
    """A slit 40 wide has no room for two hems of 30."""
    outline = polygon(
        (0, 0), (130, 0), (130, 200), (170, 200), (170, 0), (300, 0), (300, 400), (0, 400)
    )
    hem = Hem(HemKind.TURNED_ONCE, 30, 0)
    piece = stitched(outline, 10, left=Edge(1, 2, hem=hem), right=Edge(3, 4, hem=hem))
    with pytest.raises(CannotBeDone, match=r"'front'.*30 mm overlap"):
        cut_ring(piece)


def polygons() -> st.SearchStrategy[FloatArray]:
    """Corners of 3 to 7 around a point, every turn well over that of a curve."""

    def built(radii: list[float]) -> FloatArray:
        angles = np.arange(len(radii)) * 2 * math.pi / len(radii)
        return np.asarray(
            np.array(radii)[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])
        )

    return st.lists(st.floats(190, 210), min_size=3, max_size=7).map(built)


@given(outline=polygons(), widths=st.lists(st.floats(0, 40), min_size=7, max_size=7))
def test_cut_to_stitching_to_cut(outline: FloatArray, widths: list[float]) -> None:
    edges = {
        f"edge {i}": Edge(i, (i + 1) % len(outline), allowance_mm=widths[i])
        for i in range(len(outline))
    }
    piece = Piece("front", "jersey", outline, edges=edges)
    inner = stitching_ring(piece).points
    again = cut_ring(Piece("front", "jersey", inner, line=Line.STITCHING, edges=edges)).points
    np.testing.assert_allclose(again, outline, atol=1e-6)


@given(slope=st.floats(-0.5, 0.5), hem=HEMS, side_mm=st.floats(3, 20))
def test_stitching_to_cut_to_stitching_through_a_mirrored_hem(
    slope: float, hem: Hem, side_mm: float
) -> None:
    """The cut line drawn, the short sides of its hem given the side's allowance."""
    piece = hemmed(slope, 0.1, hem, side_mm, None)
    points = cut_ring(piece).points
    points = points[np.hypot(*(np.roll(points, -1, axis=0) - points).T) > 1e-6]
    start = next(i for i in range(len(points)) if np.ptp(points[[i - 1, i], 1]) < 1e-6) - 1
    drawn = Piece(
        "front", "jersey", points, allowance_mm=side_mm,
        edges={"hem": Edge(start % len(points), (start + 1) % len(points), hem=hem)},
    )  # fmt: skip
    assert same(stitching_ring(drawn).points, piece.outline, 1e-3)
