"""PDF files of many makes, by reportlab, matplotlib and plain content streams: each read with the
measures that it was written with, or refused."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from pypdf.generic import FloatObject, NumberObject

from marker.exchange.pdf.pdf_file import Pick
from tests.exchange.corpus import Case, check
from tests.exchange.pdf_drawings import (
    CUFF,
    ONE,
    SKIRT,
    SLEEVE,
    TWO,
    WIDE,
    all_of,
    band,
    box,
    by_hand,
    by_matplotlib,
    by_reportlab,
    curve,
    dash,
    frame_and_title,
    grown,
    in_a_form,
    ink,
    on_layers,
    page_map,
    shape,
    sides,
    square,
    thin,
    tiles,
    with_text,
)
from tests.exchange.pdf_files import PT, outline

SHAPES: dict[str, Case] = {
    "reportlab": Case(by_reportlab(shape(SLEEVE)), ONE),
    "matplotlib": Case(by_matplotlib(SLEEVE), ONE),
    "content": Case(by_hand(outline(SLEEVE)), ONE),
    "two pieces": Case(by_reportlab(all_of(shape(SLEEVE), shape(CUFF))), TWO),
    "two pages": Case(by_reportlab(shape(SLEEVE), shape(CUFF)), TWO),
    "a circle of curves": Case(by_reportlab(curve), [(160.0, 160.0)], area_mm2=math.pi * 6400),
    "four lines": Case(by_reportlab(sides), ONE),
    "a rectangle": Case(by_hand(f"{30 * PT} {40 * PT} {140 * PT} {200 * PT} re S"), ONE),
    "filled and stroked": Case(by_reportlab(shape(SLEEVE, fill=1)), ONE),
    "filled alone": Case(by_reportlab(shape(SLEEVE, fill=1, stroke=0)),
                         refused="no drawn line in it .*filled"),
    "drawn open, then closed by its ends": Case(
        by_reportlab(shape([*SLEEVE, SLEEVE[0]], closed=False)), ONE
    ),
    "a turned page": Case(by_hand(outline(SLEEVE), more={"/Rotate": NumberObject(90)}),
                          [(200.0, 140.0)]),
    "in larger units": Case(
        by_hand(outline(SLEEVE, PT / 2), more={"/UserUnit": FloatObject(2)}), ONE
    ),
    "within a form": Case(
        in_a_form, ONE,
    ),
    "told another unit": Case(by_reportlab(shape(SLEEVE)), [(280.0, 400.0)], unit_mm=25.4 / 36),
    "with its name": Case(
        by_matplotlib(SLEEVE, texts=[(80, 120, "sleeve")]), ONE, names=["sleeve"]
    ),
}  # fmt: skip
TWICE: dict[str, Case] = {
    "the same path": Case(by_reportlab(all_of(shape(SLEEVE), shape(SLEEVE))), ONE, says=["twice"]),
    "fill, then stroke": Case(
        by_reportlab(all_of(shape(SLEEVE, fill=1, stroke=0), shape(SLEEVE))), ONE
    ),
    "a white halo": Case(
        by_reportlab(all_of(ink(1, 1, 1), shape(SLEEVE), ink(0, 0, 0), shape(SLEEVE))), ONE
    ),
    "as lines and as a path": Case(by_reportlab(all_of(sides, shape(SLEEVE))), ONE),
    "0.05 mm apart": Case(
        by_reportlab(all_of(shape(SLEEVE), shape([(x + 0.05, y) for x, y in SLEEVE]))), ONE
    ),
}
SQUARES: dict[str, Case] = {
    "10 cm, true": Case(by_reportlab(all_of(shape(SLEEVE), square(100, "10 cm"))), ONE,
                        says=["as it should"]),
    "1 in beside": Case(by_reportlab(all_of(shape(SLEEVE), square(25.4, "1 in", 5, 5))), ONE),
    "5 cm without a word": Case(by_reportlab(all_of(shape(SLEEVE), square(50, "", 10, 245))), ONE),
} | {
    f"10 cm at {share} %": Case(
        by_reportlab(all_of(shape(SLEEVE), square(share, "test square 10 cm", 55, 60))),
        refused=f"{share:.2f} % of that.*--units",
    )
    for share in (99.0, 97.0, 94.0, 104.35)
} | {
    "over the edge of two pages": Case(
        tiles([SKIRT, box(465, 300, 94, 94)]),
        refused="94.00 % of that",
    ),
    "over the edge of two pages, true": Case(tiles([SKIRT, box(465, 300, 100, 100)]), WIDE,
                                             says=["as it should"]),
}  # fmt: skip
FRAMES: dict[str, Case] = {
    "a border": Case(
        by_reportlab(all_of(frame_and_title, shape(SLEEVE), shape(CUFF))),
        TWO,
        says=["frames around pieces"],
    ),
    "a border around one": Case(by_reportlab(all_of(frame_and_title, shape(SLEEVE))), ONE),
    "the edge of the page": Case(
        by_reportlab(all_of(shape(box(0, 0, 209.9, 297)), shape(SLEEVE))), ONE
    ),
    "a white background": Case(
        by_reportlab(all_of(shape(box(0, 0, 210, 297), fill=1, stroke=0), shape(SLEEVE))), ONE
    ),
    "a map of pages": Case(
        by_reportlab(shape(SLEEVE), page_map), ONE, says=["cells of a map of pages"]
    ),
    "a border on each page": Case(
        by_reportlab(all_of(frame_and_title, shape(SLEEVE)), all_of(frame_and_title, shape(CUFF))),
        TWO,
    ),
    "a border in another colour around one": Case(
        by_reportlab(all_of(ink(0.6, 0.6, 0.6), frame_and_title, ink(0, 0, 0), shape(SLEEVE))), ONE
    ),
}
LOOKS: dict[str, Case] = {
    "sizes by colour": Case(
        by_reportlab(all_of(ink(1, 0, 0), shape(SLEEVE), ink(0, 0, 1), shape(grown(SLEEVE, 1.05)))),
        refused=r"several colours lie in one another.*#ff0000 \(1 outlines\).*--colour",
    ),
    "one size by its colour": Case(
        by_reportlab(all_of(ink(1, 0, 0), shape(SLEEVE), ink(0, 0, 1), shape(grown(SLEEVE, 1.05)))),
        ONE, pick=Pick(colours=("#ff0000",)),
    ),
    "sizes by dashes": Case(
        by_reportlab(all_of(shape(SLEEVE), dash(3, 2), shape(grown(SLEEVE, 0.95)))),
        refused=r"kinds of dashes lie in one another.*3-2 \(1 outlines\).*--dashes",
    ),
    "one size by its dashes": Case(
        by_reportlab(all_of(shape(SLEEVE), dash(3, 2), shape(grown(SLEEVE, 0.95)))), ONE,
        pick=Pick(dashes=("none",)),
    ),
    "colours side by side": Case(
        by_reportlab(all_of(ink(1, 0, 0), shape(SLEEVE), ink(0, 0, 1), shape(CUFF))), TWO
    ),
    "a small mark of another colour": Case(
        by_reportlab(all_of(shape(SLEEVE), ink(0, 0, 1), shape(box(80, 120, 20, 12)))), ONE
    ),
    "sizes on layers": Case(
        on_layers([("36", outline(SLEEVE)), ("38", outline(grown(SLEEVE, 1.05)))]),
        refused=r"several layers.*--layer",
    ),
    "one size on its layer": Case(
        on_layers([("36", outline(SLEEVE)), ("38", outline(grown(SLEEVE, 1.05)))]), ONE,
        pick=Pick(layers=("36",)),
    ),
    "layers by their names": Case(
        on_layers([("cut line", outline(SLEEVE)), ("stitching line", outline(grown(SLEEVE, 0.9))),
                   ("frame", outline(box(5, 5, 200, 285)))]), ONE, sewn=1,
    ),
    "a layer that is switched off": Case(
        on_layers([("36", outline(SLEEVE)), ("38", outline(grown(SLEEVE, 1.05)))], off=["38"]), ONE
    ),
}  # fmt: skip
TILES: dict[str, Case] = {
    f"by {how}{words}": Case(
        tiles([SKIRT], how=how, wobble=wobble), WIDE, says=["which join"], within_mm=0.15
    )
    for how in ("clip", "form", "crop")
    for wobble, words in ((0.0, ""), (0.001, ", widths a little different"))
} | {
    "with a logo on each page": Case(
        tiles([SKIRT], also=outline([(30.0, 25.0), (45.0, 25.0), (45.0, 40.0)])),
        WIDE,
        within_mm=0.15,
    ),
    "with page numbers": Case(
        tiles([SKIRT], window=(180.0, 260.0), clear=12.0), WIDE, within_mm=0.15
    ),
}
BANDS: dict[str, Case] = {
    f"{width} mm wide": Case(by_hand(band(SLEEVE, width)), ONE, says=["middle line"])
    for width in (0.2, 0.5, 1.0)
} | {
    "four thin shapes": Case(
        by_hand("".join(thin(a, b, 0.5) for a, b in zip(SLEEVE, [*SLEEVE[1:], SLEEVE[0]],
                                                        strict=True))), ONE,
    ),
    "a frame of 12 mm is no line": Case(by_hand(band(SLEEVE, 12.0)), refused="no drawn line"),
}  # fmt: skip
HERE, THERE = f"BT /F 12 Tf {40 * PT} {80 * PT} Td", f"BT /F 12 Tf {130 * PT} {80 * PT} Td"
MATRIX = "1 0 0 1"
LABELS = {
    "labels moved to": f"{HERE} (front) Tj {90 * PT} 0 Td (back) Tj ET",
    "labels a wide gap apart": f"{HERE} [(front) -18000 (back)] TJ ET",
    "labels by matrix": f"BT /F 12 Tf {MATRIX} {40 * PT} {80 * PT} Tm (front) Tj "
    f"{MATRIX} {130 * PT} {80 * PT} Tm (back) Tj ET",
    "names in parts": f"{HERE} (fr) Tj [(o) 20 (nt)] TJ ET {THERE} (ba) Tj (ck) Tj ET",
    "letters of notches": f"{HERE} 14 TL (a) Tj T* (front) Tj ET "
    f"{THERE} 14 TL (D3) Tj T* (back) Tj ET",
    "lines below one another": f"{HERE} 14 TL (front) Tj T* (cut 2) Tj ET "
    f"{THERE} (page 3 of 4) Tj 0 -14 Td (back) Tj ET",
}
TEXTS = {
    name: Case(
        with_text(outline(box(20, 30, 80, 100)) + outline(box(110, 30, 80, 100)) + words),
        [(80.0, 100.0)] * 2,
        names=["front", "back"],
    )
    for name, words in LABELS.items()
}
CASES = {
    f"{kind}: {name}": case
    for kind, cases in (
        ("shapes", SHAPES), ("twice", TWICE), ("squares", SQUARES), ("frames", FRAMES),
        ("looks", LOOKS), ("tiles", TILES), ("bands", BANDS), ("texts", TEXTS),
    )
    for name, case in cases.items()
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_a_pdf_file_is_read_as_it_was_meant(name: str, tmp_path: Path) -> None:
    path = tmp_path / "choir.pdf"
    CASES[name].drawing(path)
    check(CASES[name], [path])


def test_there_are_as_many_as_are_said() -> None:
    assert len(CASES) >= 60
