"""Cut outlines: allowance, unfolding, grain, copies, notches."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import is_ccw, signed_area
from marker.job import Job
from marker.pattern.bands.strip import CutLength, Strip
from marker.pattern.cutting import unfold
from marker.pattern.edge import Edge, Notch, Stretch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import CutPiece, Line, Piece
from tests.shapes import CUP, NOTCHED, polygon, rectangle

JERSEY = Cloth("jersey", 1500)
LINING = Cloth("lining", 1400)


def job(*pieces: Piece, strips: tuple[Strip, ...] = ()) -> Job:
    return Job("choir dress", "38", (Pattern("38", pieces, strips),), (JERSEY, LINING), {"38": 1})


def cut(piece: Piece) -> CutPiece:
    return job(piece).cut_pieces(JERSEY)[0]


def drawn(outline: FloatArray, allowance_mm: float = 0, line: Line = Line.STITCHING) -> Piece:
    """A piece whose grain already lies along +x, so that its cut outline is only moved."""
    return Piece("front", "jersey", outline, grain_deg=0, line=line, allowance_mm=allowance_mm)


def area(points: FloatArray) -> float:
    return float(shapely.Polygon(points).area)


def test_pieces_come_in_the_jobs_order_then_strips() -> None:
    pieces = [replace(drawn(rectangle(10, 10)), name=name) for name in ("b", "a")]
    lined = replace(drawn(rectangle(10, 10)), name="pocket", cloth="lining")
    strip = Strip("belt", "jersey", 50, CutLength(900))
    whole = job(pieces[0], lined, pieces[1], strips=(strip,))
    assert [piece.name for piece in whole.cut_pieces(JERSEY)] == ["b", "a", "belt"]
    assert [piece.name for piece in whole.cut_pieces(LINING)] == ["pocket"]
    assert job(*pieces).cut_pieces(LINING) == ()


def test_allowance_around_a_rectangle() -> None:
    """(w + 2a)(h + 2a): mitred corners are square (geometry)."""
    piece = cut(drawn(rectangle(300, 200), 15))
    assert area(piece.outline) == pytest.approx(330 * 230)
    np.testing.assert_allclose(piece.stitching, polygon((15, 15), (315, 15), (315, 215), (15, 215)))


def test_allowance_around_a_circle() -> None:
    """π(r + a)², the circle drawn with 720 chords (geometry)."""
    angles = np.arange(720) * math.pi / 360
    ring = 200 * np.column_stack([np.cos(angles), np.sin(angles)])
    assert area(cut(drawn(ring, 15)).outline) == pytest.approx(math.pi * 215**2, rel=1e-4)


def test_long_mitres_are_cut_off_at_four_allowances() -> None:
    needle = polygon((0, 0), (300, 15), (0, 30))
    piece = cut(drawn(needle, 10))
    tip = piece.stitching[:, 0].max()
    assert piece.outline[:, 0].max() - tip == pytest.approx(40, abs=0.1)
    assert 10 / math.sin(math.atan(15 / 300)) > 200  # a full mitre would stand out this far


def test_cut_line_keeps_its_outline_and_gains_a_stitching_line() -> None:
    piece = cut(drawn(rectangle(300, 200), 15, Line.CUT))
    np.testing.assert_array_equal(piece.outline, rectangle(300, 200))
    np.testing.assert_allclose(piece.stitching, polygon((15, 15), (285, 15), (285, 185), (15, 185)))


@pytest.mark.parametrize("line", list(Line))
def test_without_allowance_there_is_no_stitching_line(line: Line) -> None:
    piece = cut(drawn(NOTCHED * 50, 0, line))
    assert piece.stitching.shape == (0, 2)
    np.testing.assert_array_equal(piece.outline, NOTCHED * 50)


@given(
    radii=st.lists(st.floats(150, 300), min_size=4, max_size=12),
    allowance=st.floats(3, 20),
    line=st.sampled_from(list(Line)),
)
def test_stitching_and_cut_line_stay_an_allowance_apart(
    radii: list[float], allowance: float, line: Line
) -> None:
    """Nowhere nearer; and from the middle of each stitched edge the cut line is that far.

    shapely drops hollows shallower than 1 % of the allowance, hence the tolerance.
    """
    angles = np.arange(len(radii)) * 2 * math.pi / len(radii)
    outline = np.array(radii)[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])
    piece = cut(drawn(outline, allowance, line))
    stitched, edge = shapely.LinearRing(piece.stitching), shapely.LinearRing(piece.outline)
    assert shapely.Polygon(piece.outline).contains(stitched)
    assert stitched.distance(edge) == pytest.approx(allowance, rel=0.011)
    middles = (piece.stitching + np.roll(piece.stitching, -1, axis=0)) / 2
    for middle in middles:
        assert shapely.Point(middle).distance(edge) >= 0.989 * allowance
    if line is Line.STITCHING:  # a mitre cut off at 4 allowances is at most 2 allowances wide
        corners = [shapely.Point(point).distance(stitched) for point in piece.outline]
        assert max(corners) <= math.sqrt(17) * allowance * 1.001


def test_overlapping_allowances_are_refused() -> None:
    keyhole = polygon(
        (0, 0), (300, 0), (300, 300), (155, 300), (155, 200), (200, 200), (200, 100),
        (100, 100), (100, 200), (145, 200), (145, 300), (0, 300),
    )  # fmt: skip
    with pytest.raises(CannotBeDone, match=r"'front'.*allowances of 10 mm overlap"):
        cut(drawn(keyhole, 10))


def test_grain_up_the_drawing_lies_along_the_cloth() -> None:
    piece = cut(replace(drawn(polygon((0, 0), (300, 0), (0, 500))), grain_deg=90))
    np.testing.assert_array_equal(piece.outline, polygon((0, 300), (0, 0), (500, 300)))


@given(grain=st.floats(-720, 720))
def test_any_grain_lies_along_x_and_the_box_starts_at_the_origin(grain: float) -> None:
    """The first edge is drawn along the grain, so as cut it must run along +x."""
    z = np.array([0, 100, 100 + 50j, 50j]) * np.exp(1j * math.radians(grain))
    outline = np.column_stack([z.real, z.imag])
    piece = cut(replace(drawn(outline), grain_deg=grain))
    np.testing.assert_allclose(piece.outline, rectangle(100, 50), atol=1e-9)
    assert is_ccw(piece.outline)


def test_everything_moves_in_one_frame() -> None:
    """A half front on the fold, grain up: what was at (x, y) is cut at (y + 10, 310 - x)."""
    half = polygon((0, 0), (300, 0), (300, 500), (0, 400))
    hole = polygon((100, 100), (150, 100), (150, 150))
    piece = cut(
        Piece(
            "front",
            "jersey",
            half,
            fold=Stretch(3, 0),
            line=Line.STITCHING,
            allowance_mm=10,
            edges={"side": Edge(1, 2), "hem": Edge(0, 1)},
            notches=(Notch("side", 200), Notch("hem", 0), Notch("hem", 100)),
            cutouts=(hole,),
        )
    )
    assert piece.fold_line is not None
    np.testing.assert_allclose(piece.fold_line, polygon((410, 310), (10, 310)))
    expected = {(210, 0), (210, 620), (0, 310), (0, 210), (0, 410)}
    assert {(round(x, 6), round(y, 6)) for x, y in piece.notches} == expected
    assert len(piece.notches) == len(expected)  # the one on the fold is not doubled
    assert len(piece.cutouts) == 2
    assert all(is_ccw(hole) for hole in piece.cutouts)
    outer = shapely.Polygon(piece.outline)
    assert all(outer.contains(shapely.Polygon(hole)) for hole in piece.cutouts)
    mirror = shapely.Polygon(piece.outline * (1, -1) + (0, 620))
    assert outer.symmetric_difference(mirror).area < 1e-6
    assert area(piece.stitching) == pytest.approx(2 * area(half))


def test_allowance_of_a_cut_out_lies_inside_it() -> None:
    piece = replace(drawn(rectangle(300, 200), 10), cutouts=(rectangle(100, 60) + 50,))
    assert area(cut(piece).cutouts[0]) == pytest.approx(80 * 40)
    chamfered = polygon((50, 50), (149, 50), (150, 51), (150, 110), (50, 110))
    inside = cut(replace(piece, cutouts=(chamfered,))).cutouts[0]
    assert len(inside) == 4  # the chamfer's edge vanishes
    assert area(inside) == pytest.approx(80 * 40)
    with pytest.raises(CannotBeDone, match="cut-out is too small"):
        cut(replace(piece, cutouts=(rectangle(100, 19) + 50,)))


def test_cut_outs_of_a_cut_line_stay_as_drawn() -> None:
    hole = rectangle(100, 60) + 50
    piece = replace(drawn(rectangle(300, 200), 10, Line.CUT), cutouts=(hole,))
    np.testing.assert_array_equal(cut(piece).cutouts[0], hole)


def test_notches_of_a_cut_line_are_measured_on_the_stitching_line() -> None:
    piece = replace(
        drawn(rectangle(300, 200), 15, Line.CUT),
        edges={"hem": Edge(0, 1)},
        notches=(Notch("hem", 0), Notch("hem", 270)),
    )
    found = cut(piece).notches
    assert {tuple(np.round(point, 6)) for point in found} <= {(15, 0), (0, 15), (285, 0), (300, 15)}
    with pytest.raises(CannotBeDone, match=r"27.1 cm of edge 'hem'.*only 27 cm long"):
        cut(replace(piece, notches=(Notch("hem", 271),)))


@pytest.mark.parametrize(
    ("number", "pair", "copies", "mirrored"),
    [(1, False, 1, 0), (4, False, 4, 0), (2, True, 1, 1), (6, True, 3, 3)],
)
def test_half_of_a_pair_is_mirrored(number: int, pair: bool, copies: int, mirrored: int) -> None:
    for outline in (NOTCHED * 50, CUP * 50):  # both symmetric about the upright: still pairs
        piece = cut(replace(drawn(outline), cut=number, pair=pair))
        assert (piece.copies, piece.mirrored_copies) == (copies, mirrored)


def test_a_half_that_crosses_its_fold_is_refused() -> None:
    crossing = polygon((0, 0), (300, 0), (300, 500), (-20, 450), (-20, 400), (0, 300))
    piece = replace(drawn(crossing), fold=Stretch(5, 0))
    with pytest.raises(CannotBeDone, match="one side of the fold"):
        cut(piece)


def test_turns_and_tolerance_pass_through() -> None:
    piece = cut(replace(drawn(rectangle(10, 10)), turns=(0.0, 90.0), grain_tolerance_deg=3))
    assert (piece.turns, piece.grain_tolerance_deg, piece.size) == ((0.0, 90.0), 3, "38")


def test_the_area_of_a_piece_leaves_its_cut_outs_out() -> None:
    """A panel of 300 × 200 with a hole of 100 × 50 (arithmetic)."""
    hole = np.add(rectangle(100, 50), (100, 50))
    panel = Piece("panel", "jersey", rectangle(300, 200), cutouts=(hole,))
    assert cut(panel).area_mm2 == pytest.approx(300 * 200 - 100 * 50)


def test_an_edge_straight_across_the_fold_has_no_vertex_there() -> None:
    whole = unfold(rectangle(30, 50), Stretch(3, 0))
    np.testing.assert_array_equal(whole, polygon((30, 0), (30, 50), (-30, 50), (-30, 0)))


def test_a_point_on_the_fold_stays_once() -> None:
    whole = unfold(polygon((0, 10), (30, 0), (30, 50), (0, 40), (0, 25)), Stretch(3, 0))
    expected = polygon((0, 10), (30, 0), (30, 50), (0, 40), (-30, 50), (-30, 0))
    np.testing.assert_array_equal(whole, expected)


@given(
    xs=st.lists(st.floats(5, 100), min_size=2, max_size=8),
    turn=st.floats(0, 6.3),
)
def test_the_whole_is_symmetric_and_twice_the_half(xs: list[float], turn: float) -> None:
    """Mirrored in its fold by complex numbers, the whole lies on itself."""
    heights = np.linspace(0, 200, len(xs))
    half = np.concatenate([[[0, -10]], np.column_stack([xs, heights]), [[0, 230]]])
    spin = np.exp(1j * turn)
    z = (half[:, 0] + 1j * half[:, 1]) * spin
    outline = np.column_stack([z.real, z.imag])
    whole = unfold(outline, Stretch(len(outline) - 1, 0))
    w = (whole[:, 0] + 1j * whole[:, 1]) / spin
    mirror = shapely.Polygon(np.column_stack([-w.real, w.imag]))
    standing = shapely.Polygon(np.column_stack([w.real, w.imag]))
    assert standing.symmetric_difference(mirror).area < 1e-6
    assert signed_area(whole) == pytest.approx(2 * signed_area(outline))
