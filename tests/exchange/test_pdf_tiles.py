"""Tiled pages of PDF files put together, and our own prints read back."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely

from marker.drawing.diagram.diagram import render_diagram
from marker.drawing.pages.full_size_pdf import render_full_size
from marker.errors import FaultyInput
from marker.exchange.importing import Imported
from marker.exchange.pdf.pdf_file import Pick
from tests.drawing.garments import choir_dresses, scene_of, single
from tests.drawing.pages.test_full_size import panel_on_letter, planned
from tests.exchange.exchange import apart_mm
from tests.exchange.pdf_files import A4, PT, PdfFolio, measures, moved, outline, read

SLEEVE = [(20.0, 30.0), (160.0, 40.0), (170.0, 200.0), (90.0, 260.0), (25.0, 190.0)]
CUFF = [(10.0, 10.0), (90.0, 12.0), (85.0, 60.0), (12.0, 55.0)]
WINDOW = (170.0, 250.0)  # of a page's frame, mm
CLEAR = 20.0


def tiled(
    shapes: list[list[tuple[float, float]]],
    leave_out: tuple[int, ...] = (),
    marked_by: str = "frame",
    overlap: float = 0.0,
    squared: bool = False,
) -> PdfFolio:
    """A drawing over as many A4 pages as it takes, row by row from the top. Every page holds the
    whole drawing, as print programs write it, and shows a part of it by a clipping path.

    marked_by : what says where pages join: a frame, crosses at its corners, or nothing but the
    clipping path. squared : whether each page has lines 50 mm apart, which end unevenly.
    """
    folio = PdfFolio()
    across, up = np.ceil(np.max([np.max(s, axis=0) for s in shapes], axis=0) / WINDOW).astype(int)
    cells = [(column, row) for row in range(up - 1, -1, -1) for column in range(across)]
    marks = {"frame": box(0.0) + "S ", "crosses": crosses(), "clip": ""}[marked_by]
    logo = outline([(30.0, 25.0), (45.0, 25.0), (45.0, 40.0)])
    for number, (column, row) in enumerate(cells, 1):
        if number in leave_out:
            continue
        shift = CLEAR - column * WINDOW[0], CLEAR - row * WINDOW[1]
        drawn = "".join(outline([(x + shift[0], y + shift[1]) for x, y in s]) for s in shapes)
        folio.page(
            f"q {box(overlap)} W n {drawn} {logo} Q {marks}"
            + (squares(0.3 * number) if squared else "")
        )
    return folio


def box(wider: float) -> str:
    """The window of a page, so much wider all round, as a path."""
    corner, (across, up) = CLEAR - wider, WINDOW
    sizes = (corner, corner, across + 2 * wider, up + 2 * wider)
    return " ".join(f"{size * PT}" for size in sizes) + " re "


def crosses() -> str:
    return "".join(
        straight((x - 4, y), (x + 4, y)) + straight((x, y - 4), (x, y + 4))
        for x in (CLEAR, CLEAR + WINDOW[0])
        for y in (CLEAR, CLEAR + WINDOW[1])
    )


def squares(further: float) -> str:
    right, top = CLEAR + WINDOW[0] + further, CLEAR + WINDOW[1] + further
    upright = [straight((x, CLEAR), (x, top)) for x in np.arange(CLEAR, right, 50.0)]
    level = [straight((CLEAR, y), (right, y)) for y in np.arange(CLEAR, top, 50.0)]
    return "".join(upright + level)


def straight(start: tuple[float, float], end: tuple[float, float]) -> str:
    x1, y1, x2, y2 = (place * PT for place in (*start, *end))
    return f"{x1} {y1} m {x2} {y2} l S "


SKIRT = [(12.0, 20.0), (470.0, 33.0), (420.0, 610.0), (230.0, 580.0), (40.0, 655.0)]
BAND = [(480.0, 20.0), (515.0, 20.0), (515.0, 700.0), (480.0, 700.0)]


@pytest.mark.parametrize(
    ("marked_by", "overlap"), [("frame", 0.0), ("frame", 8.0), ("crosses", 8.0), ("clip", 0.0)]
)
def test_pages_join_by_their_lines(marked_by: str, overlap: float, tmp_path: Path) -> None:
    """A band along three rows is cut alike on each of its pages; the logo is on all of them."""
    folio = tiled([SKIRT, BAND], marked_by=marked_by, overlap=overlap)
    found = read(folio.save(tmp_path / "skirt.pdf"))
    assert "pages 1–5, 7–12, which join" in found.holds  # nothing but skirt on page 6
    are_skirt_and_band(found)


def are_skirt_and_band(found: Imported) -> None:
    skirt, band = sorted(found.pieces, key=lambda piece: -np.ptp(piece.outline[:, 0]))
    assert apart_mm(moved(skirt.outline), moved(np.array(SKIRT))) < 0.1
    assert apart_mm(moved(band.outline), moved(np.array(BAND))) < 0.1


def test_pages_that_fit_in_several_ways_lie_as_they_are_told(tmp_path: Path) -> None:
    """Squared paper is cut alike on page after page."""
    path = tiled([SKIRT, BAND], squared=True).save(tmp_path / "skirt.pdf")
    with pytest.raises(FaultyInput, match="--tiles COLUMNSxROWS"):
        read(path)
    are_skirt_and_band(read(path, Pick(grid=(4, 3))))
    with pytest.raises(FaultyInput, match=r"4x2 needs 8 pages, but there are 12"):
        read(path, Pick(grid=(4, 2)))


def test_told_pages_have_to_agree(tmp_path: Path) -> None:
    path = tiled([SKIRT, BAND]).save(tmp_path / "skirt.pdf")
    are_skirt_and_band(read(path, Pick(grid=(4, 3))))
    with pytest.raises(FaultyInput, match=r"page 4 does not join page 1 at its lower edge"):
        read(path, Pick(grid=(3, 4)))


@pytest.mark.parametrize("marked_by", ["frame", "crosses"])
def test_lines_that_run_straight_across_join_at_what_is_drawn(
    marked_by: str, tmp_path: Path
) -> None:
    """They would go on as well at the edges of the pages."""
    path = tiled([BAND], marked_by=marked_by, overlap=15.0).save(tmp_path / "band.pdf")
    (band,) = read(path).pieces
    assert apart_mm(moved(band.outline), moved(np.array(BAND))) < 0.1


def test_where_nothing_shows_how_far_pages_overlap_none_are_joined(tmp_path: Path) -> None:
    upright = [(x - 400, y) for x, y in BAND]
    path = tiled([upright], marked_by="clip", overlap=15.0).save(tmp_path / "band.pdf")
    with pytest.raises(FaultyInput, match="no certain place to join"):
        read(path)


def test_pages_with_a_border_and_a_heading_do_not_join(tmp_path: Path) -> None:
    folio = PdfFolio()
    for piece in (SLEEVE, CUFF):
        on_page = [(x + 15, y + 5) for x, y in piece]
        folio.page(f"{outline(on_page)} {box(7.0)} S {straight((13.0, 272.0), (197.0, 272.0))}")
    found = read(folio.save(tmp_path / "both.pdf"))
    assert measures(found) == [(150.0, 230.0), (80.0, 50.0)]
    assert found.passed_over["lines of frames, or that several pages show alike"] == 4
    assert not any("join" in held for held in found.holds)


def test_blank_pages_may_be_missing_and_the_rest_in_any_order(tmp_path: Path) -> None:
    corner = [(30.0, 30.0), (300.0, 40.0), (320.0, 110.0), (200.0, 60.0), (90.0, 700.0)]
    whole = tiled([corner], leave_out=(2,))
    path = whole.save(tmp_path / "corner.pdf")
    found = read(path, Pick(pages=(4, 1, 3, 2, 5)))
    assert apart_mm(moved(found.pieces[0].outline), moved(np.array(corner))) < 0.1


def test_a_page_too_few_is_named(tmp_path: Path) -> None:
    path = tiled([SKIRT], leave_out=(4,)).save(tmp_path / "skirt.pdf")
    with pytest.raises(FaultyInput, match=r"page \d+ cuts \d+ lines? at its \w+ edge") as raised:
        read(path)
    assert "--pages" in raised.value.faults[0].remedy


def test_pages_without_a_frame_join_at_their_edges(tmp_path: Path) -> None:
    folio = PdfFolio()
    width = A4[0] / PT
    wide = [(x, y * 0.4) for x, y in SKIRT]
    for column in range(3):
        folio.page(outline([(x - column * width, y) for x, y in wide]))
    (piece,) = read(folio.save(tmp_path / "skirt.pdf")).pieces
    assert apart_mm(moved(piece.outline), moved(np.array(wide))) < 0.1


def test_pages_of_whole_pieces_stand_side_by_side(tmp_path: Path) -> None:
    folio = PdfFolio()
    folio.page(outline(SLEEVE))
    folio.page(outline(CUFF))
    found = read(folio.save(tmp_path / "both.pdf"))
    assert measures(found) == [(150.0, 230.0), (80.0, 50.0)]
    regions = [shapely.Polygon(piece.outline) for piece in found.pieces]
    assert not any(one.intersects(other) for one, other in pairwise(regions))


def test_our_own_full_size_pages_read_back(tmp_path: Path) -> None:
    """A panel of 642 × 530 mm over letter pages that overlap, with cover, map and join marks."""
    path = tmp_path / "panel.pdf"
    path.write_bytes(panel_on_letter())
    (placement,) = single().layout.placements
    (piece,) = read(path).pieces
    assert apart_mm(moved(piece.outline), moved(placement.outline_mm)) < 0.1


@pytest.mark.parametrize("paper", ["a4", "letter", "a3", "a0", "roll:900mm", "projector"])
def test_our_own_prints_come_back_as_the_pieces_they_are(paper: str, tmp_path: Path) -> None:
    """A dress of nine pieces, stitching lines, folds, notches and all, on every paper."""
    checked = choir_dresses(1)
    path = tmp_path / "print.pdf"
    path.write_bytes(render_full_size([planned(checked, paper)]))
    found = read(path)
    laid = [moved(place.outline_mm) for place in checked.layout.placements]
    assert len(found.pieces) == len(laid)
    for piece in found.pieces:
        assert min(apart_mm(moved(piece.outline), each) for each in laid) < 0.1
    wanted = [piece for piece in checked.cut_pieces if len(piece.stitching)]
    assert sum(bool(len(piece.stitching)) for piece in found.pieces) == len(wanted)


def test_our_own_diagrams_are_no_patterns(tmp_path: Path) -> None:
    path = tmp_path / "diagram.pdf"
    path.write_bytes(bytes(render_diagram(scene_of(single()))["diagram.pdf"]))
    with pytest.raises(FaultyInput, match=r"drawing that marker made.*marker export"):
        read(path)
