"""DXF by ASTM D6673 and plain, as others write it: with ezdxf, whose audit our own files pass."""

from __future__ import annotations

import math
from collections.abc import Iterator
from io import StringIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from ezdxf.filemanagement import new
from ezdxf.filemanagement import read as read_dxf

from marker.errors import FaultyInput
from marker.exchange.importing import Imported, Wanted, import_drawings
from marker.exchange.laid_flat import pattern_sheet
from marker.exchange.scale import ScaleUnknown
from marker.jobfile.reading import read_job
from marker.pattern.inner_marks import MarkKind
from marker.pattern.piece import Line
from tests.exchange.exchange import all_cut, job_of, written
from tests.pieces.garments import GARMENTS, PIECES

BOX = [(0, 0), (300, 0), (300, 200), (0, 200)]


def saved(document: Any, folder: Path) -> Path:
    path = folder / "skirt.dxf"
    document.saveas(path)
    return path


def read(document: Any, folder: Path, unit_mm: float | None = None) -> Imported:
    return import_drawings([saved(document, folder)], Wanted(unit_mm))


def pattern(*style: str, version: str = "R12") -> Any:
    """A file in the layout of ASTM D6673 without its pieces; the keys are from its excerpts."""
    document = new(version)
    for k, text in enumerate(style):
        document.modelspace().add_text(text, dxfattribs={"layer": "1", "insert": (0, -10 * k)})
    return document


def piece(document: Any, name: str, *texts: str, box: Any = BOX) -> Any:
    """A block with a closed boundary and what is written on the piece; inserted at the origin."""
    block = document.blocks.new(name)
    block.add_polyline2d(box, close=True, dxfattribs={"layer": "1"})
    for text in texts:
        block.add_text(text, dxfattribs={"layer": "1", "insert": (900, 900)})
    document.modelspace().add_blockref(name, (0, 0), dxfattribs={"layer": "1"})
    return block


def metric_pattern() -> Any:
    return pattern("Style Name: choir skirt", "UNITS: METRIC", "Sample Size: 38")


@pytest.mark.parametrize("garment", GARMENTS)
def test_our_files_pass_ezdxf_audit(garment: str) -> None:
    text = written(pattern_sheet(read_job(PIECES / garment / "job.toml")), "dxf")
    assert text.isascii()
    audit = read_dxf(StringIO(text)).audit()
    assert audit.errors == []
    assert audit.fixes == []


def test_our_blocks_hold_what_the_standard_asks_for() -> None:
    """Layers 1 boundary, 2 turn points, 3 curve points, 4 notches, 7 grain, 14 sew lines: excerpts
    of ASTM D6673. Every vertex of the boundary is a turn point or a curve point."""
    sheet = pattern_sheet(read_job(PIECES / "pinafore" / "job.toml"))
    document = read_dxf(StringIO(written(sheet, "dxf")))
    blocks = [block for block in document.blocks if not block.is_any_layout]
    assert len(blocks) == len(sheet.pieces) == len(document.modelspace().query("INSERT"))
    for block, flat in zip(blocks, sheet.pieces, strict=True):
        boundary = list(block.query('POLYLINE[layer=="1"]'))
        assert [e.is_closed for e in boundary] == [True]
        assert len(boundary[0]) == len(flat.outline)
        points = {n: len(block.query(f'POINT[layer=="{n}"]')) for n in ("2", "3", "4")}
        assert points["2"] + points["3"] == len(flat.outline)
        assert points["4"] == len(flat.notches)
        assert len(block.query('LINE[layer=="7"]')) == 1
        assert len(block.query('POLYLINE[layer=="14"]')) == bool(len(flat.stitching))
        texts = [text.dxf.text for text in block.query('TEXT[layer=="1"]')]
        assert texts[:2] == [f"Piece Name: {flat.name}", f"Size: {flat.size}"]


