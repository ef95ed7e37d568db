"""Bands on their openings: marks that meet, joins away from what is seen, inner edges."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings

from marker.errors import CannotBeDone
from marker.job import Job
from marker.pattern.bands.band import Band, fitted
from marker.pattern.bands.opening_line import measured
from marker.pattern.bands.strip import ByRatio, Fold, LiesFlat, Strip
from marker.pattern.bands.strip_plan import strip_plans
from marker.pattern.edge import EdgeRef
from marker.pattern.seams.sewing import Opening
from tests.pattern.bands.openings import SHOULDERS, RandomNeck, random_necks, round_neck

NECK = Strip(
    "neck binding", "jersey", 50, ByRatio(0.85), finishes="neckline", unstretched=SHOULDERS
)


def band_of(job: Job, strip: Strip) -> Band:
    (plan,) = strip_plans(replace(job.pattern, strips=(strip,)), job.cloths)
    assert plan.band is not None
    return plan.band


def at(band: Band, name: str) -> list[float]:
    return [mark.opening_mm for mark in band.marks if name in mark.names]


@settings(max_examples=40, deadline=None)
@given(random_necks())
def test_marks_meet_when_the_zones_are_stretched(neck: RandomNeck) -> None:
    """The band is cut into steps of 0.5 mm or less, each is stretched as its section says, and they
    are laid one after the other along the opening. Every mark comes to within 1 mm of its place.
    """
    band = band_of(neck.job, replace(NECK, length=ByRatio(neck.ratio)))
    ends = [section.band_end_mm for section in band.sections]
    for mark in band.marks:
        steps = max(1, math.ceil(mark.band_mm / 0.5))
        middles = (np.arange(steps) + 0.5) * mark.band_mm / steps
        zone_of = np.minimum(np.searchsorted(ends, middles), len(ends) - 1)
        stretch = np.array([section.stretch for section in band.sections])[zone_of]
        assert (mark.band_mm / steps * (1 + stretch)).sum() == pytest.approx(mark.opening_mm, abs=1)


@settings(max_examples=40, deadline=None)
@given(random_necks())
def test_marks_stand_on_the_garment_where_they_are_said_to(neck: RandomNeck) -> None:
    band = band_of(neck.job, NECK)
    legs = {leg.ref: leg for leg in band.opening.walked.legs}
    for mark in band.marks:
        walked = (mark.opening_mm + band.joined_at_mm) % band.opening.length_mm
        places = legs[mark.garment.edge].places(mark.garment.drawn_mm)
        gaps = [abs(place - walked) for place in places]
        assert min(min(gap, band.opening.length_mm - gap) for gap in gaps) < 0.02


@settings(max_examples=40, deadline=None)
@given(random_necks())
def test_neck_is_stretched_at_the_centres_and_not_over_the_shoulder(neck: RandomNeck) -> None:
    """Not stretched from front shoulder to back shoulder point; the stretch concentrates at centre
    front and back (common practice, no source)."""
    band = band_of(neck.job, NECK)
    for name, stretched in (("centre front", True), ("centre back", True), ("seam", False)):
        for place in at(band, name):
            section = next(z for z in band.sections if z.start_mm - 1 <= place <= z.end_mm + 1)
            assert section.stretched is stretched


def test_quarter_marks_by_seam_length_from_the_centre_front() -> None:
    """A neck deeper in front than at the back is quartered by its length, not at its shoulders."""
    band = band_of(round_neck(), replace(NECK, join_at="centre back"))
    quarter = band.opening.length_mm / 4
    assert at(band, "centre front") == pytest.approx([2 * quarter])
    assert at(band, "join") == [0]
    assert at(band, "centre back") == [0]
    # the other quarters fall on the shoulder seams of this round neck
    assert at(band, "seam") == pytest.approx([quarter, 3 * quarter])
    assert [mark.name for mark in band.marks] == [
        "join, centre back", "back shoulder", "seam", "front shoulder", "centre front",
        "front shoulder", "seam", "back shoulder",
    ]  # fmt: skip


def test_quarter_marks_of_a_band_that_is_no_ring() -> None:
    opening = Opening("hem", (EdgeRef("front", "waist"),), closed=False)
    band = band_of(round_neck(opening=opening), replace(NECK, finishes="hem", unstretched=()))
    assert [(mark.name, mark.opening_mm) for mark in band.marks] == [
        ("end", 0), ("1/4", 200), ("1/2", 400), ("3/4", 600), ("end", 800)
    ]  # fmt: skip
    assert (band.joined_at_mm, band.clear_mm) == (0, None)


def test_a_ring_is_joined_at_the_point_farthest_from_centre_front_and_shoulders() -> None:
    band = band_of(round_neck(), NECK)
    assert band.opening.place(band.joined_at_mm).edge.piece == "back"
    assert band.opening.place(band.joined_at_mm).on_fold
    assert band.clear_mm == pytest.approx(0.85 * 157 - 20, abs=5)


def test_a_ring_without_such_a_point_is_joined_as_far_off_as_can_be() -> None:
    clear = ("centre front", "centre back", "front shoulder", "back shoulder")
    band = band_of(round_neck(), replace(NECK, joins_clear_of=clear, unstretched=()))
    # midway between a centre and the shoulder point 20 mm from the seam
    assert band.clear_mm == pytest.approx(0.85 * (157 - 20) / 2, abs=1)


def test_joins_of_parts_keep_clear_too() -> None:
    opening = measured(round_neck().pattern.pieces, round_neck().pattern.openings[0])
    strip = replace(NECK, unstretched=())
    band = fitted(strip, opening, 0.85 * opening.length_mm, parts=2)
    joins = [0.0, band.seam_mm / 2]
    kept = [
        mark
        for mark in band.marks
        if any("centre front" in n or "shoulder" in n for n in mark.names)
    ]
    gaps = [abs(mark.band_mm - join) for mark in kept for join in joins]
    assert min(gaps) == pytest.approx(band.clear_mm, abs=0.5)
    assert min(gaps) > 25


def test_a_join_goes_where_it_is_asked_for() -> None:
    band = band_of(round_neck(), replace(NECK, join_at="centre front"))
    assert band.marks[0].name == "join, centre front"
    assert band.clear_mm == 0


def test_inner_edge_of_a_round_opening() -> None:
    """Full circle: L - 2πw; L = 20, w = 5/8 gives 16.07 (geometry; here in inches)."""
    inch = 25.4
    strip = replace(
        NECK, length=LiesFlat(), fold=Fold.FLAT, finished_mm=5 / 8 * inch, unstretched=()
    )
    band = band_of(round_neck(radius=20 * inch / (2 * math.pi)), strip)
    assert band.opening.length_mm / inch == pytest.approx(20, abs=1e-3)
    assert band.seam_mm / inch == pytest.approx(16.07, abs=0.005)
    (section,) = band.sections
    assert band.inner_mm(section, 5 / 8 * inch) == pytest.approx(band.seam_mm)


@settings(max_examples=40, deadline=None)
@given(random_necks())
def test_inner_edges_of_the_zones_add_up_to_that_of_the_opening(neck: RandomNeck) -> None:
    band = band_of(neck.job, NECK)
    inner = sum(band.inner_mm(section, 10.0) for section in band.sections)
    opening = band.opening
    assert inner == pytest.approx(opening.inner_mm(10.0), abs=0.01)


@pytest.mark.parametrize("key", ["join_at", "joins_clear_of", "unstretched"])
def test_points_that_are_not_there_are_refused(key: str) -> None:
    wrong = {"join_at": "tip", "joins_clear_of": ("tip",), "unstretched": (("tip", "centre back"),)}
    strip = replace(NECK, **{key: wrong[key]})  # type: ignore[arg-type]
    with pytest.raises(CannotBeDone, match="'neckline' has no point 'tip'"):
        band_of(round_neck(), strip)
