"""The marks of bands on the pieces of the garment, as cut."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from marker.errors import CannotBeDone
from marker.job import Job
from marker.pattern.bands.marks import SAME_PLACE_MM
from marker.pattern.bands.strip import ByRatio, Strip
from marker.pattern.bands.strip_plan import strip_plans
from marker.pattern.piece import CutPiece
from tests.pattern.bands.openings import SHOULDERS, RandomNeck, neckline, random_necks, round_neck

BAND = Strip(
    "band", "jersey", 50, ByRatio(0.85), finishes="neckline", unstretched=SHOULDERS
)  # fmt: skip


def cut(job: Job) -> dict[str, CutPiece]:
    return {piece.name: piece for piece in job.cut_pieces(job.cloths[0])}


def around(piece: CutPiece) -> list[float]:
    """Angles of its notches around the middle of the neck, degrees, 0 on the fold, ascending.

    The grain of `half` points up, so that as cut the top of the piece is at the greatest x.
    """
    assert piece.fold_line is not None
    middle = np.array([600.0, piece.fold_line[0, 1]])
    away = piece.notches - middle
    return sorted(float(np.degrees(np.arctan2(y, -x))) for x, y in away)


def test_marks_of_a_round_neck_are_notched_where_they_meet_it() -> None:
    """A circle of radius 100: the shoulder points 20 mm from the seam are 20/100 rad from it; the
    quarters from the centre front are the seams and the centre back (geometry)."""
    pieces = cut(round_neck(BAND))
    shoulder = 90 - np.degrees(20 / 100)
    for name in ("front", "back"):
        assert around(pieces[name]) == pytest.approx([-shoulder, 0, shoulder], abs=0.1)
        edge = shapely.LinearRing(pieces[name].outline)
        assert all(edge.distance(shapely.Point(at)) < 1e-6 for at in pieces[name].notches)


def test_a_mark_off_the_middle_is_on_its_own_half_only() -> None:
    """Without a centre front the quarters count from the join, 20 mm past the first shoulder seam.
    Of a circle of radius 100 they lie 20/100 rad past the folds and past the other seam. Only the
    point of the join has two places, one on each half of the front."""
    free = replace(neckline(), points={"here": replace(neckline().points["front shoulder"])})
    band = replace(BAND, unstretched=(), join_at="here", joins_clear_of=())
    job = round_neck(band, opening=free)
    (plan,) = strip_plans(job.pattern, job.cloths)
    assert plan.band is not None
    pieces = cut(job)
    step = np.degrees(20 / 100)
    front, back = around(pieces["front"]), around(pieces["back"])
    assert len(front) == 3
    assert len(back) == 2
    assert sorted(map(abs, front)) == pytest.approx([step, 90 - step, 90 - step], abs=0.1)
    assert sorted(map(abs, back)) == pytest.approx([step, 90 - step], abs=0.1)
    assert back[0] * back[1] < 0, "one on each half of the back"


def test_pieces_without_a_band_keep_their_own_notches() -> None:
    assert all(len(piece.notches) == 0 for piece in cut(round_neck()).values())


@settings(max_examples=25)
@given(random_necks())
def test_every_mark_has_its_notch_at_the_length_around(neck: RandomNeck) -> None:
    """Brute force: the way from notch to notch along the neck is the marks' way around it."""
    band = replace(BAND, length=ByRatio(neck.ratio))
    job = neck.job.with_patterns(lambda pattern: replace(pattern, strips=(band,)))
    (plan,) = strip_plans(job.pattern, job.cloths)
    assert plan.band is not None
    found = cut(job)
    ends = {"seam", "1/4", "1/2", "3/4"}
    for mark in plan.band.marks:
        place = mark.garment
        at_a_seam = not SAME_PLACE_MM < place.drawn_mm < place.edge_mm - SAME_PLACE_MM
        if set(mark.names) <= ends or (at_a_seam and not place.on_fold):
            continue
        piece = found[mark.garment.edge.piece]
        assert piece.fold_line is not None
        ring = shapely.LinearRing(piece.outline)
        top = ring.project(shapely.Point(piece.fold_line[np.argmax(piece.fold_line[:, 0])]))
        from_fold = mark.garment.edge_mm - mark.garment.drawn_mm
        ways = [abs(ring.project(shapely.Point(at)) - top) for at in piece.notches]
        ways = [min(way, ring.length - way) for way in ways]
        assert min(abs(way - from_fold) for way in ways) < 0.5


def test_a_point_beyond_its_edge_is_refused() -> None:
    """A quarter of a circle of radius 100 is 157 mm long (geometry)."""
    with pytest.raises(CannotBeDone, match=r"20 cm of edge front\.neck, .* only 15\.7 cm long"):
        cut(round_neck(BAND, opening=neckline(shoulder_mm=200.0)))
