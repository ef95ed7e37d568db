"""The drawing of bands: to scale, every strip on a page, labels clear of each other."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pypdf
import pytest
import svgelements
from hypothesis import given
from hypothesis import strategies as st

from marker.drawing.band_block import BandBlock, block, pages_of
from marker.drawing.bands import render_bands
from marker.drawing.lettering import text_width
from marker.drawing.staggering import rows_of
from marker.pattern.strip import ByRatio, CutLength, Fold, Strip
from marker.pattern.strips import StripPlan, strip_plans
from tests.pattern.openings import SHOULDERS, round_neck

PX_PER_MM = 72 / 25.4  # matplotlib's SVG counts in points
NECK = Strip(
    "neck binding", "jersey", 50.8, ByRatio(0.85), finishes="neckline",
    fold=Fold.DOUBLE, finished_mm=12.7, unstretched=SHOULDERS,
)  # fmt: skip
BELT = Strip("belt", "jersey", 120, CutLength(2600), fold=Fold.SINGLE, finished_mm=50)


def plans(*strips: Strip) -> tuple[StripPlan, ...]:
    job = round_neck(*strips)
    return strip_plans(job, job.cloths[0])


@pytest.mark.parametrize("strip", [NECK, BELT])
def test_strip_and_opening_are_drawn_to_the_scale_stated(strip: Strip) -> None:
    (plan,) = plans(strip)
    files = render_bands("choir dress", "38", [plan])
    sheet = svgelements.SVG.parse(io.BytesIO(files["bands.svg"]), ppi=72)
    parts = {part.id: part.bbox() for part in sheet.elements() if getattr(part, "id", None)
             and not isinstance(part, svgelements.SVG) and hasattr(part, "bbox")}  # fmt: skip
    scale = block(plan).scale
    low_x, low_y, high_x, high_y = np.array(parts[f"strip {strip.name}"]) / PX_PER_MM * scale
    assert high_x - low_x == pytest.approx(plan.cut_length_mm, rel=1e-3)
    assert high_y - low_y == pytest.approx(strip.width_mm, rel=1e-3)
    if plan.band is not None:
        low_x, _, high_x, _ = np.array(parts["opening"]) / PX_PER_MM * scale
        assert high_x - low_x == pytest.approx(plan.band.opening.length_mm, rel=1e-3)
    low_x, _, high_x, _ = np.array(parts["bar"]) / PX_PER_MM
    assert high_x - low_x == pytest.approx(40, abs=0.01)


def test_every_strip_is_on_a_page_with_its_names_and_figures() -> None:
    strips = [replace(NECK, name=f"binding {k}") for k in range(4)] + [BELT]
    files = render_bands("choir dress", "38", plans(*strips))
    pages = pypdf.PdfReader(io.BytesIO(files["bands.pdf"])).pages
    assert len(pages) == sum(name.endswith(".png") for name in files) > 1
    text = " ".join(page.extract_text() for page in pages)
    for words in (*(strip.name for strip in strips), "centre front", "front.neck at 20 mm", "0 %",
                  "+22.", "join 1 at 131.0", "page 1 of", "1 : 4"):  # fmt: skip
        assert words in text, words


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
