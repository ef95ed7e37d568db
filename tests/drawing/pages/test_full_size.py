"""Full-size pages: true to scale, joined by their marks, complete, and no page too many."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import islice

import numpy as np
import pytest
import shapely
from pypdf import PageObject

from marker.drawing.diagram.paper_piece import cut_polygon
from marker.drawing.pages.full_size import COVER_MM, FullSize, mark_words, plan_full_size
from marker.drawing.pages.full_size_pdf import draw_full_size, render_full_size
from marker.drawing.pages.paper import LONGEST_MM, paper_named
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.drawing.scene.printed_pieces import PrintedPieces, single_pieces
from marker.layout import CheckedLayout
from marker.pattern.inner_marks import InnerMark, MarkKind
from tests.drawing.garments import (
    COLLAR,
    JERSEY,
    Put,
    checked,
    choir_dresses,
    piece,
    scene_of,
    single,
    sleeve,
    tiny,
)
from tests.drawing.on_paper import words
from tests.drawing.pages.joined import join, name_of
from tests.drawing.pdf_pages import drawn_on, pages_of, paper_of
from tests.shapes import polygon, rectangle


def planned(layout: CheckedLayout, paper: str) -> FullSize:
    return plan_full_size(scene_of(layout), paper_named(paper), "whole layout")


def single_scenes(layout: CheckedLayout, name: str) -> list[Scene]:
    """The piece by itself, whole."""
    whole = scene_of(layout)
    printed = PrintedPieces(layout.cut_pieces, {}, (), halves=False, nap=False)
    singles = [each for each in single_pieces(layout, whole) if each.drawing.name == name]
    return printed.scenes(whole, singles)


def small(paper: str) -> FullSize:
    (scene,) = single_scenes(tiny(), "coin pocket")
    return plan_full_size(scene, paper_named(paper), "coin pocket")


@cache
def panel_on_letter() -> bytes:
    """A panel of 642 × 530 mm over 3 × 4 pages."""
    return render_full_size([planned(single(), "letter")])


# ISO 216; ANSI/ASME Y14.1 (8.5 × 11 in)
SHEETS = {"a4": (210.0, 297.0), "a3": (297.0, 420.0), "letter": (215.9, 279.4), "a0": (841, 1189)}


PAPERS = (*SHEETS, "roll:900mm", "projector")


@cache
def small_on() -> dict[str, list[PageObject]]:
    """A 3 cm square by itself on every paper: its pages."""
    sets = [small(paper) for paper in PAPERS]
    pages = iter(pages_of(render_full_size(sets)))
    return {
        paper: list(islice(pages, full.pages)) for paper, full in zip(PAPERS, sets, strict=True)
    }


@pytest.mark.parametrize("paper", PAPERS)
def test_pages_have_their_papers_size_and_a_test_square_first(paper: str) -> None:
    """10 cm and 1 in = 25.4 mm (NIST SP 811), both along and across, on the first page."""
    pages = small_on()[paper]
    for page in pages:
        if paper in SHEETS:
            assert sorted(paper_of(page)) == pytest.approx(sorted(SHEETS[paper]), abs=0.001)
        if paper == "roll:900mm":
            assert paper_of(page)[1] == pytest.approx(900.0, abs=0.001)
    squares = [drawn.size for drawn in drawn_on(pages[0]) if len(drawn.runs) == 1]
    for side in (100.0, 25.4):
        assert any(size == pytest.approx((side, side), abs=0.001) for size in squares)
    assert "10 cm" in pages[0].extract_text()
    assert "1 in" in pages[0].extract_text()


@pytest.mark.parametrize("paper", ["a4", "projector"])
def test_a_3_cm_piece_takes_one_page_and_measures_3_cm(paper: str) -> None:
    pages = small_on()[paper]
    full = small(paper)
    assert len(pages) == full.pages == 1 + full.paper.own_cover
    sizes = [drawn.size for drawn in drawn_on(pages[-1])]
    assert any(size == pytest.approx((30.0, 30.0), abs=0.001) for size in sizes)


def test_pages_joined_by_their_marks_give_the_layout() -> None:
    """All cut lines, within 0.1 mm; the marks of all neighbours meet within 0.001 mm."""
    layout = single()
    full = planned(layout, "letter")
    pages = join(pages_of(panel_on_letter())[1:])
    assert len(pages) > 6
    assert max(page.miss_mm for page in pages) < 0.001
    widest = max(d.width for page in pages for d in page.drawn)
    cut = [run + page.at for page in pages for d in page.drawn if d.width > 0.99 * widest
           and not d.dashed for run in d.runs]  # fmt: skip
    drawn = shapely.union_all([shapely.LineString(run) for run in cut])
    tile = next(t for t in full.printed if t.name == pages[0].name)
    away = np.array(tile.low) - 10.0  # the bare edge
    for placement in layout.layout.placements:
        ring = shapely.LinearRing(placement.outline_mm - away)
        assert ring.difference(drawn.buffer(0.1)).length < 0.01
    notches = [notch.point for notch in full.scene.pieces[0].notches]
    near = shapely.union_all([ring, *(shapely.Point(at - away).buffer(5.01) for at in notches)])
    assert near.buffer(0.1).contains(drawn)


def test_every_page_says_its_place_its_job_and_its_pieces() -> None:
    pages = pages_of(panel_on_letter())
    full = planned(single(), "letter")
    assert [name_of(page) for page in pages[1:]] == [tile.name for tile in full.printed]
    for k, page in enumerate(pages[1:], start=2):
        text = page.extract_text()
        assert f"page {k} of {len(pages)}" in text
        assert "choir dress" in text
    assert all("1  skirt" in page.extract_text() for page in pages[1:])
    cover = pages[0].extract_text()
    assert all(tile.name in cover for tile in full.tiling.tiles)


@pytest.mark.parametrize("paper", ["a3", "roll:900mm"])
def test_pages_left_out_carry_nothing(paper: str) -> None:
    """By brute force: what lies in no printed page's trimmed part is no line and no text."""
    full = planned(choir_dresses(2), paper)
    lines = shapely.union_all(
        [shapely.LinearRing(p.outline) for p in full.scene.pieces]
        + [shapely.LinearRing(p.stitching) for p in full.scene.pieces if len(p.stitching)]
        + [shapely.LineString(p.fold_line) for p in full.scene.pieces if p.fold_line is not None]
    )
    cores = {t.name: shapely.box(*np.ravel(full.tiling.core(t))) for t in full.tiling.tiles}
    printed = shapely.union_all([cores[tile.name] for tile in full.printed])
    assert lines.difference(printed.buffer(1e-6)).length == 0
    assert all(lines.intersection(cores[tile.name]).length == 0 for tile in full.empty)
    to_cloth = full.sheet.to_cloth
    boxes = [shapely.Polygon(to_cloth(shapely.get_coordinates(x.box))) for x in full.labels]
    assert all(printed.contains(box) for box in boxes)
    assert len(full.printed) + len(full.empty) == full.tiling.rows * full.tiling.columns


