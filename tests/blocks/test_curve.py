"""The drafting kit against formulas and shapely."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from marker.blocks.curve import (
    ACROSS,
    DOWN,
    CannotBeDrafted,
    Curve,
    arc,
    backwards,
    chain,
    curve,
    length_of,
    line,
    points_on,
    solve,
    toward,
)


@st.composite
def curves(draw: st.DrawFn) -> Curve:
    """Curves as they are drafted: 10 to 700 mm long, turning by at most a right angle at an end."""
    chord = draw(st.floats(10, 700)) * toward(draw(st.floats(0, 360)))
    out, into = (toward(draw(st.floats(-90, 90))) for _ in range(2))
    pulls = [draw(st.floats(0.1, 0.7)) * abs(chord) for _ in range(2)]
    return curve(5 - 9j, chord * out, 5 - 9j + chord, chord * into, (pulls[0], pulls[1]))


@given(curves())
def test_a_curve_is_as_long_as_its_chords(own: Curve) -> None:
    points = [own.at(k / 4000) for k in range(4001)]
    chords = shapely.LineString([(point.real, point.imag) for point in points])
    assert own.length == pytest.approx(chords.length, abs=0.01)


@given(curves(), st.floats(0.05, 0.95))
def test_parts_of_a_curve_make_the_whole(own: Curve, share: float) -> None:
    first, second = own.split_at(share * own.length)
    assert first.length == pytest.approx(share * own.length, abs=0.01)
    assert first.length + second.length == pytest.approx(own.length, abs=0.01)
    assert first.end == second.start


@given(st.floats(10, 2000), st.floats(-360, 360), st.floats(1, 360))
def test_an_arc_keeps_its_radius(radius: float, start: float, sweep: float) -> None:
    """Radius to 1e-5 of it, length by the formula."""
    drawn = arc(radius, start, start + sweep)
    assert length_of(drawn) == pytest.approx(radius * math.radians(sweep), rel=1e-5)
    away = [abs(each.at(t / 10)) for each in drawn for t in range(11)]
    assert max(away) == pytest.approx(radius, rel=1e-5)
    assert min(away) == pytest.approx(radius, rel=1e-5)


def test_lines_walked_backwards() -> None:
    drawn = (*chain(0j, 3 + 0j, 3 + 4j), curve(3 + 4j, DOWN, 10 + 10j, ACROSS, (2, 2)))
    back = backwards(drawn)
    assert (back[0].start, back[-1].end) == (10 + 10j, 0j)
    assert length_of(back) == pytest.approx(length_of(drawn))
    assert drawn[1].moved(1 + 1j) == line(4 + 1j, 4 + 5j)
    assert points_on(drawn[:2]).tolist() == [[0, 0], [3, 0]]


def test_what_no_measure_gives_is_refused() -> None:
    assert solve(lambda x: 2 * x, 7, 0, 10) == pytest.approx(3.5)
    with pytest.raises(CannotBeDrafted, match="only 0 to 20 mm can be drawn"):
        solve(lambda x: 2 * x, 21, 0, 10)
