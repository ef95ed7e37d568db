"""The drawing of bands: to scale, every strip on a page, labels clear of each other."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.drawing.band_block import BandBlock, block, pages_of
from marker.drawing.lettering import text_width
from marker.drawing.staggering import rows_of
from marker.pattern.strip import ByRatio, CutLength, Fold, Strip
from marker.pattern.strips import StripPlan, strip_plans
from tests.pattern.openings import SHOULDERS, round_neck

NECK = Strip(
    "neck binding", "jersey", 50.8, ByRatio(0.85), finishes="neckline",
    fold=Fold.DOUBLE, finished_mm=12.7, unstretched=SHOULDERS,
)  # fmt: skip
BELT = Strip("belt", "jersey", 120, CutLength(2600), fold=Fold.SINGLE, finished_mm=50)


def plans(*strips: Strip) -> tuple[StripPlan, ...]:
    job = round_neck(*strips)
    return strip_plans(job, job.cloths[0])


@pytest.mark.parametrize("strip", [NECK, BELT])
def test_strip_and_opening_are_planned_to_the_scale_stated(strip: Strip) -> None:
    (plan,) = plans(strip)
    drawn = block(plan)
    long = drawn.band_x(plan.cut_length_mm) - drawn.band_x(0.0)
    assert long * drawn.scale == pytest.approx(plan.cut_length_mm)
    assert (drawn.band_top - drawn.band_base) * drawn.scale == pytest.approx(strip.width_mm)
    if plan.band is not None:
        opening = plan.band.opening.length_mm
        wide = drawn.opening_x(plan.band, opening) - drawn.opening_x(plan.band, 0.0)
        assert wide * drawn.scale == pytest.approx(opening)


@given(
    st.lists(st.floats(0, 200), min_size=1, max_size=12).map(sorted),
    st.integers(4, 30),
)
def test_labels_are_clear_of_each_other_and_of_the_lines_to_them(
    xs: list[float], letters: int
) -> None:
    texts = ["m" * letters] * len(xs)
    rows = rows_of(xs, texts, 6.0)
    wide = text_width(texts[0], 6.0)
    for k, x in enumerate(xs):
        for other, y in zip(rows[k + 1 :], xs[k + 1 :], strict=True):
            if other >= rows[k]:  # the other's own label, or the line to it, is on this row
                assert x + wide < y


def test_blocks_do_not_reach_over_the_foot() -> None:
    blocks = [block(plan) for plan in plans(NECK, replace(NECK, name="b"), replace(NECK, name="c"))]
    pages = pages_of(blocks, 170.0)
    assert [each for page in pages for each in page] == blocks
    assert all(sum(each.height for each in page) <= 170 for page in pages)


def test_a_block_holds_its_labels() -> None:
    drawn: BandBlock = block(plans(NECK)[0])
    assert drawn.on_band
    assert len(drawn.on_band) == len(drawn.on_opening)
    assert drawn.band_top < 0
    assert drawn.opening_y < drawn.band_base
    assert all(9 < label.x < 240 for label in (*drawn.on_band, *drawn.on_opening))
