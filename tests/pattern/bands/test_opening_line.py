"""Openings measured: length, turn, and the way back from a place on the walk to a drawn edge."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.pattern.bands.opening_line import OpeningLine, measured
from marker.pattern.edge import Edge, EdgeRef, Stretch
from marker.pattern.piece import Line, Piece
from marker.pattern.seams.sewing import Opening
from tests.pattern.bands.openings import RandomNeck, half, neckline, random_necks, round_neck
from tests.shapes import polygon

PLAIN = replace(half("front", 100, 100), fold=None)  # not opened: its edges stand for one half


def round_line(radius: float = 100.0) -> OpeningLine:
    job = round_neck(radius=radius)
    return measured(job.pattern.pieces, job.pattern.openings[0])


def test_a_round_neck_is_a_full_circle() -> None:
    """Circumference 2πr and total turn 2π (geometry); 1600 chords in all are short by (π/n)²/6."""
    line = round_line()
    assert line.length_mm == pytest.approx(2 * math.pi * 100, rel=(math.pi / 1600) ** 2)
    assert line.turn_rad == pytest.approx(2 * math.pi)


def test_turn_of_a_quarter_lies_where_it_is_walked() -> None:
    line = round_line()
    quarter = line.length_mm / 4
    for start in (0.1, 1.1, 2.6, 3.4):
        found = line.turn_between(start * quarter, (start + 1) * quarter)
        assert found == pytest.approx(math.pi / 2, abs=0.01)


def test_a_v_neck_turns_at_its_point_and_at_the_shoulder() -> None:
    """A V as deep as it is wide: 90° at its point. At a level shoulder, where each half leaves
    the seam at 45° outwards, the two Vs of front and back meet in another 90° (geometry)."""
    outline = polygon((0, 0), (400, 0), (400, 600), (100, 600), (0, 500))
    front = Piece(
        "front", "jersey", outline, fold=Stretch(4, 0), line=Line.STITCHING,
        edges={"neck": Edge(3, 4)},
    )  # fmt: skip
    back = replace(front, name="back")
    edges = (EdgeRef("front", "neck"), EdgeRef("back", "neck"))
    line = measured([front, back], Opening("neckline", edges))
    assert line.turn_rad == pytest.approx(2 * math.pi)
    at = {round(each.at_mm): round(math.degrees(each.turn_rad)) for each in line.corners}
    assert at == {141: 90, 424: 90, 283: 90, 0: 90}
    opened = measured([front, back], Opening("neckline", edges, closed=False))
    assert opened.turn_rad == pytest.approx(1.5 * math.pi)


def test_edges_walked_back_and_pieces_drawn_clockwise_turn_the_same_way() -> None:
    """Two quarter circles, joined where each meets its neighbour square: half a circle in all."""
    back = replace(PLAIN, name="back")
    edges = (EdgeRef("front", "neck"), EdgeRef("back", "neck", reversed=True))
    opening = Opening("ring", edges)
    line = measured([PLAIN, back], opening)
    assert line.turn_rad == pytest.approx(math.pi, abs=0.02)
    turned = [replace(piece, drawn_clockwise=True) for piece in (PLAIN, back)]
    flipped = measured(
        turned, Opening("ring", tuple(replace(e, reversed=not e.reversed) for e in edges))
    )
    for start, end in ((0, 50), (30, 200), (140, 180), (300, 330)):
        expected = line.turn_between(start, end)
        assert flipped.turn_between(start, end) == pytest.approx(expected, abs=0.01)


@settings(max_examples=40, deadline=None)
@given(random_necks(), st.floats(0, 1))
def test_a_place_on_the_walk_leads_back_to_it(neck: RandomNeck, share: float) -> None:
    line = measured(neck.job.pattern.pieces, neck.job.pattern.openings[0])
    at = share * line.length_mm
    found = line.place(at)
    leg = next(leg for leg in line.walked.legs if leg.ref == found.edge)
    assert min(abs(back - at) for back in leg.places(found.drawn_mm)) < 0.02


@pytest.mark.parametrize(
    ("at", "said"),
    [
        (0.0, "front.neck at start"),
        (50.0, "front.neck at 50 mm"),
        (100 * math.pi / 2, "front.neck at fold"),
        (100 * math.pi - 50, "front.neck at 50 mm"),
        (100 * math.pi + 30, "back.neck at 30 mm"),
    ],
)
def test_places_are_called_as_in_the_job(at: float, said: str) -> None:
    assert str(round_line().place(at)) == said


def test_neckline_points() -> None:
    line = measured(round_neck().pattern.pieces, neckline())
    quarter = line.length_mm / 4
    assert line.points["centre front"] == pytest.approx((quarter,))
    assert line.points["back shoulder"] == pytest.approx((2 * quarter + 20, 4 * quarter - 20))
