"""Cut before washing: finished ÷ (1 - share) along each axis."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from marker.cloth.behaviour import Cut, Direction, Shrinkage
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.job import Job
from marker.pattern.bands.strip import CutLength, Strip
from marker.pattern.bands.strip_layout import strip_layout
from marker.pattern.bands.strip_plan import strip_plans
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.washing import as_cut, grown
from tests.helpers import cut_piece
from tests.shapes import rectangle

SHARES = st.floats(-0.2, 0.6)


def unwashed(along: float, across: float, width_mm: float = 1500) -> Cloth:
    return Cloth("jersey", width_mm, shrinkage=Shrinkage(along, across, Cut.BEFORE_WASHING))


def job_of(cloth: Cloth, *pieces: Piece, strips: tuple[Strip, ...] = ()) -> Job:
    return Job("choir dress", "38", (Pattern("38", pieces, strips),), (cloth,), {"38": 1})


def test_each_axis_by_its_own_share() -> None:
    """A panel of 600 × 400 mm, its grain along the 600: 600 ÷ 0.95 and 400 ÷ 0.97 (arithmetic)."""
    panel = Piece("panel", "jersey", rectangle(400, 600))  # grain upward in the drawing
    (cut,) = job_of(unwashed(0.05, 0.03), panel).cut_pieces(unwashed(0.05, 0.03))
    assert np.ptp(cut.outline, axis=0) == pytest.approx((600 / 0.95, 400 / 0.97))


def test_washing_takes_exactly_what_was_added() -> None:
    """Stitching line, cut-outs and notches grow alike: cut, then shrunk, all is as drawn."""
    panel = Piece(
        "panel",
        "jersey",
        rectangle(300, 500),
        line=Line.STITCHING,
        allowance_mm=10,
        cutouts=(rectangle(50, 60) + 100,),
    )
    plain = Cloth("jersey", 1500)
    (drawn,) = job_of(plain, panel).cut_pieces(plain)
    drawn = replace(drawn, notches=drawn.outline[:1], fold_line=drawn.outline[:2])
    cut = grown(drawn, unwashed(0.08, -0.02))
    left = np.array([0.92, 1.02])
    for before, after in (
        (drawn.outline, cut.outline),
        (drawn.stitching, cut.stitching),
        (drawn.cutouts[0], cut.cutouts[0]),
        (drawn.notches, cut.notches),
        (drawn.fold_line, cut.fold_line),
    ):
        assert before is not None
        assert after is not None
        np.testing.assert_allclose(after * left, before, atol=1e-9)


def test_washed_first_pieces_are_cut_as_drawn() -> None:
    panel = cut_piece("panel", rectangle(600, 400), turns=(0.0, 90.0))
    assert grown(panel, Cloth("jersey", 1500, shrinkage=Shrinkage(0.05, 0.03))) is panel


@pytest.mark.parametrize(
    ("turns", "tolerance", "words"),
    [((0.0, 90.0), 0.0, "turned by 90°"), ((0.0, 180.0), 2.0, "tilt within its grain tolerance")],
)
def test_what_may_lie_askew_needs_the_same_share_both_ways(
    turns: tuple[float, ...], tolerance: float, words: str
) -> None:
    panel = cut_piece("panel", rectangle(600, 400), turns=turns, grain_tolerance_deg=tolerance)
    with pytest.raises(CannotBeDone, match=f"panel may .*{words}.*wash the cloth before cutting"):
        grown(panel, unwashed(0.05, 0.03))
    even = grown(panel, unwashed(0.05, 0.05))
    assert np.ptp(even.outline, axis=0) == pytest.approx((600 / 0.95, 400 / 0.95))


def strip(direction: Direction, length: float = 800, width: float = 50) -> Strip:
    return Strip("binding", "jersey", width, CutLength(length), direction=direction)


@given(along=SHARES, across=SHARES, direction=st.sampled_from(Direction))
def test_a_strip_as_cut(along: float, across: float, direction: Direction) -> None:
    """Against its outline once grown: length of its long side, and area ÷ that."""
    cloth = unwashed(along, across)
    job = job_of(cloth, strips=(strip(direction, 400),))
    (plan,), (cut,) = strip_plans(job.pattern, [cloth]), job.cut_pieces(cloth)
    long_side = math.dist(cut.outline[0], cut.outline[1])
    length, width = as_cut(direction, 400, 50, cloth)
    assert long_side == pytest.approx(length)
    assert Polygon(cut.outline).area / long_side == pytest.approx(width)
    assert plan.as_cut_mm == pytest.approx((length, width))


@pytest.mark.parametrize("direction", [Direction.CROSSGRAIN, Direction.BIAS])
def test_parts_of_a_strip_fit_the_cloth_once_grown(direction: Direction) -> None:
    cloth = unwashed(0.05, 0.1, width_mm=900)
    job = job_of(cloth, strips=(strip(direction, 1700),))
    (cut,) = job.cut_pieces(cloth)
    assert np.ptp(cut.outline[:, 1]) <= cloth.usable_width_mm + 1e-6
    assert cut.copies > 1
    assert f"joined from {cut.copies} parts" in cut.note


def test_a_bias_strip_keeps_to_one_bias_where_the_other_would_grow_otherwise() -> None:
    def turns(cloth: Cloth) -> tuple[float, ...]:
        job = job_of(cloth, strips=(strip(Direction.BIAS, 400),))
        (cut,) = job.cut_pieces(cloth)
        return cut.turns

    assert turns(unwashed(0.05, 0.03)) == (0.0, 180.0)
    assert turns(unwashed(0.05, 0.05)) == (0.0, 90.0, 180.0, 270.0)


def test_strips_by_themselves_take_their_grown_widths() -> None:
    """Three cross-cuts of 50 mm: 3 × 50 ÷ 0.95 along the cloth, 1340 ÷ 0.9 across it."""
    cloth = unwashed(0.05, 0.1)
    job = job_of(cloth, strips=(replace(strip(Direction.CROSSGRAIN, 1340), cut=3),))
    laid = strip_layout(strip_plans(job.pattern, [cloth]), cloth, 1)
    assert laid.length_mm == pytest.approx(3 * 50 / 0.95)
    assert [row.used_mm for row in laid.rows] == pytest.approx([1340 / 0.9] * 3)
    assert laid.rows[0].width_mm == pytest.approx(50 / 0.95)
