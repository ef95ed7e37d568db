"""Strips: derived lengths, joins, and how they lie."""

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
from marker.job import Job
from marker.pattern.cutting import cut_pieces
from marker.pattern.edge import Edge, EdgeRef, Stretch
from marker.pattern.piece import CutPiece, Direction, Line, Piece, Strip
from marker.pattern.strips import StripPlan, strip_plans
from tests.shapes import polygon, rectangle

JERSEY = Cloth("jersey", 1540, selvage_mm=20)  # usable width 1500
BELT = Strip("belt", "jersey", 50, length_mm=900)
FRONT = Piece(
    "front",
    "lining",  # an opening is measured whatever cloth it is cut from
    rectangle(300, 500),
    line=Line.STITCHING,
    allowance_mm=10,
    fold=Stretch(3, 0),
    edges={"neck": Edge(2, 3), "armhole": Edge(1, 2)},
)
NECK = Strip("neck binding", "jersey", 50, finishes=(EdgeRef("front", "neck"),), ratio=0.85)


def job(*strips: Strip) -> Job:
    return Job("choir dress", "38", (FRONT,), strips, (JERSEY,), {"38": 1})


def plan(strip: Strip, cloth: Cloth = JERSEY) -> StripPlan:
    return strip_plans(job(strip), cloth)[0]


def cut(strip: Strip) -> CutPiece:
    return cut_pieces(job(strip), JERSEY)[0]


def test_a_free_strip_is_cut_as_given() -> None:
    found = plan(replace(BELT, closed=True))  # a length given already holds its allowances
    assert (found.cut_length_mm, found.opening_mm, found.finishes) == (900, None, "")
    assert (found.parts, found.part_length_mm) == (1, 900)


@pytest.mark.parametrize("ratio", [0.85, 0.90, 2 / 3])
def test_ratio_holds_between_the_joins(ratio: float) -> None:
    """Ratio applies to seam-line lengths, after allowances and joins (common practice, no source).

    Starting ratios of jersey neckbands, armholes, rib (common practice, no source). The stretch
    such a band needs is 1 / ratio - 1 (geometry).
    """
    found = plan(replace(NECK, ratio=ratio, closed=True))
    assert found.opening_mm == 600  # 300 to the fold, both halves
    between_joins = found.cut_length_mm - 2 * 10
    assert 600 / between_joins - 1 == pytest.approx(1 / ratio - 1)


def test_shorter_by_an_inch() -> None:
    armhole = (EdgeRef("front", "armhole"), EdgeRef("front", "armhole"))
    strip = replace(NECK, finishes=armhole, ratio=None, shorter_by_mm=25.4)
    assert plan(strip).cut_length_mm == pytest.approx(1000 - 25.4)
    assert plan(replace(strip, closed=True)).cut_length_mm == pytest.approx(1020 - 25.4)
    assert plan(strip).finishes == "front.armhole + front.armhole"


def test_shorter_than_nothing_is_refused() -> None:
    strip = replace(NECK, ratio=None, shorter_by_mm=650)
    with pytest.raises(CannotBeDone, match=r"'neck binding'.* 50 mm less.*60 cm.*`shorter_by`"):
        plan(strip)


def test_only_strips_of_this_cloth_are_planned() -> None:
    other = replace(BELT, name="tie", cloth="lining")
    assert [found.name for found in strip_plans(job(BELT, other), JERSEY)] == ["belt"]


@pytest.mark.parametrize(
    ("length", "parts", "part_length"),
    [
        (1500, 1, 1500),
        (1501, 2, 760.5),
        (2980, 2, 1500),  # 2 · 1500 - 2 · 10
        (2981, 3, 1007),
        (4460, 3, 1500),  # 3 · 1500 - 4 · 10
    ],
)
def test_fewest_parts_across_the_cloth(length: float, parts: int, part_length: float) -> None:
    """N parts of L joined straight with allowance a give N·L - 2a(N - 1) (arithmetic)."""
    found = plan(replace(BELT, length_mm=length))
    assert found.parts == parts
    assert found.part_length_mm == pytest.approx(part_length)


@given(
    length=st.floats(10, 20000),
    allowance=st.floats(0, 50),
    width=st.floats(5, 300),
    direction=st.sampled_from([Direction.CROSSGRAIN, Direction.BIAS]),
)
def test_parts_make_the_length_and_fit_and_one_fewer_would_not(
    length: float, allowance: float, width: float, direction: Direction
) -> None:
    strip = Strip("s", "jersey", width, length, direction=direction, join_allowance_mm=allowance)
    n, part = plan(strip).parts, plan(strip).part_length_mm
    assert n * part - 2 * allowance * (n - 1) == pytest.approx(length)
    (piece,) = cut_pieces(job(strip), JERSEY)
    assert piece.outline[:, 1].max() <= 1500 + 1e-5
    if n > 1:
        fewer = (length + 2 * allowance * (n - 2)) / (n - 1)
        across = fewer if direction is Direction.CROSSGRAIN else (fewer + width) / math.sqrt(2)
        assert across > 1500


def test_longest_bias_strip_of_no_width_is_the_diagonal() -> None:
    """A full 45° strip across usable width W is W·√2 long, less what its width takes (geometry)."""
    thin = Strip("s", "jersey", 0.01, 1500 * math.sqrt(2) - 0.02, direction=Direction.BIAS)
    assert plan(thin).parts == 1
    assert plan(replace(thin, length_mm=1500 * math.sqrt(2))).parts == 2


def test_crossgrain_strips_stand_across_the_cloth() -> None:
    piece = cut(BELT)
    np.testing.assert_allclose(np.sort(piece.outline, axis=0)[-1], (50, 900))
    assert piece.turns == (0, 180)
    assert (piece.name, piece.size, piece.copies, piece.note) == ("belt", "38", 1, "")


def test_lengthgrain_strips_run_along_the_cloth_and_are_never_joined() -> None:
    piece = cut(replace(BELT, length_mm=5000, direction=Direction.LENGTHGRAIN))
    np.testing.assert_array_equal(piece.outline, rectangle(5000, 50))
    assert (piece.copies, piece.turns) == (1, (0, 180))


def test_bias_strips_lie_at_45_degrees_either_way() -> None:
    piece = cut(replace(BELT, direction=Direction.BIAS))
    half = math.sqrt(0.5)
    expected = polygon((50, 0), (950, 900), (900, 950), (0, 50)) * half
    np.testing.assert_allclose(piece.outline, expected, atol=1e-9)
    assert shapely.Polygon(piece.outline).area == pytest.approx(900 * 50)
    assert piece.turns == (0, 90, 180, 270)


def test_a_joined_strip_says_so_and_counts_its_parts() -> None:
    piece = cut(replace(BELT, length_mm=1604, cut=3))
    assert piece.note == "joined from 2 parts, 812 mm each; join allowance 10 mm"
    assert piece.copies == 6
    assert piece.outline[:, 1].max() == pytest.approx(812)


@pytest.mark.parametrize(
    ("strip", "short"),
    [
        (replace(BELT, length_mm=1700, join_allowance_mm=755), "10 mm too little"),
        (replace(BELT, width_mm=1512, direction=Direction.LENGTHGRAIN), "12 mm too little"),
        (
            replace(BELT, width_mm=1500 * math.sqrt(2) + 7, direction=Direction.BIAS),
            "7 mm too little",
        ),
    ],
)
def test_a_strip_that_no_join_helps_is_refused(strip: Strip, short: str) -> None:
    with pytest.raises(CannotBeDone, match=rf"'belt'.*usable width 1.50 m: {short}.*wider cloth"):
        plan(strip)
