"""Strips cut by themselves: rows, lengths of cloth, bias squares."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.pattern.bands.strip import CutLength, Join, Strip
from marker.pattern.bands.strip_layout import StripLayout, strip_layout
from marker.pattern.bands.strip_plan import strip_plans
from marker.pattern.pattern import Pattern

JERSEY = Cloth("jersey", 1540, selvage_mm=20)  # usable width 1500
TIE = Strip("tie", "jersey", 50, CutLength(700))


def layout(*strips: Strip, garments: int = 1, cloth: Cloth = JERSEY) -> StripLayout:
    job = Job("choir dress", "38", (Pattern("38", (), strips),), (cloth,), {"38": garments})
    return strip_layout(strip_plans(job.pattern, [cloth]), cloth, garments)


def test_strips_of_one_width_share_a_cross_cut() -> None:
    found = layout(TIE, replace(TIE, name="loop", length=CutLength(100)))
    (row,) = found.rows
    assert row.parts == (("tie", 700), ("loop", 100))
    assert (row.used_mm, found.length_mm) == (800, 50)


@pytest.mark.parametrize(("ties", "rows"), [(1, 1), (2, 1), (3, 2), (4, 2), (5, 3)])
def test_cross_cuts_that_ties_make(ties: int, rows: int) -> None:
    """Two ties of 700 fit across 1500 (arithmetic)."""
    found = layout(replace(TIE, cut=ties))
    assert (len(found.rows), found.length_mm) == (rows, 50 * rows)
    assert len(layout(TIE, garments=ties).rows) == rows


def test_parts_of_a_joined_strip_are_cut_one_by_one() -> None:
    found = layout(replace(TIE, length=CutLength(2980)))  # 2 · 1500 - 2 · 10
    assert [row.parts for row in found.rows] == [(("tie", 1500),), (("tie", 1500),)]


def test_gap_and_widths_add_up() -> None:
    cloth = replace(JERSEY, gap_mm=5)
    found = layout(replace(TIE, cut=3), replace(TIE, name="belt", width_mm=80), cloth=cloth)
    assert found.length_mm == pytest.approx(50 + 5 + 50 + 5 + 80)


def test_strips_along_the_cloth_lie_side_by_side() -> None:
    along = replace(TIE, direction=Direction.LENGTHGRAIN, width_mm=700)
    assert layout(replace(along, cut=2)).length_mm == 700
    assert layout(replace(along, cut=3)).length_mm == 1400
    assert layout(replace(along, cut=2), TIE).length_mm == 750


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(50, 1500), min_size=1, max_size=12))
def test_rows_hold_everything_and_no_two_rows_would_fit_one(lengths: list[int]) -> None:
    """First fit decreasing leaves no two rows that together fit one."""
    strips = [replace(TIE, name=f"tie {k}", length=CutLength(mm)) for k, mm in enumerate(lengths)]
    found = layout(*strips)
    assert sorted(mm for row in found.rows for _, mm in row.parts) == sorted(lengths)
    used = sorted(row.used_mm for row in found.rows)
    assert used[-1] <= 1500
    assert len(used) == 1 or used[0] + used[1] > 1500


@pytest.mark.parametrize("cut", [1, 2, 3, 7])
def test_bias_rows_fit_the_cloth_that_they_are_said_to_take(cut: int) -> None:
    """Rows of width w step w·√2 along the selvage (geometry): laid out with shapely."""
    strip = replace(TIE, length=CutLength(1400), direction=Direction.BIAS, join=Join.DIAGONAL)
    found = layout(replace(strip, cut=cut))
    cloth = shapely.box(0, 0, found.length_mm, 1500).buffer(1e-6)
    flat = affinity.rotate(shapely.box(0, 0, 1400, 50), 45, origin=(0, 0))
    first = affinity.translate(flat, 50 / math.sqrt(2), 0)
    laid = [affinity.translate(first, k * 50 * math.sqrt(2), 0) for k in range(cut)]
    assert all(cloth.contains(each) for each in laid)
    assert shapely.union_all(laid).area == pytest.approx(cut * 1400 * 50, rel=1e-6)
    assert max(each.bounds[2] for each in laid) == pytest.approx(found.length_mm)


def test_bias_and_grain_strips_lie_beside_one_another_where_there_is_width() -> None:
    """A strip of 1400 × 50 at 45° reaches 1450 ÷ √2 = 1025 mm both ways; two of 1300 × 100 along
    the grain lie in the 475 mm beside it, five do not (geometry)."""
    bias = replace(TIE, length=CutLength(1400), direction=Direction.BIAS, join=Join.DIAGONAL)
    grain = replace(
        TIE, name="belt", width_mm=100, length=CutLength(1300), direction=Direction.LENGTHGRAIN
    )  # fmt: skip
    assert layout(bias, replace(grain, cut=2)).length_mm == pytest.approx(1300)
    apart = layout(bias, replace(grain, cut=5)).length_mm
    assert apart == pytest.approx(1450 / math.sqrt(2) + 1300)


def test_bias_square_by_published_figures() -> None:
    """Area = length × width, side = √area: 250 in × 2 in takes a square of 22.36 in; 36 in square
    at 2 in yields 648 in = 18 yd (geometry)."""
    inch = 25.4
    long = replace(TIE, width_mm=2 * inch, length=CutLength(50 * inch), direction=Direction.BIAS)
    (square,) = layout(replace(long, cut=5)).squares
    assert square.side_mm / inch == pytest.approx(22.36, abs=0.005)
    (square,) = layout(replace(long, length=CutLength(54 * inch), cut=12)).squares
    assert square.length_mm / 914.4 == pytest.approx(18)
    assert square.side_mm / inch == pytest.approx(36)
