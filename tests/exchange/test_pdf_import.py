"""Patterns out of PDF files: units, layers and colours, and tiled pages put together.

The files are written by pypdf from content streams, by matplotlib, and by `marker print`; their
meaning is ISO 32000-1.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import matplotlib
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from pypdf.generic import ArrayObject, DictionaryObject, FloatObject, NameObject, NumberObject

from marker.drawing.diagram.diagram import render_diagram
from marker.drawing.pages.full_size_pdf import render_full_size
from marker.errors import FaultyInput
from marker.exchange.flat_piece import FlatPiece
from marker.exchange.importing import Imported, Wanted, import_drawings
from marker.exchange.laid_flat import sheet
from marker.exchange.pdf.pattern_pdf import pattern_pdf
from marker.exchange.pdf.pdf_file import Pick
from marker.geometry.arrays import FloatArray
from tests.drawing.garments import choir_dresses, scene_of, single
from tests.drawing.pages.test_full_size import panel_on_letter, planned
from tests.exchange.exchange import apart_mm
from tests.exchange.pdf_files import A4, PT, PdfFolio, outline, separation

SLEEVE = [(20.0, 30.0), (160.0, 40.0), (170.0, 200.0), (90.0, 260.0), (25.0, 190.0)]
CUFF = [(10.0, 10.0), (90.0, 12.0), (85.0, 60.0), (12.0, 55.0)]


def read(path: Path, pick: Pick | None = None, unit_mm: float | None = None) -> Imported:
    return import_drawings([path], Wanted(unit_mm, pick=pick or Pick()))


def measures(found: Imported) -> list[tuple[float, float]]:
    return [tuple(np.ptp(each.outline, axis=0).round(2).tolist()) for each in found.pieces]


def moved(points: FloatArray) -> FloatArray:
    """Its lower left corner at the origin."""
    shifted: FloatArray = points - points.min(axis=0)
    return shifted


def test_points_are_the_unit_of_a_page(tmp_path: Path) -> None:
    """1/72 in; a page of 595 by 842 of them is A4 (ISO 216)."""
    folio = PdfFolio()
    folio.page(outline(SLEEVE))
    found = read(folio.save(tmp_path / "sleeve.pdf"))
    assert apart_mm(moved(found.pieces[0].outline), moved(np.array(SLEEVE))) < 0.001
    assert found.scales[0].said == "the size of its pages"


@pytest.mark.parametrize("quarter", [0, 90, 180, 270])
def test_pages_are_read_as_they_are_shown(quarter: int, tmp_path: Path) -> None:
    """UserUnit, CropBox and Rotate, which turns clockwise."""
    folio = PdfFolio()
    more = {
        "/UserUnit": FloatObject(2.0),
        "/Rotate": NumberObject(quarter),
    }
    folio.page(outline(SLEEVE, PT / 2), more=more)
    folio.writer.pages[0].cropbox.lower_left = (7, 9)
    found = read(folio.save(tmp_path / "sleeve.pdf"))
    angle = np.radians(-quarter)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    wanted = np.array(SLEEVE) @ turn.T
    assert apart_mm(moved(found.pieces[0].outline), moved(wanted)) < 0.001


def test_forms_and_matrices_nest(tmp_path: Path) -> None:
    """A cuff at half size in a form that doubles it, inside another, placed twice."""
    folio = PdfFolio()
    inner = folio.form(outline(CUFF, PT / 2), [2, 0, 0, 2, 0, 0], {})
    outer = folio.form("q 1 0 0 1 10 10 cm /in Do Q", [1, 0, 0, 1, 0, 0], {"in": inner})
    folio.page("/out Do q 1 0 0 1 0 400 cm 0 1 -1 0 300 0 cm /out Do Q", forms={"out": outer})
    found = read(folio.save(tmp_path / "cuffs.pdf"))
    assert measures(found) == [(80.0, 50.0), (50.0, 80.0)]


def test_curves_come_as_near_as_any_chord_may(tmp_path: Path) -> None:
    """A circle of four Bézier curves with the usual constant (known since the 1970s; its radius
    errs by 2.7e-4, from memory) and of `v` and `y` curves by their meaning."""
    k = 4 / 3 * (np.sqrt(2) - 1) * 100
    folio = PdfFolio()
    folio.page(
        f"q {PT} 0 0 {PT} {100 * PT + 20} {100 * PT + 20} cm 100 0 m 100 {k} {k} 100 0 100 c "
        f"-{k} 100 -100 {k} -100 0 c -100 -{k} -{k} -100 0 -100 c {k} -100 100 -{k} 100 0 c s Q "
        f"q {PT} 0 0 {PT} 20 700 cm 0 0 m 50 80 100 0 v 50 -30 0 0 y s Q"
    )
    circle, leaf = read(folio.save(tmp_path / "circle.pdf")).pieces
    middle = circle.outline - (circle.outline.max(axis=0) + circle.outline.min(axis=0)) / 2
    assert np.abs(np.hypot(*middle.T) - 100).max() < 0.05
    # v: (0,0) (0,0) (50,80) (100,0); y: (100,0) (50,-30) (0,0) (0,0)
    t = np.linspace(0, 1, 200)[:, None]
    upper = 3 * (1 - t) * t**2 * np.array([50, 80]) + t**3 * np.array([100, 0])
    lower = (1 - t) ** 3 * np.array([100, 0]) + 3 * (1 - t) ** 2 * t * np.array([50, -30])
    assert apart_mm(moved(leaf.outline), moved(np.vstack([upper, lower]))) < 0.05


def test_sizes_on_layers_are_chosen(tmp_path: Path) -> None:
    folio = PdfFolio()
    small, large = folio.layer("size 36"), folio.layer("size 40")
    bigger = [(1.1 * x, 1.1 * y) for x, y in CUFF]
    folio.page(
        f"/OC /s BDC {outline(CUFF)} EMC /OC /l BDC {outline(bigger)} EMC",
        layers={"s": small, "l": large},
    )
    path = folio.save(tmp_path / "sizes.pdf")
    with pytest.raises(FaultyInput, match=r"several layers.*'size 36' \(1 lines\).*--layer"):
        read(path)
    with pytest.raises(FaultyInput, match=r"no layer called 'size 38'\. Did you mean"):
        read(path, Pick(layers=("size 38",)))
    found = read(path, Pick(layers=("Size 40",)))
    assert measures(found) == [(88.0, 55.0)]
    assert found.passed_over["lines that were not chosen"] == 1
    folio.switch_off([large])
    assert measures(read(folio.save(path))) == [(80.0, 50.0)]


def test_a_layer_whose_name_says_what_it_is_for_is_known(tmp_path: Path) -> None:
    folio = PdfFolio()
    layers = {"c": folio.layer("Cut lines"), "s": folio.layer("seam line")}
    inside = [(x * 0.8 + 10, y * 0.8 + 7) for x, y in CUFF]
    folio.page(f"/OC /c BDC {outline(CUFF)} EMC /OC /s BDC {outline(inside)} EMC", layers=layers)
    (cuff,) = read(folio.save(tmp_path / "cuff.pdf")).pieces
    assert len(cuff.stitching) == 4


def test_lines_are_chosen_by_colour(tmp_path: Path) -> None:
    """Grey, RGB, CMYK and a printing ink."""
    folio = PdfFolio()
    pieces = {
        "0.5 G": "#808080",
        "1 0 0 RG": "#ff0000",
        "0 1 1 0 K": "#ff0000",
        "/spot CS 1 SCN": "Cutline",
    }
    content = ""
    for k, operators in enumerate(pieces):
        square = [(x + 100 * (k % 2), y + 100 * (k // 2)) for x, y in CUFF]
        content += f"{operators} {outline(square)}"
    folio.page(content, spaces={"spot": separation("Cutline")})
    path = folio.save(tmp_path / "colours.pdf")
    counts = {name: list(pieces.values()).count(name) for name in pieces.values()}
    for name, count in counts.items():
        assert len(read(path, Pick(colours=(name.lower(),))).pieces) == count
        assert f"colour {name} ({count})" in read(path).holds
    assert len(read(path).pieces) == 4


def test_lines_are_chosen_by_their_dashes(tmp_path: Path) -> None:
    """In mm, set by operator or by a graphics state; solid again after an empty array."""
    folio = PdfFolio()
    state = DictionaryObject({NameObject("/D"): ArrayObject([ArrayObject([NumberObject(9)])])})
    dashed = f"q {PT} 0 0 {PT} 0 0 cm [3 1.5] 0 d {outline(CUFF, 1.0)} Q "
    by_state = f"/dots gs {outline([(x + 100, y) for x, y in CUFF])}"
    solid = f"[] 0 d {outline(SLEEVE)}"
    folio.page(dashed + by_state + solid, states={"dots": state})
    path = folio.save(tmp_path / "dashes.pdf")
    assert {"dashes 3-1.5 (1)", "dashes 3.2 (1)", "dashes none (1)"} < set(read(path).holds)
    assert measures(read(path, Pick(dashes=("none",)))) == [(150.0, 230.0)]
    assert measures(read(path, Pick(dashes=("3-1.5",)))) == [(80.0, 50.0)]


def test_what_is_no_line_is_counted(tmp_path: Path) -> None:
    folio = PdfFolio()
    picture = folio.form("", [1, 0, 0, 1, 0, 0], {})
    picture.get_object()[NameObject("/Subtype")] = NameObject("/Image")
    folio.page(outline(CUFF) + "0 0 90 90 re f 0 0 9 9 re W n /im Do", forms={"im": picture})
    passed_over = read(folio.save(tmp_path / "cuff.pdf")).passed_over
    assert passed_over["pictures"] == 1
    assert passed_over["shapes that are filled, but have no line"] == 1


def test_a_test_square_is_no_piece(tmp_path: Path) -> None:
    folio = PdfFolio()
    folio.page(outline(CUFF) + outline([(100, 150), (200, 150), (200, 250), (100, 250)]))
    found = read(folio.save(tmp_path / "cuff.pdf"))
    assert len(found.pieces) == 1
    (square,) = found.scales[0].squares
    assert (round(square.across_mm, 2), square.says_mm, square.marked) == (100.0, 100.0, False)


@pytest.mark.parametrize("fonttype", [3, 42])
def test_a_drawing_of_matplotlib_s_reads_back(fonttype: int, tmp_path: Path) -> None:
    """A page of 400 × 300 mm whose axes count mm."""
    with matplotlib.rc_context({"pdf.fonttype": fonttype}):
        figure = Figure(figsize=(400 / 25.4, 300 / 25.4))
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set(xlim=(0, 400), ylim=(0, 300))
        axes.axis("off")
        axes.add_patch(Polygon(np.array(SLEEVE), closed=True, fill=False))
        axes.text(80, 120, "sleeve")
        figure.savefig(tmp_path / "sleeve.pdf")
    (piece,) = read(tmp_path / "sleeve.pdf").pieces
    assert piece.name == "sleeve"
    assert apart_mm(moved(piece.outline), moved(np.array(SLEEVE))) < 0.01


@given(st.lists(st.floats(40, 300), min_size=3, max_size=12), st.floats(1.0, 20.0))
def test_what_export_writes_reads_back(radii: list[float], times: float) -> None:
    """Random outlines, on pages up to where their unit must grow (UserUnit)."""
    angles = 2 * np.pi * np.arange(len(radii)) / len(radii)
    points = np.column_stack([np.cos(angles), np.sin(angles)]) * np.array(radii)[:, None]
    whole = sheet("choir", "", [FlatPiece("sleeve", points - points.min(axis=0))])
    wide = type(whole)(whole.title, "", whole.pieces, whole.width_mm * times, whole.height_mm)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "choir.pdf"
        path.write_bytes(pattern_pdf(wide))
        (piece,) = read(path).pieces
    assert apart_mm(moved(piece.outline), moved(points)) < 0.05


# --- pages that join ---

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
