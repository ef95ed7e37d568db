"""Drawings: the scale is theirs or stated, transforms count, more than drawing is refused."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from marker.geometry.outline import signed_area
from tests.jobfile.writer import HEAD, only_fault, only_piece, piece, place, svg

BOX = '<path id="front" d="M 0 0 L 40 0 L 40 -30 L 0 -30 Z"/>'
FRONT = 'drawing = "drawing.svg#front"'


def extent(folder: Path, *lines: str) -> tuple[float, float]:
    across, up = np.ptp(only_piece(folder, FRONT, *lines).outline, axis=0)
    return float(across), float(up)


@pytest.mark.parametrize(
    ("size", "mm"),
    [
        ('width="100mm" height="100mm" viewBox="0 0 100 100"', (40, 30)),
        ('width="10cm" height="10cm" viewBox="0 0 100 100"', (40, 30)),
        ('width="10in" height="10in" viewBox="0 0 100 100"', (101.6, 76.2)),
        ('width="72pt" height="72pt" viewBox="0 0 100 100"', (10.16, 7.62)),
        ('width="6pc" height="6pc" viewBox="-9,5 100,100"', (10.16, 7.62)),
        ('width="10cm" height="20cm" viewBox="0 0 100 100"', (40, 30)),
        ('width="10cm" height="20cm" viewBox="0 0 100 100" preserveAspectRatio="none"', (40, 60)),
        (
            'width="10cm" height="20cm" viewBox="0 0 100 100" preserveAspectRatio="xMinYMin slice"',
            (80, 60),
        ),
    ],
)
def test_physical_size(size: str, mm: tuple[float, float], tmp_path: Path) -> None:
    """SVG 2, sections 8.6 and 8.7; CSS Values 4: 1 in = 72 pt = 6 pc = 25.4 mm."""
    svg(tmp_path, BOX, size)
    assert extent(tmp_path) == pytest.approx(mm)


@pytest.mark.parametrize("size", ['width="100" height="100"', 'width="9px" viewBox="0 0 1 1"', ""])
def test_no_physical_size_is_never_guessed(size: str, tmp_path: Path) -> None:
    svg(tmp_path, BOX, size)
    fault = only_fault(tmp_path, HEAD + piece(FRONT))
    assert fault.place.endswith("piece 1 (front), drawing")
    assert "does not say how large" in fault.problem
    assert "drawing_unit" in fault.remedy
    assert extent(tmp_path, 'drawing_unit = "cm"') == pytest.approx((400, 300))
    assert extent(tmp_path, 'drawing_unit = "1/96 in"')[0] == pytest.approx(40 / 96 * 25.4)


def test_two_sizes_are_one_too_many(tmp_path: Path) -> None:
    svg(tmp_path, BOX)
    fault = only_fault(tmp_path, HEAD + piece(FRONT, 'drawing_unit = "mm"'))
    assert "own physical size" in fault.problem


@pytest.mark.parametrize("unit", ["elle", "0 mm", "mm mm"])
def test_unknown_drawing_unit(unit: str, tmp_path: Path) -> None:
    svg(tmp_path, BOX, "")
    fault = only_fault(tmp_path, HEAD + piece(FRONT, f'drawing_unit = "{unit}"'))
    assert fault.place.endswith("drawing_unit")
    assert "mm, cm, m, in" in fault.remedy


@pytest.mark.parametrize(
    ("shape", "outline"),
    [
        ('<polygon id="front" points="0,0 9,0 9,9"/>', [(9, -9), (9, 0), (0, 0)]),
        ('<polyline id="front" points="0 0 9 0 9 9 0 0"/>', [(9, -9), (9, 0), (0, 0)]),
        (
            '<rect id="front" x="1" y="2" width="3" height="4"/>',
            [(1, -6), (4, -6), (4, -2), (1, -2)],
        ),
        (
            '<g id="front" transform="translate(5)"><title/><path d="M0 0H9V9Z"/></g>',
            [(14, -9), (14, 0), (5, 0)],
        ),
        (
            '<g transform="scale(2) translate(1 1)"><path id="front" transform="rotate(90)" '
            'd="M0 0H9V9Z"/></g>',
            [(-16, -20), (2, -20), (2, -2)],
        ),
        (
            '<path id="front" transform="matrix(-1 0 0 1 0 0)" d="M0 0H9V9Z"/>',
            [(0, 0), (-9, 0), (-9, -9)],
        ),
    ],
)
def test_shapes_and_transforms(
    shape: str, outline: list[tuple[float, float]], tmp_path: Path
) -> None:
    svg(tmp_path, shape)
    read = only_piece(tmp_path, FRONT).outline
    assert signed_area(read) > 0
    assert sorted(np.round(read, 9).tolist()) == sorted(map(list, outline))


@pytest.mark.parametrize(
    ("shape", "area"),
    [
        ('<circle id="front" cx="3" r="40"/>', math.pi * 1600),
        ('<ellipse id="front" rx="40" ry="20" transform="rotate(30)"/>', math.pi * 800),
        ('<rect id="front" width="40" height="20" rx="5"/>', 800 - (4 - math.pi) * 25),
    ],
)
def test_round_shapes(shape: str, area: float, tmp_path: Path) -> None:
    svg(tmp_path, shape)
    outline = only_piece(tmp_path, FRONT, 'flatten = "0.01 mm"').outline
    assert signed_area(outline) == pytest.approx(area, rel=2e-3)


def test_flatten_holds_in_mm_after_the_transform(tmp_path: Path) -> None:
    """A unit circle blown up to r = 300 mm: chords may sag 0.1 mm, not 30 mm."""
    svg(tmp_path, '<circle id="front" r="1" transform="scale(300)"/>')
    outline = only_piece(tmp_path, FRONT).outline
    middles = (outline + np.roll(outline, -1, axis=0)) / 2
    assert np.hypot(middles[:, 0], middles[:, 1]).min() >= 299.9 - 1e-9


@pytest.mark.parametrize(
    ("body", "problem"),
    [
        (BOX + "<script>alert(1)</script>", "script"),
        (BOX.replace("<path", '<path onclick="x()"'), "script (onclick)"),
        (BOX + '<image href="https://example.org/a.png"/>', "outside itself"),
        (BOX + '<use xmlns:xlink="http://www.w3.org/1999/xlink" xlink:href="b.svg#a"/>', "outside"),
        (BOX.replace("<path", '<path style="fill:url(b.svg#a)"'), "style refers"),
        (BOX + "<style>@import 'a.css';</style>", "style refers"),
        ("<g>" * 200 + BOX + "</g>" * 200, "nested deeper than 200"),
        (BOX + "<g>", "not well-formed SVG (line 1"),
        (BOX + BOX, "two elements have the id 'front'"),
        (BOX + "<style>path { transform: scale(2) }</style>", "style sheet moves"),
        (BOX.replace("<path", '<path transform="rotate(1rad)"'), "transform of <path>"),
        (BOX.replace("<path", '<path transform="matrix(1 2)"'), "lacks numbers"),
        (BOX.replace("<path", '<path transform="scale(0)"'), "shrinks the drawing to nothing"),
        (BOX.replace("<path", '<path style="transform:scale(2)"'), "transform of <path>"),
        ('<text id="front">a</text>', "holds 0 shapes"),
        (f'<g id="front">{BOX.replace("front", "a")}{BOX.replace("front", "b")}</g>', "2 shapes"),
        (f'<svg x="9">{BOX}</svg>', "drawing inside the drawing"),
        ('<rect id="front" width="50%" height="9"/>', "not a plain number"),
        ('<rect id="front" width="0" height="9"/>', "no size"),
        ('<circle id="front"/>', "no size"),
        ('<path id="front" d="M 0 0 L 9 0 L 9 9"/>', "open"),
        ('<path id="fornt" d="M 0 0 L 9 0 L 9 9 Z"/>', "no element with the id 'front'"),
    ],
)
def test_faulty_drawing(body: str, problem: str, tmp_path: Path) -> None:
    svg(tmp_path, body)
    fault = only_fault(tmp_path, HEAD + piece(FRONT))
    assert place(fault).endswith("job.toml: piece 1 (front), drawing")
    assert fault.problem.startswith(f"{tmp_path / 'drawing.svg'}: ")
    assert problem in fault.problem


def test_nearest_id_is_suggested(tmp_path: Path) -> None:
    svg(tmp_path, BOX.replace('"front"', '"fornt"') + '<g id="other"/>')
    assert "Did you mean 'fornt'" in only_fault(tmp_path, HEAD + piece(FRONT)).remedy


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize(
    ("prologue", "problem"),
    [
        ('<!DOCTYPE svg [<!ENTITY a "b">]>', "DOCTYPE declares"),
        ('<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>', "DOCTYPE declares"),
        ('<?xml-stylesheet href="a.css"?>', "style sheet"),
    ],
)
def test_entities_are_never_expanded(
    prologue: str, problem: str, encoding: str, tmp_path: Path
) -> None:
    head = f'<?xml version="1.0" encoding="{encoding}"?>{prologue}'
    text = f'{head}<svg xmlns="http://www.w3.org/2000/svg">{BOX}</svg>'
    (tmp_path / "drawing.svg").write_bytes(text.encode(encoding))
    assert problem in only_fault(tmp_path, HEAD + piece(FRONT)).problem


def test_doctype_that_only_names_the_standard_is_harmless(tmp_path: Path) -> None:
    svg(tmp_path, BOX)
    path = tmp_path / "drawing.svg"
    doctype = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/svg11.dtd">'
    path.write_text(doctype + path.read_text())
    assert extent(tmp_path) == pytest.approx((40, 30))


@pytest.mark.parametrize("fill", ["url(#g)", "url('#g')", "url( &quot;#g&quot; )", "url()", "red"])
def test_references_inside_the_drawing_are_harmless(fill: str, tmp_path: Path) -> None:
    svg(tmp_path, BOX.replace("<path", f'<path style="fill:{fill}"') + '<use href="#front"/>')
    assert extent(tmp_path) == pytest.approx((40, 30))


@pytest.mark.parametrize("text", ["url(" + " " * 10**6, "rotate(1)" + " " * 10**6 + "x"])
def test_long_blanks_do_not_stall_the_screen(text: str, tmp_path: Path) -> None:
    """A pattern that tries every split of the blanks would take days here."""
    svg(tmp_path, BOX.replace("<path", f'<path transform="{text}"'))
    assert "transform" in only_fault(tmp_path, HEAD + piece(FRONT)).problem


def test_huge_drawing(tmp_path: Path) -> None:
    with (tmp_path / "drawing.svg").open("wb") as file:
        file.truncate(6_000_000)
    assert "limit of 5 MB" in only_fault(tmp_path, HEAD + piece(FRONT)).problem


def test_missing_drawing_and_reference_without_id(tmp_path: Path) -> None:
    assert "no such file" in only_fault(tmp_path, HEAD + piece(FRONT)).problem
    fault = only_fault(tmp_path, HEAD + piece('drawing = "drawing.svg"'))
    assert "bodice.svg#front" in fault.remedy


def test_not_a_drawing(tmp_path: Path) -> None:
    (tmp_path / "drawing.svg").write_text("<html/>")
    assert "not an SVG drawing" in only_fault(tmp_path, HEAD + piece(FRONT)).problem
