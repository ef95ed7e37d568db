"""Patterns out of PDF files: units, layers and colours, and tiled pages put together.

The files are written by pypdf from content streams, by matplotlib, and by `marker print`; their
meaning is ISO 32000-1.
"""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import matplotlib
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from pypdf.generic import ArrayObject, DictionaryObject, FloatObject, NameObject, NumberObject

from marker.errors import FaultyInput
from marker.exchange.flat_piece import FlatPiece
from marker.exchange.laid_flat import sheet
from marker.exchange.pdf.pattern_pdf import pattern_pdf
from marker.exchange.pdf.pdf_file import Pick
from tests.exchange.exchange import apart_mm
from tests.exchange.pdf_files import PT, PdfFolio, measures, moved, outline, read, separation

SLEEVE = [(20.0, 30.0), (160.0, 40.0), (170.0, 200.0), (90.0, 260.0), (25.0, 190.0)]
CUFF = [(10.0, 10.0), (90.0, 12.0), (85.0, 60.0), (12.0, 55.0)]


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