def test_a_pattern_written_by_ezdxf_reads_back(tmp_path: Path) -> None:
    document = metric_pattern()
    block = piece(document, "FRONT_38", "PIECE NAME: front", "Size: 38", "quantity: 1,1")
    block.add_line((20, 100), (250, 100), dxfattribs={"layer": "7"})
    block.add_polyline2d([(10, 10), (290, 10), (290, 190), (10, 190)], close=True,
                         dxfattribs={"layer": "14"})  # fmt: skip
    block.add_point((150, 0), dxfattribs={"layer": "4"})
    block.add_line((300, 80), (294, 80), dxfattribs={"layer": "80"})
    block.add_point((60, 60), dxfattribs={"layer": "13"})
    block.add_circle((200, 100), 15, dxfattribs={"layer": "11"})
    block.add_line((30, 30), (60, 30), dxfattribs={"layer": "8"})
    block.add_line((0, 100), (300, 100), dxfattribs={"layer": "9"})
    block.add_text("# 3", dxfattribs={"layer": "2", "insert": (0, 0)})
    block.add_text("cut on the bias", dxfattribs={"layer": "15", "insert": (20, 20)})
    found = read(document, tmp_path)
    (front,) = found.pieces
    assert (found.title, found.size, front.name, front.size) == ("choir skirt", "38", "front", "38")
    assert (front.cut, front.mirrored, front.note) == (2, 1, "cut on the bias")
    assert np.allclose(front.outline, BOX)
    assert sorted(map(tuple, front.notches)) == [(150, 0), (300, 80)]
    assert [mark.kind for mark in front.inner_marks] == [MarkKind.LINE, MarkKind.DRILL_HOLE]
    assert shapely.Polygon(front.cutouts[0]).area == pytest.approx(math.pi * 225, rel=5e-3)
    assert found.passed_over == {
        "stripe reference lines": 1,
        "grade points: name their rule file (.rul) too": 1,
    }
    (made,) = job_of(found, tmp_path).pattern.pieces
    assert {edge.allowance_mm for edge in made.edges.values()} == {10.0}
    assert made.grain_deg == 0.0


def test_a_half_on_the_mirror_line_is_cut_on_the_fold(tmp_path: Path) -> None:
    document = metric_pattern()
    block = piece(document, "BACK", "Piece Name: back")
    block.add_line((0, 200), (0, 0), dxfattribs={"layer": "6"})
    job = job_of(read(document, tmp_path), tmp_path)
    (half,), (whole,) = job.pattern.pieces, all_cut(job)
    assert half.fold is not None
    assert np.ptp(half.outline, axis=0) == pytest.approx((300, 200))
    assert np.ptp(whole.outline, axis=0) == pytest.approx((600, 200))


def test_boundaries_in_parts_and_nothing_else(tmp_path: Path) -> None:
    """Real files may hold bare boundaries, here in four lines, two of them backward."""
    document = metric_pattern()
    block = document.blocks.new("YOKE")
    for a, b in (((0, 0), (300, 0)), ((300, 200), (300, 0)), ((300, 200), (0, 200)),
                 ((0, 0), (0, 200))):  # fmt: skip
        block.add_line(a, b, dxfattribs={"layer": "1"})
    document.modelspace().add_blockref("YOKE", (5, 5), dxfattribs={"layer": "1"})
    found = read(document, tmp_path)
    (yoke,) = found.pieces
    assert (yoke.name, yoke.cut, yoke.grain) == ("YOKE", 1, None)
    assert shapely.Polygon(yoke.outline - 5).equals(shapely.Polygon(BOX))  # inserted at (5, 5)
    assert found.no_grain_deg == 0.0


def test_a_block_inserted_larger_is_larger(tmp_path: Path) -> None:
    document = metric_pattern()
    block = document.blocks.new("CUFF")
    block.add_polyline2d(BOX, close=True, dxfattribs={"layer": "1"})
    document.modelspace().add_blockref("CUFF", (0, 0), dxfattribs={"xscale": 2, "yscale": 2})
    assert np.ptp(read(document, tmp_path).pieces[0].outline[:, 0]) == 600


def test_one_size_of_several_is_chosen(tmp_path: Path) -> None:
    document = pattern("Units: METRIC")
    for k, size in enumerate(("36", "38")):
        box = [(x * (1 + k / 10), y) for x, y in BOX]
        piece(document, f"FRONT_{size}", "Piece Name: front", f"Size: {size}", box=box)
    path = saved(document, tmp_path)
    with pytest.raises(FaultyInput, match=r"no size '40'. Choose with --size one of 36, 38"):
        import_drawings([path], Wanted(size="40"))
    (front,) = import_drawings([path], Wanted(size="38")).pieces
    assert np.ptp(front.outline[:, 0]) == pytest.approx(330)


@pytest.mark.parametrize(
    ("units", "words", "doubt"),
    [
        (0, "", "does not say"),
        (1, "Units: METRIC", "one unit is 25.4 mm ($INSUNITS) and 1 mm"),
        (1, "", "would measure 7.62 m"),
        (6, "", "would measure 300.00 m"),
    ],
)
def test_a_scale_that_is_missing_or_wrong_is_asked_for(
    units: int, words: str, doubt: str, tmp_path: Path
) -> None:
    document = pattern(*filter(None, [words]), version="R2000")
    document.header["$INSUNITS"] = units
    piece(document, "FRONT")
    path = saved(document, tmp_path)
    with pytest.raises(ScaleUnknown) as raised:
        import_drawings([path])
    (fault,) = raised.value.faults
    assert doubt in fault.problem
    assert "30 cm (11 3/4 in) if a unit is mm" in fault.problem
    assert "--units" in fault.remedy
    assert np.ptp(import_drawings([path], Wanted(10.0)).pieces[0].outline[:, 0]) == 3000


