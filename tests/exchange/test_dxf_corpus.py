"""DXF files of many makes, written by ezdxf: each read with the measures that it was written with,
or refused."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from tests.exchange.corpus import Case, check
from tests.exchange.dxf_drawings import (
    BOX,
    ONE,
    both,
    box,
    frame_points,
    lined,
    nested,
    on,
    pattern,
    placed_text,
    plain,
    sizes,
    two_and_texts,
    write,
)

PLAIN: dict[str, Case] = {
    "lwpolyline": Case(plain(lambda s: s.add_lwpolyline(BOX, close=True)), ONE),
    "lwpolyline that ends where it began": Case(
        plain(lambda s: s.add_lwpolyline([*BOX, BOX[0]])), ONE
    ),
    "polyline of release 12": Case(plain(lambda s: box(s, "0"), "R12"), ONE, unit_mm=1.0),
    "3D polyline": Case(
        plain(lambda s: s.add_polyline3d([(x, y, 7) for x, y in BOX], close=True)), ONE
    ),
    "four lines": Case(plain(lambda s: lined(s, *BOX, BOX[0])), ONE),
    "lines in any order": Case(
        plain(lambda s: [lined(s, *pair) for pair in ((BOX[2], BOX[1]), (BOX[3], BOX[0]),
                                                       (BOX[0], BOX[1]), (BOX[3], BOX[2]))]), ONE,
    ),
    "circle": Case(plain(lambda s: s.add_circle((9, 9), 100)), [(200.0, 200.0)],
                   area_mm2=math.pi * 1e4),
    "ellipse": Case(plain(lambda s: s.add_ellipse((0, 0), (150, 0), 1 / 3)), [(300.0, 100.0)],
                    area_mm2=math.pi * 7500),
    "ellipse on its side": Case(plain(lambda s: s.add_ellipse((0, 0), (0, 150), 1 / 3)),
                                [(100.0, 300.0)]),
    "half an ellipse and a line": Case(
        plain(lambda s: [s.add_ellipse((0, 0), (150, 0), 2 / 3, 0, math.pi),
                         s.add_line((-150, 0), (150, 0))]), [(300.0, 100.0)],
        area_mm2=math.pi * 150 * 100 / 2,
    ),
    "arcs and lines": Case(
        plain(lambda s: [lined(s, (0, 100), (0, 0), (200, 0), (200, 100)),
                         s.add_arc((100, 100), 100, 0, 180)]), [(200.0, 200.0)],
        area_mm2=20_000 + math.pi * 5000,
    ),
    "bulges": Case(
        plain(lambda s: s.add_lwpolyline([(0, 0, 0), (200, 0, 0), (200, 100, 1), (0, 100, 0)],
                                         format="xyb", close=True)), [(200.0, 200.0)],
        area_mm2=20_000 + math.pi * 5000,
    ),
    "bulges inward, in the old polyline": Case(
        plain(lambda s: s.add_polyline2d([(0, 0, 0), (200, 0, 0), (200, 100, -1), (0, 100, 0)],
                                         format="xyb", close=True), "R12"), [(200.0, 100.0)],
        area_mm2=20_000 - math.pi * 5000, unit_mm=1.0),
    "a circle of two bulges": Case(
        plain(lambda s: s.add_lwpolyline([(0, 0, 1), (200, 0, 1)], format="xyb", close=True)),
        [(200.0, 200.0)], area_mm2=math.pi * 1e4,
    ),
    "drawn from below": Case(
        plain(lambda s: s.add_lwpolyline([(-x, y) for x, y in BOX], close=True,
                                         dxfattribs={"extrusion": (0, 0, -1)})), ONE,
    ),
    # uniform and cubic: (1 4 1) / 6 at its knots, (1 23 23 1) / 48 half way between two
    "a closed spline": Case(
        plain(lambda s: s.add_spline(dxfattribs={"flags": 1}).set_closed(
            [(100 * math.cos(math.pi * k / 3), 100 * math.sin(math.pi * k / 3), 0)
             for k in range(6)])),
        [(1000 / 6, 2 * 46 / 48 * 50 * math.sqrt(3))],
    ),
    # a quarter of a circle as a rational curve of degree 2: its middle weight is cos 45°
    "an open spline with weights, and lines": Case(
        plain(lambda s: [s.add_rational_spline([(100, 0, 0), (100, 100, 0), (0, 100, 0)],
                                               [1, math.sqrt(0.5), 1], degree=2),
                         lined(s, (0, 100), (0, 0), (100, 0))]), [(100.0, 100.0)],
        area_mm2=math.pi * 2500,
    ),
    "a spline through points": Case(
        plain(lambda s: [s.add_spline([(0, 0, 0), (100, 40, 0), (200, 0, 0)]),
                         lined(s, (200, 0), (200, -100), (0, -100), (0, 0))]), [(200.0, 140.0)],
        within_mm=0.1,
    ),
    "frame points of a fitted polyline": Case(plain(frame_points, "R12"), ONE, unit_mm=1.0),
    "fitted curve points": Case(
        plain(lambda s: box(s, "0").dxf.set("flags", 3), "R12"), ONE, unit_mm=1.0),
    "blocks in blocks": Case(plain(nested), ONE),
    "a block inserted twice, here and there": Case(
        plain(lambda s: [s.doc.blocks.new("B").add_lwpolyline(BOX, close=True),
                         s.add_blockref("B", (0, 0)), s.add_blockref("B", (500, 0))]), ONE * 2,
    ),
    "a block inserted in a row": Case(
        plain(lambda s: [s.doc.blocks.new("B").add_lwpolyline(BOX, close=True),
                         s.add_blockref("B", (0, 0)).grid((1, 2), (0, 400))]), ONE * 2,
    ),
    "a block inserted as a mirror image": Case(
        plain(lambda s: [s.doc.blocks.new("B").add_lwpolyline(BOX, close=True),
                         s.add_blockref("B", (900, 0), dxfattribs={"xscale": -1})]), ONE,
    ),
    "texts in a mirror image": Case(plain(two_and_texts), ONE * 2, names=["sleeve", "sleeve 2"]),
    "a text that is centred": Case(
        plain(lambda s: [both(s, 500), write(s, "front", (5, 5)),
                         placed_text(s, "back", (650, 100))]),
        ONE * 2, names=["front", "back"],
    ),
    "a text of many lines": Case(
        plain(lambda s: [s.add_lwpolyline(BOX, close=True),
                         s.add_mtext("Piece Name: yoke\\PQuantity: 4",
                                     dxfattribs={"insert": (9, 9)})]),
        ONE, names=["yoke"], cut=4,
    ),
    "an attribute": Case(
        plain(lambda s: [s.doc.blocks.new("B").add_lwpolyline(BOX, close=True),
                         s.add_blockref("B", (0, 0)).add_attrib(
                             "NAME", "Piece Name: yoke", (9, 9))]),
        ONE, names=["yoke"],
    ),
    "layers by name": Case(
        plain(lambda s: [s.add_lwpolyline(BOX, close=True, **on("Cut_Lines")),
                         s.add_line((0, 0), (0, 200), **on("Fold line")),
                         s.add_line((50, 50), (50, 150), **on("Grain"))]), ONE, folds=1, grains=1,
    ),
    "layers by number": Case(
        plain(lambda s: [box(s, "1"), s.add_line((50, 100), (250, 100), **on("7"))]), ONE, grains=1
    ),
    "sizes on layers": Case(
        plain(lambda s: [s.add_lwpolyline([(x * k, y * k) for x, y in BOX], close=True, **on(size))
                         for k, size in ((1, "36"), (1.1, "38"), (1.2, "40"))]), [(330.0, 220.0)],
        sizes=["36", "38", "40"],
    ),
    "hidden, off and frozen": Case(
        plain(lambda s: [
            s.add_lwpolyline(BOX, close=True),
            s.add_lwpolyline([(x + 400, y) for x, y in BOX], close=True,
                             dxfattribs={"invisible": 1}),
            s.doc.layers.add("off").off(), s.doc.layers.add("frozen").freeze(),
            s.add_lwpolyline([(x, y + 400) for x, y in BOX], close=True, **on("off")),
            s.add_lwpolyline([(x, y - 400) for x, y in BOX], close=True, **on("frozen")),
        ]), ONE,
    ),
    "in inches": Case(plain(lambda s: s.add_lwpolyline([(x / 25.4, y / 25.4) for x, y in BOX],
                                                       close=True), units=1), ONE),
    "in cm": Case(plain(lambda s: s.add_lwpolyline([(x / 10, y / 10) for x, y in BOX], close=True),
                        units=5), ONE),
    "without a unit": Case(plain(lambda s: s.add_lwpolyline(BOX, close=True), units=0),
                           refused="does not say what one unit measures"),
    "without a unit, told": Case(
        plain(lambda s: s.add_lwpolyline([(x / 10, y / 10) for x, y in BOX], close=True), units=0),
        ONE, unit_mm=10.0,
    ),
    "absurdly large": Case(plain(lambda s: s.add_lwpolyline(BOX, close=True), units=6),
                           refused="would measure 300.00 m"),
}  # fmt: skip
TWICE: dict[str, Case] = {
    "the same polyline": Case(plain(both), ONE, says=["drawn twice"]),
    "0.04 mm apart": Case(plain(lambda s: both(s, 0.04)), ONE),
    "1 mm apart": Case(plain(lambda s: both(s, 1.0)), ONE * 2),
    "on two layers of no name": Case(plain(lambda s: both(s, 0.0, ("a", "b"))), ONE),
    "as lines and as a polyline": Case(
        plain(lambda s: [s.add_lwpolyline(BOX, close=True), lined(s, *BOX, BOX[0])]), ONE
    ),
    "lines twice": Case(
        plain(lambda s: [lined(s, *BOX, BOX[0]), lined(s, *BOX[::-1], BOX[3])]), ONE
    ),
    "boundary twice in a block": Case(pattern(lambda b: [box(b), box(b)]), ONE, grains=0),
    "boundary as lines too": Case(
        pattern(lambda b: [box(b), lined(b, *BOX, BOX[0], layer="1")]), ONE
    ),
    "boundary in the model space too": Case(pattern(box, beside=lambda s: box(s)), ONE,
                                            says=["drawn twice|more than once|also"]),
}  # fmt: skip
SKEW = [(0, 0), (300, 0), (260, 200), (0, 150)]


def skew(block: Any) -> list[Any]:
    return [
        box(block, points=SKEW),
        write(block, "Piece Name: front", (20, 20)),
        block.add_line((50, 50), (200, 50), **on("7")),
    ]


STANDARD: dict[str, Case] = {
    "a piece": Case(pattern(skew), ONE, names=["front"], grains=1),
    "inserted elsewhere": Case(pattern(skew, {"insert": (1000, 500)}), ONE, grains=1),
    "turned": Case(pattern(skew, {"rotation": 90}), [(200.0, 300.0)], grains=1),
    "mirrored": Case(pattern(skew, {"xscale": -1}), ONE, grains=1),
    "larger": Case(pattern(skew, {"xscale": 2, "yscale": 2}), [(600.0, 400.0)]),
    "stretched": Case(pattern(skew, {"xscale": 2}), [(600.0, 200.0)]),
    "inserted twice": Case(
        pattern(skew, beside=lambda s: s.add_blockref("FRONT", (500, 0), **on("1"))), ONE,
        says=["inserted more than once"],
    ),
    "inserted nowhere, alone": Case(pattern(skew, {}), ONE),
    "inserted nowhere, beside one that is": Case(
        pattern(skew, beside=lambda s: box(s.doc.blocks.new("OLD"), points=BOX[:3])),
        ONE, says=["'OLD', which is inserted nowhere"],
    ),
    "inserted within another block": Case(
        pattern(skew, {}, lambda s: [
            s.doc.blocks.new("STYLE").add_blockref("FRONT", (50, 50)),
            s.add_blockref("STYLE", (0, 0)),
        ]), ONE, names=["front"],
    ),
    "an outline in the model space beside": Case(
        pattern(skew, beside=lambda s: box(s, points=[(600, 0), (800, 0), (800, 80), (600, 80)])),
        [(200.0, 80.0), *ONE],
    ),
    "an outline on a layer of no number beside": Case(
        pattern(skew, beside=lambda s: box(s, "CLOTH", [(0, 0), (900, 0), (900, 800)])), ONE,
        says=["lines on other layers"],
    ),
    "what is written as attributes": Case(
        pattern(box, beside=lambda s: s.query("INSERT")[0].add_attrib(
            "QTY", "Quantity: 1,1", (0, 0))), ONE, cut=2,
    ),
    "half on the mirror line": Case(
        pattern(lambda b: [box(b), b.add_line((0, 0), (0, 200), **on("6"))]), ONE, folds=1
    ),
    "whole, with its mirror line": Case(
        pattern(lambda b: [box(b), b.add_line((150, 0), (150, 200), **on("6"))]), ONE, inner=1
    ),
    "a mirror line where nothing is mirrored": Case(
        pattern(lambda b: [skew(b), b.add_line((150, 0), (150, 170), **on("6"))]),
        refused="runs along no edge",
    ),
    "notches as points": Case(
        pattern(lambda b: [box(b), b.add_point((150, 0), **on("4")),
                           b.add_point((0, 100), **on("80"))]),
        ONE, notches=2,
    ),
    "notches as slits": Case(pattern(lambda b: [box(b), b.add_line((150, 0), (150, 6), **on("4"))]),
                             ONE, notches=1),
    "notches as Vs": Case(
        pattern(lambda b: [box(b), lined(b, (147, 0), (150, 6), (153, 0), layer="4")]), ONE,
        notches=1,
    ),
    "notches as boxes": Case(
        pattern(lambda b: [box(b), b.add_polyline2d([(147, 0), (147, 6), (153, 6), (153, 0)],
                                                    **on("81"))]), ONE, notches=1,
    ),
    "stitching line": Case(
        pattern(lambda b: [box(b), box(b, "14", [(9, 9), (291, 9), (291, 191), (9, 191)])]),
        ONE, sewn=1,
    ),
    "stitching line alone": Case(pattern(lambda b: box(b, "14")), ONE),
    "cut-outs": Case(
        pattern(lambda b: [box(b), b.add_circle((150, 100), 40, **on("11"))]), ONE, holes=1,
        area_mm2=60_000 - math.pi * 1600,
    ),
    "inner lines and drill holes": Case(
        pattern(lambda b: [box(b), b.add_line((50, 50), (90, 50), **on("8")),
                           b.add_point((60, 60), **on("13"))]), ONE, inner=2,
    ),
    "validation curves": Case(pattern(lambda b: [box(b), box(b, "84")]), ONE,
                              says=["validation curves"]),
    "a test square of its own block": Case(
        pattern(skew, beside=lambda s: [
            box(s.doc.blocks.new("TEST"), points=[(0, 0), (100, 0), (100, 100), (0, 100)]),
            write(s.doc.blocks.get("TEST"), "10 cm test square", (20, 20), "15"),
            s.add_blockref("TEST", (500, 0), **on("1")),
        ]), ONE, says=["test square .* as it should"],
    ),
    "in inches by its texts": Case(
        pattern(lambda b: box(b, points=[(x / 25.4, y / 25.4) for x, y in BOX]),
                style=("UNITS: ENGLISH",)), ONE,
    ),
    "a gap of 1 mm": Case(
        pattern(lambda b: lined(b, *BOX, (0, 1), layer="1")), refused="gaps of 1.00 mm at x 0.0 mm"
    ),
    "a gap of 1 mm, joined": Case(
        pattern(lambda b: lined(b, *BOX, (0, 1), layer="1")), ONE, join_mm=1.1, within_mm=1.1
    ),
    "several sizes": Case(sizes, [(330.0, 200.0)], sizes=["36", "38", "40"]),
}  # fmt: skip
CASES = {
    f"{kind}: {name}": case
    for kind, cases in (("plain", PLAIN), ("twice", TWICE), ("standard", STANDARD))
    for name, case in cases.items()
}


@pytest.mark.parametrize("name", CASES)
def test_a_dxf_file_is_read_as_it_was_meant(name: str, tmp_path: Path) -> None:
    path = tmp_path / "choir.dxf"
    path.write_text(CASES[name].drawing(), encoding="utf-8")
    check(CASES[name], [path])


def test_there_are_as_many_as_are_said() -> None:
    assert len(CASES) >= 60