def test_some_pages_of_a_sparse_layout_are_left_out_and_named_on_the_cover() -> None:
    corners = [Put(COLLAR, x, y, copy=k) for k, (x, y) in enumerate([(0, 0), (700, 1000)], 1)]
    full = planned(checked(corners), "a4")
    assert len(full.empty) > len(full.printed)
    assert "not printed" in words(next(iter(draw_full_size([full]))))


@pytest.mark.parametrize("paper", ["a4", "projector"])
@pytest.mark.parametrize("lay", [lambda: choir_dresses(1), tiny], ids=["dress", "3 cm"])
def test_text_lies_inside_its_piece_or_on_a_leader(
    lay: Callable[[], CheckedLayout], paper: str
) -> None:
    full = planned(lay(), paper)
    assert {label.piece.number for label in full.labels} == {p.number for p in full.scene.pieces}
    for label in full.labels:
        outline = cut_polygon(label.piece, full.sheet)
        assert outline.intersects(label.box) == (label.leader is None)
        assert label.leader or outline.contains(label.box)


def test_four_metres_for_a_projector_are_one_page_and_twelve_are_three() -> None:
    """A PDF page has at most 14 400 units (ISO 32000-1, annex C.2): 5080 mm."""
    for length, pages in ((4000.0, 1), (12_000.0, 3)):
        layout = checked([Put(piece("runner", rectangle(length, 300.0)), 0.0, 0.0)])
        full = planned(layout, "projector")
        assert len(full.printed) == pages
        assert max(full.tiling.tile(0, 0).paper) <= LONGEST_MM