def test_inches_are_inches(tmp_path: Path) -> None:
    """ENGLISH is inches, from memory of the standard; $INSUNITS 1 is inches (DXF reference)."""
    document = pattern("Units: ENGLISH")
    document.header["$INSUNITS"] = 1
    piece(document, "FRONT", box=[(0, 0), (10, 0), (10, 5), (0, 5)])
    assert np.ptp(read(document, tmp_path).pieces[0].outline[:, 0]) == pytest.approx(254)


def plain(document: Any) -> Iterator[str]:
    """The same half disc of radius 200 mm drawn in several ways; yields how."""
    space = document.modelspace()
    yield "bulge"
    space.add_lwpolyline([(-200, 0, 0), (200, 0, 1)], format="xyb", close=True)
    yield "line and arc"
    space.add_line((200, 0), (-200, 0))
    space.add_arc((0, 0), 200, 0, 180)
    yield "line and two arcs, one drawn backward"
    space.add_line((-200, 0), (200, 0))
    space.add_arc((0, 0), 200, 90, 180)
    space.add_arc((0, 0), 200, -90, 0, dxfattribs={"extrusion": (0, 0, 1)}).rotate_z(math.pi / 2)
    yield "line and half an ellipse"
    space.add_line((-200, 0), (200, 0))
    space.add_ellipse((0, 0), (200, 0), 1.0, 0, math.pi)
    yield "inserted twice as large"
    block = document.blocks.new("half")
    block.add_lwpolyline([(-100, 0, 0), (100, 0, 1)], format="xyb", close=True)
    space.add_blockref("half", (0, 0), dxfattribs={"xscale": 2, "yscale": 2})


def _half_disc(way: str) -> Any:
    document = new("R2000", units=4)
    drawing = plain(document)
    for current in drawing:
        for entity in list(document.modelspace()):
            document.modelspace().delete_entity(entity)
        if current == way:
            break
    next(drawing, None)
    return document


WAYS = list(plain(new("R2000")))


@pytest.mark.parametrize("way", WAYS)
def test_plain_outlines_join_up(way: str, tmp_path: Path) -> None:
    document = _half_disc(way)
    (half,) = read(document, tmp_path).pieces
    disc = shapely.Polygon(half.outline)
    arc = half.outline[half.outline[:, 1] > 1]
    assert disc.area == pytest.approx(math.pi * 200**2 / 2, rel=2e-4)
    assert np.abs(np.hypot(*arc.T) - 200).max() < 0.03


def test_a_spline_that_joins_up(tmp_path: Path) -> None:
    """A cubic Bézier as a spline; its middle by de Casteljau's construction is (0, 150)."""
    document = new("R2000", units=4)
    space = document.modelspace()
    space.add_open_spline([(-200, 0), (-200, 200), (200, 200), (200, 0)], degree=3)
    space.add_line((-200, 0), (200, 0))
    (piece_,) = read(document, tmp_path).pieces
    assert shapely.distance(shapely.LinearRing(piece_.outline), shapely.Point(0, 150)) < 0.02


def test_named_layers_and_what_is_passed_over(tmp_path: Path) -> None:
    document = new("R2000", units=4)
    space = document.modelspace()
    for layer in ("Cut_Line", "Sewing Lines", "frame", "off"):
        document.layers.add(layer)
    document.layers.get("off").off()
    space.add_lwpolyline([(-50, -50), (900, -50), (900, 900)], close=True,
                         dxfattribs={"layer": "frame"})  # fmt: skip
    space.add_lwpolyline(BOX, close=True, dxfattribs={"layer": "Cut_Line"})
    space.add_lwpolyline(BOX, close=True, dxfattribs={"layer": "off"})
    space.add_lwpolyline([(10, 10), (290, 10), (290, 190), (10, 190)], close=True,
                         dxfattribs={"layer": "Sewing Lines"})  # fmt: skip
    space.add_line((0, 0), (5, 5), dxfattribs={"layer": "Cut_Line"})
    space.add_text("pocket", dxfattribs={"insert": (100, 100)})
    space.add_hatch()
    found = read(document, tmp_path)
    (pocket,) = found.pieces
    assert (pocket.name, len(pocket.stitching), pocket.line) == ("pocket", 4, Line.CUT)
    assert found.passed_over == {
        "hidden entities": 1,
        "HATCH entities": 1,
        "lines on the layer 'cut line' that do not close": 1,
        "lines on other layers": 1,
    }
    assert found.no_grain_deg == 90.0
