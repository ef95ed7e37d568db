"""The cutting sheet: everything that must be on it, on paper and in the browser, and legible."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely

from marker import judge
from marker.canvas.page import Shape
from marker.canvas.pen import ACCENT, Pen
from marker.cloth.fabric import Nap
from marker.cloth.spread import Spread, Spreading
from marker.cloth.stock import Flaw
from marker.drawing.in_little import draw_thumbnail, layout_words, small_layout
from marker.drawing.layout_files import render_cutting_sheet
from marker.drawing.scene.spread_sketch import HEIGHT, spread_sketch
from marker.drawing.sheet.cutting_sheet import CuttingSheet, build_sheet
from marker.drawing.sheet.sewing import SeamRow, Sewing
from marker.drawing.sheet.sheet_html import sheet_html
from marker.drawing.sheet.sheet_pages import draw_sheet
from marker.jobfile.reading import read_job
from marker.layout import CheckedLayout
from marker.pattern.bands.strip_plan import strip_plans
from tests.drawing.garments import (
    COLLAR,
    JERSEY,
    Put,
    bought,
    checked,
    choir_dresses,
    many,
    piece,
    scene_of,
    tiny,
)
from tests.drawing.on_paper import words
from tests.drawing.pdf_pages import drawn_on, pages_of, paper_of
from tests.helpers import SIZE
from tests.judge.folded_layouts import FOLDINGS, Folding, folded_case
from tests.shapes import rectangle

CHOIR = Path(__file__).parents[3] / "pieces" / "choir-dress" / "job.toml"
VOID = {"meta", "input", "br"}


@cache
def banded() -> Sewing:
    job = read_job(CHOIR)
    return Sewing(
        strips=tuple((job.size, plan) for plan in strip_plans(job.pattern, job.cloths)),
        ties=True,
        seams=(SeamRow("side", "front.side to back.side", "72 cm", "front eased in by 5 mm"),),
    )


def sheet(layout: CheckedLayout) -> CuttingSheet:
    return build_sheet(scene_of(layout), layout, bought(layout), banded())


@cache
def files() -> dict[str, bytes]:
    layout = choir_dresses(1)
    return render_cutting_sheet(scene_of(layout), layout, bought(layout), banded())


@cache
def texts() -> dict[str, str]:
    """What both files say, blanks drawn together."""
    pages = pages_of(files()["cutting-sheet.pdf"])
    html = re.sub("<style>.*?</style>", "", files()["cutting-sheet.html"].decode(), flags=re.S)
    plain = {"pdf": " ".join(page.extract_text() for page in pages),
             "html": re.sub("<[^>]*>", " ", html)}  # fmt: skip
    return {kind: " ".join(text.split()) for kind, text in plain.items()}


@pytest.mark.parametrize("kind", ["pdf", "html"])
@pytest.mark.parametrize(
    "words",
    [
        "choir dress", "cutting sheet", "layout", "by the yard", "open in one ply", "swatch",
        "wash and dry the cloth", "11 to cut, 8 different", "mark before lifting",
        "skirt front", "1 pair", "1, opened out", "4 notches, centre fold", "Seams in order",
        "front.side to back.side", "eased in by 5 mm", "cut-proof glove", "share of the cloth used",
        "neck binding", "mark at", "section", "stretched by", "bodice front.neck at fold",
        "join the two parts", "EN 14682", "ASTM F1816", "blades and irons", "test square",
        "Before you cut", "10 cm",
    ],
)  # fmt: skip
def test_both_say_what_must_be_in_hand(kind: str, words: str) -> None:
    assert words in texts()[kind]


def test_a_garment_takes_one_page_of_a4_with_a_bar_of_10_cm() -> None:
    """ISO 216: 210 × 297 mm."""
    assert len(pages_of(files()["cutting-sheet.pdf"])) == 1


def test_pieces_are_listed_in_the_order_in_which_they_are_cut() -> None:
    first, second = piece("late", rectangle(300, 200)), piece("early", rectangle(200, 200))
    rows = sheet(checked([Put(first, 200, 0), Put(second, 0, 0)])).rows
    assert [(row.piece.drawing.name, row.numbers) for row in rows] == [
        ("early", "1"),
        ("late", "2"),
    ]


@pytest.mark.parametrize("have_mm", [None, 900.0])
def test_a_cloth_that_is_there_is_not_bought(have_mm: float | None) -> None:
    layout = checked(
        [Put(piece("panel", rectangle(300, 200)), 0, 0)], replace(JERSEY, have_mm=have_mm)
    )
    files = render_cutting_sheet(scene_of(layout), layout, bought(layout), banded())
    (page,) = pages_of(files["cutting-sheet.pdf"])
    for said in (page.extract_text(), files["cutting-sheet.html"].decode()):
        assert ("to buy" in said.lower()) == (have_mm is None)


def test_a_longer_sheet_goes_on_over_pages_each_with_cautions_and_a_bar() -> None:
    layout = choir_dresses(1)
    rows = tuple(SeamRow(f"seam {k}", "front.side", "72 cm", "") for k in range(60))
    sewing = replace(banded(), seams=rows)
    pdf = render_cutting_sheet(scene_of(layout), layout, bought(layout), sewing)
    pages = pages_of(pdf["cutting-sheet.pdf"])
    assert len(pages) > 1
    said = [page.extract_text() for page in pages]
    assert [sum(f". seam {k} 72 cm" in each for each in said) for k in range(60)] == [1] * 60
    for page in pages:
        assert "cut-proof glove" in page.extract_text()
        assert paper_of(page) == pytest.approx((210.0, 297.0), abs=0.001)
        assert any(d.size == pytest.approx((100.0, 1.3), abs=0.001) for d in drawn_on(page))


class Reader(HTMLParser):
    """Open elements, those met, and every address."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.met: list[str] = []
        self.addresses: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.met.append(tag)
        self.addresses += [value or "" for name, value in attrs if name in ("src", "href")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_the_html_is_one_sound_file_that_asks_for_no_other() -> None:
    reader = Reader()
    text = files()["cutting-sheet.html"].decode()
    reader.feed(text)
    assert reader.open == []
    assert reader.addresses == []
    assert "script" not in reader.met
    assert "url(" not in text
    made = sheet(choir_dresses(1))
    boxes = sum(row.boxes for row in made.rows)
    assert reader.met.count("input") == len(made.steps) + boxes + len(made.seams)
    assert reader.met.count("svg") == len(made.rows) + 2  # layout, bar


def test_names_with_markup_are_shown_as_written() -> None:
    odd = "<script>alert(1)</script> & co"
    layout = checked([Put(piece(odd, rectangle(400, 300)), 0, 0)], name=odd)
    html = sheet_html(build_sheet(scene_of(layout), layout, bought(layout), Sewing()))
    assert "<script>" not in html
    assert html.count("&lt;script&gt;alert(1)&lt;/script&gt; &amp; co") >= 3


def test_the_same_layout_gives_the_same_sheet() -> None:
    """That a PDF of the same pages has the same bytes is tested with the diagram."""
    again = sheet(choir_dresses(1))
    assert sheet_html(again).encode() == files()["cutting-sheet.html"]
    once, twice = ([words(page) for page in draw_sheet(each)]
                   for each in (again, sheet(choir_dresses(1))))  # fmt: skip
    assert once == twice


def test_every_copy_is_counted_and_can_be_ticked() -> None:
    made = sheet(choir_dresses(2))
    copies = [laid.number for row in made.rows for laid in row.piece.laid]
    assert sorted(copies) == [drawn.number for drawn in made.scene.pieces]
    (sleeve,) = [row for row in made.rows if row.piece.drawing.name == "sleeve"]
    assert (sleeve.count, sleeve.boxes) == ("2 pairs", 4)


@pytest.mark.parametrize("folding", FOLDINGS, ids=lambda f: f"{f.spreading} {f.cloth.tube}")
def test_of_two_plies_every_copy_is_counted_and_no_spare(folding: Folding) -> None:
    """One outline on the table may give two copies; spares are not wanted."""
    case = folded_case(np.random.default_rng(5), folding)
    layout = judge.check(case.layout, case.pieces, [SIZE])
    made = build_sheet(scene_of(layout), layout, bought(layout), Sewing())
    counts = {row.piece.drawing.name: (row.piece.count, row.piece.mirrored) for row in made.rows}
    assert counts == {p.name: (p.copies + p.mirrored_copies, p.mirrored_copies)
                      for p in case.pieces}  # fmt: skip
    numbers = [laid.number for row in made.rows for laid in row.piece.laid]
    assert sorted(numbers) == [drawn.number for drawn in made.scene.pieces]
    assert f"{len(case.layout.placements)} to cut" in made.tally
    small = small_layout(made.scene, (186.0, 130.0))
    cloth = shapely.union_all(small.cloth).buffer(0.01)
    assert all(cloth.contains(outline) for outline in small.pieces)


def test_the_order_of_cutting_speaks_of_nap_and_mirrored_pieces_where_there_are_any() -> None:
    napped = " ".join(sheet(choir_dresses(1)).steps)
    assert "the cloth has a nap" in napped
    assert "Turn the pattern over for the mirrored pieces: " in napped
    plain = " ".join(sheet(tiny()).steps)
    assert "nap" not in plain
    assert "mirrored" not in plain
    assert "nap" not in " ".join(sheet(choir_dresses(1, Nap.EITHER_WAY)).steps)


def test_bands_of_several_sizes_say_which() -> None:
    layout = choir_dresses(1)
    job = read_job(CHOIR)
    both = tuple((size, plan) for size in ("38", "42") for plan in job.strip_plans(size))
    made = build_sheet(scene_of(layout), layout, bought(layout), Sewing(strips=both))
    names = [band.name for band in made.bands]
    assert names[0] == "neck binding, size 38"
    assert names[2] == "neck binding, size 42"
    assert len(set(names)) == len(names) == 4


def test_the_layout_in_little_shows_flaws_and_what_is_not_there() -> None:
    stain = Flaw("stain", rectangle(20, 30))
    scene = replace(scene_of(tiny()), flaws=(stain,), lacking=(rectangle(10, 40),))
    small = small_layout(scene, (186.0, 130.0))
    areas = sorted(part.area / small.share**2 for part in small.barred)
    assert areas == pytest.approx([400, 600])


def test_where_nothing_crosses_the_cloth_may_be_parted() -> None:
    """By hand: three collars of 8 cm, from 0, 35 and 50 cm: nothing lies across 35.0 cm, and from
    there to 50 cm is too short a stretch to part."""
    puts = [Put(replace(COLLAR, copies=3), x, 0, copy=k)
            for k, x in enumerate((0, 350, 500), 1)]  # fmt: skip
    said = " ".join(sheet(checked(puts)).steps)
    assert "Nothing crosses 35.0 cm (after 1): cut" in said
    beside = sheet(checked([Put(COLLAR, 0, 0), Put(COLLAR, 40, 500, copy=2)]))
    assert "Nothing crosses" not in " ".join(beside.steps)


def test_pieces_that_were_moved_keep_their_numbers_and_are_cut_along_the_cloth() -> None:
    puts = [Put(replace(COLLAR, copies=3), x, 0, copy=k)
            for k, x in enumerate((0, 350, 500), 1)]  # fmt: skip
    fresh = checked(puts)
    assert "Cut in the order of the numbers" in " ".join(sheet(fresh).steps)
    keys = [each.key for each in fresh.layout.placements]
    moved = fresh.layout.numbered(dict(zip(keys, (3, 1, 2), strict=True)))
    said = " ".join(sheet(judge.check(moved, fresh.cut_pieces, fresh.garments)).steps)
    assert "Cut from the start of the cloth, in this order: 3, 1, 2." in said
    assert "Nothing crosses 35.0 cm (after 3): cut" in said


@pytest.mark.parametrize("lay", [lambda: choir_dresses(4), many, tiny], ids=["4 m", "60", "3 cm"])
def test_numbers_lie_in_their_pieces_or_on_leaders_and_apart(
    lay: Callable[[], CheckedLayout],
) -> None:
    scene = scene_of(lay())
    small = small_layout(scene, (186.0, 130.0))
    outlines = dict(zip([drawn.number for drawn in scene.pieces], small.pieces, strict=True))
    missing = len(outlines) - len(small.numbers)
    assert (f"{missing} number" in layout_words(small)) == (missing > 0)
    assert missing < len(outlines) / 2
    discs = [shapely.Point(spot.at).buffer(spot.diameter / 2) for spot in small.numbers]
    for spot, disc in zip(small.numbers, discs, strict=True):
        outline = outlines[spot.number]
        if spot.leader is None:
            assert outline.contains(disc)
        else:
            assert outline.boundary.distance(shapely.Point(spot.leader)) < 1e-6
    assert not any(one.intersects(other) for one, other in combinations(discs, 2))
    lines = [shapely.LineString([s.leader, s.at]) if s.leader else shapely.LineString()
             for s in small.numbers]  # fmt: skip
    for line, own in zip(lines, discs, strict=True):
        assert not any(line.intersects(disc) for disc in discs if disc is not own)


@pytest.mark.parametrize("way", Spreading)
def test_a_spread_is_drawn_within_its_box_and_its_folds_are_named(way: Spreading) -> None:
    sketch = spread_sketch(Spread(way, 1000.0 if way.plies == 2 else 0.0))
    points = np.vstack(sketch.lines)
    assert points.min() >= -1e-9
    assert (points.max(axis=0) <= [1.0 + 1e-9, HEIGHT + 1e-9]).all()
    folds = sum(name in ("fold", "crease") for _, name in sketch.names)
    expected = {Spreading.DOUBLE_FOLD: 2, Spreading.TUBE: 2, Spreading.FOLDED_LENGTHWISE: 1,
                Spreading.FOLDED_CROSSWISE: 1}  # fmt: skip
    assert folds == expected.get(way, 0)
    assert ("two plies" in sketch.words) == (way.plies == 2)


def test_a_thumbnail_keeps_proportions_and_its_grain_inside() -> None:
    for drawn in scene_of(choir_dresses(1)).pieces:
        pen = Pen((24.0, 10.0))
        draw_thumbnail(pen, drawn, (24.0, 10.0))
        shapes = [mark for mark in pen.page.marks if isinstance(mark, Shape)]
        small = shapely.Polygon(shapes[0].runs[0])
        low_x, low_y, high_x, high_y = small.bounds
        assert min(low_x, low_y) > -1e-9
        assert (high_x, high_y) <= (24.0 + 1e-9, 10.0 + 1e-9)
        ratio = shapely.Polygon(drawn.outline).area / small.area
        length = shapely.LinearRing(drawn.outline).length / small.exterior.length
        assert ratio == pytest.approx(length**2, rel=1e-6)
        grain = next(shape for shape in shapes if shape.edge == ACCENT)
        assert small.buffer(1e-6).contains(shapely.LineString(grain.runs[0]))
