"""Strips: derived lengths and widths, joins, and how they lie."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.job import Job
from marker.pattern.bands.strip import (
    ByRatio,
    CutLength,
    Fold,
    Join,
    LiesFlat,
    ShorterBy,
    Strip,
    cut_width_mm,
    finished_width_mm,
)
from marker.pattern.bands.strip_plan import StripPlan, strip_plans
from marker.pattern.edge import Edge, EdgeRef, Stretch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import CutPiece, Line, Piece
from marker.pattern.seams.sewing import Opening
from tests.shapes import polygon, rectangle

JERSEY = Cloth("jersey", 1540, selvage_mm=20)  # usable width 1500
BELT = Strip("belt", "jersey", 50, CutLength(900))
FRONT = Piece(
    "front",
    "lining",  # an opening is measured whatever cloth it is cut from
    rectangle(300, 500),
    line=Line.STITCHING,
    allowance_mm=10,
    fold=Stretch(3, 0),
    edges={"neck": Edge(2, 3), "armhole": Edge(1, 2)},
)
OPENINGS = (
    Opening("neckline", (EdgeRef("front", "neck"),)),
    Opening("armhole", (EdgeRef("front", "armhole"), EdgeRef("front", "armhole"))),
)
NECK = Strip("neck binding", "jersey", 50, ByRatio(0.85), finishes="neckline")


def job(*strips: Strip, closed: bool = True) -> Job:
    openings = tuple(replace(opening, closed=closed) for opening in OPENINGS)
    return Job(
        "choir dress",
        "38",
        (Pattern("38", (FRONT,), strips, openings=openings),),
        (JERSEY,),
        {"38": 1},
    )


def plan(strip: Strip, closed: bool = True) -> StripPlan:
    return strip_plans(job(strip, closed=closed).pattern, [JERSEY])[0]


def cut(strip: Strip) -> CutPiece:
    return job(strip).cut_pieces(JERSEY)[0]


def test_a_free_strip_is_cut_as_given() -> None:
    found = plan(BELT)  # a length given already holds its allowances
    assert (found.cut_length_mm, found.band, found.joins_mm) == (900, None, ())
    assert (found.parts.count, found.parts.length_mm) == (1, 900)


@pytest.mark.parametrize("ratio", [0.85, 0.90, 0.75, 2 / 3])
def test_ratio_holds_between_the_joins(ratio: float) -> None:
    """Ratio applies to seam-line lengths, after allowances and joins (common practice, no source).

    Starting ratios of jersey neckbands, armholes, rib (common practice, no source). The stretch
    such a band needs is 1 / ratio - 1 (geometry).
    """
    found = plan(replace(NECK, length=ByRatio(ratio)))
    assert found.band is not None
    assert found.band.opening.length_mm == 600  # 300 to the fold, both halves
    between_joins = found.cut_length_mm - 2 * 10
    assert 600 / between_joins - 1 == pytest.approx(1 / ratio - 1)
    assert found.band.sections[0].stretch == pytest.approx(1 / ratio - 1)


@pytest.mark.parametrize(
    ("ratio", "stretch"), [(0.90, 11.1), (0.85, 17.6), (0.75, 33.3), (2 / 3, 50)]
)
def test_stretch_that_a_ratio_needs(ratio: float, stretch: float) -> None:
    """1 / ratio - 1, to 0.1 % (geometry)."""
    found = plan(replace(NECK, length=ByRatio(ratio)))
    assert found.band is not None
    assert 100 * found.band.sections[0].stretch == pytest.approx(stretch, abs=0.05)


def test_shorter_by_an_inch() -> None:
    strip = replace(NECK, finishes="armhole", length=ShorterBy(25.4))
    assert plan(strip).cut_length_mm == pytest.approx(1020 - 25.4)


def test_a_band_that_is_no_ring_has_an_allowance_at_either_end_whatever_its_joins() -> None:
    strip = replace(NECK, length=ByRatio(1), join=Join.DIAGONAL)
    assert plan(strip, closed=False).cut_length_mm == pytest.approx(600 + 2 * 10)
    assert plan(strip).cut_length_mm == pytest.approx(600 + 50)


@pytest.mark.parametrize(
    ("fold", "cut_width"),
    [(Fold.FLAT, 12 + 20), (Fold.SINGLE, 24 + 20), (Fold.DOUBLE, 48)],
)
def test_cut_width_from_finished_width(fold: Fold, cut_width: float) -> None:
    """Double-fold binding is cut four times its finished width (common practice, no source); a
    single fold has two layers and two allowances, a flat band one layer (arithmetic)."""
    assert cut_width_mm(12, fold, 10) == cut_width
    assert finished_width_mm(cut_width, fold, 10) == pytest.approx(12)


def test_a_binding_of_two_inches_finishes_half_an_inch() -> None:
    """2 in wide binding (common practice, no source), folded double."""
    assert finished_width_mm(2 * 25.4, Fold.DOUBLE, 10) == pytest.approx(25.4 / 2)


def test_shorter_than_nothing_is_refused() -> None:
    strip = replace(NECK, length=ShorterBy(650))
    with pytest.raises(
        CannotBeDone, match=r"'neck binding'.* 50 mm less.*'neckline' is 60 cm.*every edge"
    ):
        plan(strip)


def test_only_strips_of_this_cloth_are_planned() -> None:
    other = replace(BELT, name="tie", cloth="lining")
    assert [found.strip.name for found in strip_plans(job(BELT, other).pattern, [JERSEY])] == [
        "belt"
    ]


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
    found = plan(replace(BELT, length=CutLength(length)))
    assert found.parts.count == parts
    assert found.parts.length_mm == pytest.approx(part_length)


@pytest.mark.parametrize(
    ("length", "parts", "part_length"),
    [
        (2900, 2, 1475),  # (2900 + 50) / 2
        (2951, 3, 1017),  # (2951 + 2 · 50) / 3
    ],
)
def test_parts_joined_on_the_diagonal(length: float, parts: int, part_length: float) -> None:
    """N strips of L joined on the diagonal, square ends of width w, give N·L - (N - 1)·w
    (geometry)."""
    found = plan(replace(BELT, length=CutLength(length), join=Join.DIAGONAL))
    assert found.parts.count == parts
    assert found.parts.length_mm == pytest.approx(part_length)


@given(
    length=st.floats(10, 20000),
    allowance=st.floats(0, 50),
    width=st.floats(5, 300),
    direction=st.sampled_from([Direction.CROSSGRAIN, Direction.BIAS]),
    join=st.sampled_from(Join),
)
def test_parts_make_the_length_and_fit_and_one_fewer_would_not(
    length: float, allowance: float, width: float, direction: Direction, join: Join
) -> None:
    strip = Strip(
        "s", "jersey", width, CutLength(length),
        direction=direction, join=join, join_allowance_mm=allowance,
    )  # fmt: skip
    n, part = plan(strip).parts.count, plan(strip).parts.length_mm
    loss = width if join is Join.DIAGONAL else 2 * allowance
    assert n * part - loss * (n - 1) == pytest.approx(length)
    (piece,) = job(strip).cut_pieces(JERSEY)
    assert piece.outline[:, 1].max() <= 1500 + 1e-5
    joins = plan(strip).joins_mm
    assert len(joins) == n - 1
    assert all(0 < at < length for at in joins)
    np.testing.assert_allclose(np.array(joins), length - np.array(joins)[::-1], rtol=1e-6)
    if n > 1:
        fewer = (length + loss * (n - 2)) / (n - 1)
        across = fewer if direction is Direction.CROSSGRAIN else (fewer + width) / math.sqrt(2)
        assert across > 1500


def test_longest_bias_strip_of_no_width_is_the_diagonal() -> None:
    """A full 45° strip across usable width W is W·√2 long, less what its width takes (geometry)."""
    full = CutLength(1500 * math.sqrt(2) - 0.02)
    thin = Strip("s", "jersey", 0.01, full, direction=Direction.BIAS)
    assert plan(thin).parts.count == 1
    assert plan(replace(thin, length=CutLength(1500 * math.sqrt(2)))).parts.count == 2


def test_crossgrain_strips_stand_across_the_cloth() -> None:
    piece = cut(BELT)
    np.testing.assert_allclose(np.sort(piece.outline, axis=0)[-1], (50, 900))
    assert piece.turns == (0, 180)
    assert (piece.name, piece.size, piece.copies, piece.note) == ("belt", "38", 1, "")


def test_lengthgrain_strips_run_along_the_cloth_and_are_never_joined() -> None:
    piece = cut(replace(BELT, length=CutLength(5000), direction=Direction.LENGTHGRAIN))
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
    piece = cut(replace(BELT, length=CutLength(1604), cut=3))
    assert piece.note == "joined from 2 parts, 81.2 cm each; 20 mm lost in each straight join"
    assert piece.copies == 6
    assert piece.outline[:, 1].max() == pytest.approx(812)


@pytest.mark.parametrize(
    ("strip", "short"),
    [
        (replace(BELT, length=CutLength(1700), join_allowance_mm=755), "10 mm too little"),
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


def test_a_band_lies_flat_at_its_inner_edge() -> None:
    """Nothing is taken off along a straight opening that does not turn (geometry)."""
    strip = replace(NECK, length=LiesFlat(), fold=Fold.FLAT, finished_mm=30.0)
    straight = replace(FRONT, edges={"neck": Edge(2, 3), "armhole": Edge(1, 2)})
    assert straight.fold is not None
    assert plan(strip, closed=False).cut_length_mm == pytest.approx(600 + 20)


@pytest.mark.parametrize(("fold", "edges"), [(Fold.DOUBLE, 1), (Fold.SINGLE, 2), (None, 1)])
def test_marks_are_notched_where_the_strip_is_sewn(fold: Fold | None, edges: int) -> None:
    piece = cut(replace(NECK, fold=fold))
    found = plan(replace(NECK, fold=fold))
    assert found.band is not None
    assert len(piece.notches) == edges * (len(found.band.marks) + 1)
    rim = shapely.LinearRing(piece.outline)
    assert all(rim.distance(shapely.Point(*point)) < 1e-9 for point in piece.notches)
    along = sorted({round(float(y), 6) for _, y in piece.notches})  # it stands across the cloth
    places = [mark.band_mm for mark in found.band.marks]
    assert along == pytest.approx([10 + at for at in (*places, found.band.seam_mm)])
    assert piece.notch_letters[0] == piece.notch_letters[-1], "both ends of the join are marked"


def test_a_size_is_planned_once_whatever_is_ordered() -> None:
    one = job(BELT)
    assert one.with_order({"38": 5}).strip_plans("38") is one.strip_plans("38")
    assert one.with_strips(lambda strip: replace(strip, cut=2)).strip_plans("38")[0].strip.cut == 2
