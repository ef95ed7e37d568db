"""The drawing of bands: to scale, every strip on a page, labels clear of each other."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from io import BytesIO
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from marker.canvas.fonts import text_width
from marker.canvas.lettering import rows_of
from marker.drawing.bands.band_block import SETTINGS, BandBlock, block, pages_of
from marker.drawing.bands.band_pages import render_bands
from marker.pattern.bands.strip import ByRatio, CutLength, Fold, Strip
from marker.pattern.bands.strip_plan import StripPlan, strip_plans
from tests.pattern.bands.openings import SHOULDERS, round_neck

NECK = Strip(
    "neck binding", "jersey", 50.8, ByRatio(0.85), finishes="neckline",
    fold=Fold.DOUBLE, finished_mm=12.7, unstretched=SHOULDERS,
)  # fmt: skip
BELT = Strip("belt", "jersey", 120, CutLength(2600), fold=Fold.SINGLE, finished_mm=50)


def plans(*strips: Strip) -> tuple[StripPlan, ...]:
    job = round_neck(*strips)
    return strip_plans(job.pattern, job.cloths)


@pytest.mark.parametrize("strip", [NECK, BELT])
def test_strip_and_opening_are_planned_to_the_scale_stated(strip: Strip) -> None:
    (plan,) = plans(strip)
    drawn = block(plan, strip.name, SETTINGS[-1])
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
    strips = [replace(NECK, name=name) for name in "abcdefg"]
    pages = pages_of([(plan.strip.name, plan) for plan in plans(*strips)])
    assert [each.heading for page in pages for each in page] == list("abcdefg")
    assert len(pages) > 1
    for page in pages:
        assert sum(each.height for each in page) <= page[0].setting.room


def test_a_strip_alone_is_drawn_as_wide_as_the_page_lets_it() -> None:
    """A belt of 52 cm: 26 cm at 1 : 2, where A4 lies 28 cm wide within its margins."""
    belt = replace(BELT, length=CutLength(520))
    ((alone,),) = pages_of([("belt", plan) for plan in plans(belt)])
    assert alone.scale == 2.0
    assert alone.setting.paper == (297.0, 210.0)


def test_a_block_holds_its_labels() -> None:
    (plan,) = plans(NECK)
    drawn: BandBlock = block(plan, "neck binding", SETTINGS[-2])
    assert drawn.on_band
    assert len(drawn.on_band) == len(drawn.on_opening) + 1, "a ring is joined at both its ends"
    assert drawn.band_top < 0
    assert drawn.opening_y < drawn.band_base
    assert all(9 < label.x < 280 for label in (*drawn.on_band, *drawn.on_opening))


@pytest.fixture(scope="module")
def drawn_files() -> dict[str, bytes]:
    """A band that fits the page at 1 : 2.5, and a belt that does not."""
    return render_bands("choir dress", {"38": plans(NECK, BELT)})


@pytest.mark.parametrize(("ratio", "said"), [(1.0, "0 %"), (0.85, "+17.6 %")])
def test_a_band_as_long_as_its_opening_is_not_drawn_as_stretched(ratio: float, said: str) -> None:
    """1 ÷ 0.85 - 1 = 17.6 %."""
    neck = replace(NECK, length=ByRatio(ratio), unstretched=())
    drawn = render_bands("choir dress", {"38": plans(neck)})
    (page,) = PdfReader(BytesIO(drawn["bands.pdf"])).pages
    figures = [line for line in page.extract_text().splitlines() if line.endswith(" %")]
    assert figures == [said]


def test_a_mark_called_by_a_fraction_stands_apart_from_its_figure() -> None:
    """Not '3/4 8 5/8'."""
    for label in block(plans(NECK)[0], "neck binding", SETTINGS[0]).on_band:
        assert re.fullmatch(r".+ · [0-9.]+", label.text)


def drawn_box(svg: bytes, name: str) -> tuple[float, float]:
    """Width and height in paper mm of what has this name."""
    root = ElementTree.fromstring(svg)
    units_per_mm = float(root.attrib["viewBox"].split()[2]) / float(
        root.attrib["width"].removesuffix("mm")
    )
    (path,) = [each for each in root.iter() if each.attrib.get("data-name") == name]
    numbers = [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", path.attrib["d"])]
    xs, ys = numbers[::2], numbers[1::2]
    return (max(xs) - min(xs)) / units_per_mm, (max(ys) - min(ys)) / units_per_mm


@pytest.mark.parametrize(("name", "scale"), [("neck binding", 2.5), ("belt", 10.0)])
def test_what_is_drawn_measures_what_is_cut(
    name: str, scale: float, drawn_files: dict[str, bytes]
) -> None:
    """Read back from the file: the strip and its opening, at the scale printed beside them.

    The neck is a circle of radius 100 mm (geometry); 0.85 of it and two allowances of 10 mm.
    """
    around = 2 * math.pi * 100
    length, width = {"neck binding": (0.85 * around + 20, 50.8), "belt": (2600, 120)}[name]
    svg = drawn_files["bands.svg"]
    long, wide = drawn_box(svg, f"strip {name}")
    assert long * scale == pytest.approx(length, abs=0.1)
    assert wide * scale == pytest.approx(width, abs=0.1)
    if name == "neck binding":
        assert drawn_box(svg, "opening of neck binding")[0] * scale == pytest.approx(
            around, abs=0.1
        )
    (page,) = PdfReader(BytesIO(drawn_files["bands.pdf"])).pages
    assert f"1 : {scale:g}" in page.extract_text()
    paper = [float(side) * 25.4 / 72 for side in page.mediabox[2:]]
    assert paper == pytest.approx([297, 210], abs=0.1), "A4 lying down, ISO 216"