def test_a_projector_page_has_thick_lines_and_a_grid_of_10_cm() -> None:
    layout = checked([Put(piece("runner", rectangle(400.0, 300.0)), 0.0, 0.0)],
                     replace(JERSEY, width_mm=620.0))  # fmt: skip
    drawn = drawn_on(pages_of(render_full_size([planned(layout, "projector")]))[0])
    runner = next(d for d in drawn if d.size == pytest.approx((400.0, 300.0), abs=0.001))
    assert runner.width >= 2.0
    grid = next(d for d in drawn if len(d.runs) > 6 and all(len(run) == 2 for run in d.runs))
    columns = sorted(run[0, 0] for run in grid.runs if np.ptp(run[:, 0]) < 0.001)
    assert np.diff(columns) == pytest.approx(100.0, abs=0.001)


def test_a_single_piece_is_drawn_once_with_its_count_grain_along_the_page() -> None:
    part = sleeve()
    puts = [Put(part, 0, 0, 180.0), Put(part, 0, 500, mirrored=True, copy=2), Put(COLLAR, 400, 0),
            Put(COLLAR, 500, 0, copy=2)]  # fmt: skip
    layout = checked(puts)
    (scene,) = single_scenes(layout, "sleeve")
    (drawn,) = scene.pieces
    assert drawn.cut == "cut 1 pair"
    assert np.ptp(drawn.outline, axis=0) == pytest.approx(np.ptp(part.outline, axis=0))
    assert drawn.grain.direction == pytest.approx((1.0, 0.0))
    full = plan_full_size(scene, paper_named("a3"), "sleeve, size 38")
    text = words(list(draw_full_size([full]))[-1])
    assert "cut 1 pair" in text
    assert "collar" not in text


def test_the_cover_fits_the_smallest_page() -> None:
    width, height = min(SHEETS.values(), key=lambda size: size[1])
    assert COVER_MM[0] <= 210.0 - 20.0
    assert COVER_MM[1] <= height - 20.0 < width * 2


def test_marks_inside_a_piece_are_on_every_page_that_their_place_is_on() -> None:
    """A dart over the joins of four pages, a buttonhole of 2 cm and a drill hole, true to scale."""
    dart = polygon((60, 40), (330, 90), (60, 140))
    marks = (
        InnerMark(MarkKind.DART, dart),
        InnerMark(MarkKind.BUTTONHOLE, polygon((300, 200), (320, 200))),
        InnerMark(MarkKind.DRILL_HOLE, polygon((100, 250))),
    )
    panel = piece("panel", rectangle(400, 300), inner_marks=marks)
    full = planned(checked([Put(panel, 0, 0)]), "a4")
    cover, *rest = pages_of(render_full_size([full]))
    assert "dart: to mark, not to cut" in cover.extract_text()
    pages = join(rest)
    away = np.array(next(t for t in full.printed if t.name == pages[0].name).low) - 10.0
    drawn = shapely.union_all(
        [shapely.LineString(run + page.at) for page in pages for d in page.drawn for run in d.runs]
    )
    assert shapely.LineString(dart - away).difference(drawn.buffer(0.05)).length < 0.01
    for at, across in (((300, 200), 0.0), ((320, 200), 0.0), ((100, 250), 0.75)):
        assert shapely.Point(np.array(at) - away).distance(drawn) == pytest.approx(across, abs=0.05)


@pytest.mark.parametrize(
    ("moved", "said"),
    [
        (0.0, ["dart", "pocket"]),  # alike in both sizes
        (60.0, ["dart", "pocket 38", "pocket 42"]),
        (4.0, ["dart", "pocket"]),  # too near for two names
    ],
)
def test_a_mark_that_lies_elsewhere_in_each_size_says_its_size(
    moved: float, said: list[str]
) -> None:
    (drawn,) = scene_of(tiny()).pieces

    def marked(size: str, by_mm: float) -> PieceDrawing:
        dart = InnerMark(MarkKind.DART, polygon((80, 80), (90, 120)), "dart")
        corners = polygon((200, 200), (300, 200)) + by_mm
        pocket = InnerMark(MarkKind.PLACEMENT, corners, "pocket")
        return replace(drawn, size=size, inner_marks=(dart, pocket), others=())

    both = replace(marked("38", 0.0), others=(marked("42", moved),))
    assert sorted(each.text for each in mark_words([both]) if len(each.text) > 1) == said
