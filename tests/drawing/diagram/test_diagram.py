"""The files: true to scale, legible in grey, the same bytes every time."""

from __future__ import annotations

import re
from functools import cache
from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader

from marker.canvas.page import Page, Words
from marker.canvas.rendering import rendered
from marker.drawing.diagram.diagram import draw_diagram, render_diagram
from marker.drawing.diagram.sheets import PAPER, break_into_sheets, plan_pages
from marker.layout import CheckedLayout
from marker.units import Show, System, show_lengths
from tests.drawing.garments import Put, checked, piece, scene_of, single
from tests.drawing.on_paper import DPI, shades, shades_of, words
from tests.drawing.pdf_pages import drawn_on
from tests.shapes import rectangle

PT_PER_MM = 72 / 25.4


def runner(length_mm: float) -> CheckedLayout:
    return checked([Put(piece("runner $x_1$ & <co>", rectangle(length_mm, 300)), 0.0, 500.0)])


@cache
def metre() -> dict[str, bytes]:
    """A piece of exactly 1000 × 300 mm."""
    layout = runner(1000.0)
    return render_diagram(scene_of(layout))


def svg_box(svg: bytes, name: str) -> tuple[float, float]:
    """Width and height, mm, of the path so named."""
    found = re.search(rf'<path data-name="{name}"[^>]* d="([^"]*)"', svg.decode())
    assert found
    numbers = [float(text) for text in re.findall(r"-?\d+\.?\d*", found[1])]
    points = np.array(numbers).reshape(-1, 2)
    width, height = np.ptp(points, axis=0)
    return float(width), float(height)


def test_svg_is_true_to_its_stated_scale() -> None:
    """1000 mm of pieces and 2 × 20 mm of ends at 1:9; 40 mm of bar; a user unit is 1 mm."""
    svg = metre()["diagram.svg"]
    assert svg_box(svg, "cloth") == pytest.approx((1040 / 9, 1500 / 9), abs=1e-3)
    assert svg_box(svg, "bar")[0] == pytest.approx(40.0, abs=1e-3)
    assert b'width="297mm" height="210mm" viewBox="0 0 297 210"' in svg


def test_pdf_is_true_to_its_stated_scale() -> None:
    """The cut line of the 1000 × 300 mm piece measures a ninth of that on an A4 page."""
    page = PdfReader(BytesIO(metre()["diagram.pdf"])).pages[0]
    assert [float(side) / PT_PER_MM for side in page.mediabox[2:]] == pytest.approx(PAPER, abs=0.01)
    sizes = [drawn.size for drawn in drawn_on(page)]
    assert any(np.allclose(size, (1000 / 9, 300 / 9), atol=1e-3) for size in sizes)


def test_fonts_are_embedded_as_truetype() -> None:
    for page in PdfReader(BytesIO(metre()["diagram.pdf"])).pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            assert "/FontFile2" in font.get_object()["/FontDescriptor"]


def test_pdf_text_can_be_searched_and_says_what_must_be_said() -> None:
    text = PdfReader(BytesIO(metre()["diagram.pdf"])).pages[0].extract_text()
    for part in ("choir dress", "jersey", "runner $x_1$ & <co>", "1 : 9", "page 1 of 1"):
        assert part in text
    assert "let local rules come first" in " ".join(text.split())


def test_the_same_layout_gives_the_same_bytes() -> None:
    assert render_diagram(scene_of(runner(1000.0))) == metre()


def test_four_metres_break_over_pages_and_the_list_follows() -> None:
    panel = piece("panel", rectangle(360, 350), copies=44)
    puts = [Put(panel, 365 * (k // 4), 360 * (k % 4), copy=k + 1) for k in range(44)]
    scene = scene_of(checked(puts))
    pages = draw_diagram(scene)
    assert len(pages) == len(break_into_sheets(scene)) + 1 == 3
    assert "CONTINUES ON PAGE 2" in words(pages[0])
    assert "CONTINUED FROM PAGE 1" in words(pages[1])
    assert "page 3 of 3" in words(pages[2])


@pytest.mark.parametrize("show", [Show(), Show(System.IMPERIAL, both=False)])
def test_the_headings_of_the_list_stand_apart(show: Show) -> None:
    with show_lengths(show):
        (page,) = draw_diagram(scene_of(runner(1000.0)))
    drawn = {mark.text: mark for mark in page.marks if isinstance(mark, Words)}
    start, selvage = drawn["from start"], drawn["from selvage"]
    assert start.at[0] + start.width + 1.0 < selvage.at[0]


def test_each_of_several_pages_is_a_file_of_its_own() -> None:
    files = rendered("diagram", [Page(297.0, 210.0), Page(50.0, 40.0)])
    assert sorted(files) == sorted(
        ["diagram.pdf", *(f"diagram-{k}.{kind}" for k in (1, 2) for kind in ("svg", "png"))]
    )
    assert len(PdfReader(BytesIO(files["diagram.pdf"])).pages) == 2


def test_pieces_stand_out_from_the_cloth_in_grey() -> None:
    """Luma by ITU-R BT.601; cloth at most 0.85 of white, pieces white, cut line nearly black."""
    layout = runner(1000.0)
    sheet = plan_pages(scene_of(layout))[0].sheet
    assert sheet is not None
    grey = shades_of(metre()["diagram.png"])
    dots = grey.shape[1] / PAPER[0]

    def at(x: float, y: float) -> float:
        return float(grey[-1 - round(sheet.y(y) * dots), round(sheet.x(x) * dots)])

    assert at(100, 600) > 0.97
    assert at(100, 300) < 0.87
    assert at(100, 300) > 0.6
    edge = [at(100, 500 + step) for step in range(-6, 7)]
    assert min(edge) < 0.25


def test_no_ink_in_the_margins() -> None:
    (page,) = draw_diagram(scene_of(single()))
    inked = shades(page) < 0.99
    five_mm = round(5 / 25.4 * DPI)
    assert inked.any()
    inked[five_mm:-five_mm, five_mm:-five_mm] = False
    assert not inked.any()


def test_absurdly_long_names_do_not_run_off_the_page() -> None:
    layout = checked([Put(piece("facing " * 30, rectangle(400, 300)), 0, 0)], name="gown " * 60)
    (page,) = draw_diagram(scene_of(layout))
    assert shades(page)[:, -round(5 / 25.4 * DPI) :].min() > 0.99
