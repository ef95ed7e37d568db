"""Sections of a band: the spans not stretched keep their length, the rest takes the difference."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from marker.errors import CannotBeDone
from marker.pattern.bands.sections import on_band, sections

Spans = list[tuple[float, float]]


@st.composite
def spans(draw: st.DrawFn) -> Spans:
    """Some spans of an opening of 600 mm, 200 mm of it at most."""
    starts = draw(st.lists(st.floats(0, 560), max_size=5))
    return [(start, start + draw(st.floats(0.1, 40))) for start in starts]


@given(spans(), st.floats(0.5, 1.3))
@example([(0.0078125, 1.0078125)], 0.5)  # a hair from the join
def test_zones_cover_opening_and_band(still: Spans, ratio: float) -> None:
    found = sections("band", 600, 600 * ratio, still)
    assert (found[0].start_mm, found[0].band_start_mm) == (0, 0)
    assert found[-1].end_mm == pytest.approx(600)
    assert found[-1].band_end_mm == pytest.approx(600 * ratio)
    for before, after in pairwise(found):
        assert (before.end_mm, before.band_end_mm) == (after.start_mm, after.band_start_mm)
    stretched = {round(section.stretch, 6) for section in found if section.stretched}
    assert len(stretched) == 1, "the rest is stretched evenly"
    assert all(section.stretch == pytest.approx(0) for section in found if not section.stretched)


@given(spans(), st.floats(0, 600))
def test_a_place_is_unstretched_exactly_inside_its_spans(still: Spans, at: float) -> None:
    section = next(
        z for z in sections("band", 600, 500, still) if z.start_mm <= at <= z.end_mm + 1e-9
    )
    inside = any(start + 0.1 < at < end - 0.1 for start, end in still)
    outside = all(at < start - 0.1 or at > end + 0.1 for start, end in still)
    assert not (inside and section.stretched)
    assert not (outside and not section.stretched)


def test_local_stretch_by_hand() -> None:
    """600 with 2 × 50 not stretched; a band of 500 leaves 400 for the other 500: 25 %."""
    found = sections("band", 600, 500, [(100, 150), (400, 450)])
    assert [(section.start_mm, section.end_mm) for section in found if not section.stretched] == [
        (100, 150), (400, 450)
    ]  # fmt: skip
    assert [section.band_mm for section in found] == pytest.approx([80, 50, 200, 50, 120])
    assert found[0].stretch == pytest.approx(0.25)
    assert on_band(found, 125) == pytest.approx(105)
    assert on_band(found, 600) == pytest.approx(500)


@pytest.mark.parametrize(("band", "still"), [(90, [(0, 100)]), (500, [(0, 300), (300, 600)])])
def test_a_difference_that_nothing_can_take_is_refused(band: float, still: Spans) -> None:
    with pytest.raises(CannotBeDone, match=r"'band'.*not stretched.*`unstretched`"):
        sections("band", 600, band, still)


def test_a_band_as_long_as_its_opening_may_be_unstretched_all_round() -> None:
    (section,) = sections("band", 600, 600, [(0, 600)])
    assert (section.stretched, section.stretch) == (False, 0)
