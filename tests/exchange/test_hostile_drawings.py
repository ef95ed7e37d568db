"""Drawings made to stall or swell a reader end in a clear fault, soon and small.

Limits of time here are generous, since other tests run beside these; what stops each file is a
count, named in its message. Memory is measured in a process of its own.
"""

from __future__ import annotations

import math
import subprocess
import sys
import time
from io import StringIO
from pathlib import Path

import pytest
from ezdxf.filemanagement import new

from marker.errors import FaultyInput
from marker.exchange.importing import import_drawings
from marker.files.faults import Unusable
from marker.jobfile.writing import job_files

MOST_SECONDS = 60.0
"""Of processor time. What is read again and again takes hours, and a small machine is slow."""

MOST_KB = 1_000_000
HEAD = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n"
SQUARE = "M 0 0 H 90 V 90 Z"


def dxf(entities: str, blocks: str = "") -> str:
    return (
        f"{HEAD}0\nSECTION\n2\nBLOCKS\n{blocks}0\nENDSEC\n"
        f"0\nSECTION\n2\nENTITIES\n{entities}0\nENDSEC\n0\nEOF\n"
    )


def polyline(*points: tuple[object, object]) -> str:
    vertices = "".join(f"0\nVERTEX\n8\ncut\n10\n{x}\n20\n{y}\n" for x, y in points)
    return f"0\nPOLYLINE\n8\ncut\n66\n1\n70\n1\n{vertices}0\nSEQEND\n8\ncut\n"


def block(name: str, inside: str) -> str:
    return f"0\nBLOCK\n8\n0\n2\n{name}\n70\n0\n10\n0\n20\n0\n{inside}0\nENDBLK\n"


def insert(name: str, more: str = "") -> str:
    return f"0\nINSERT\n8\n0\n2\n{name}\n10\n0\n20\n0\n{more}"


def spline(degree: int, count: int, far: float = 1.0) -> str:
    """A file of one spline; release 12 has none."""
    document = new("R2000", units=4)
    points = [(far * (k % 7), far * (k % 5)) for k in range(count)]
    document.modelspace().add_open_spline(points, degree=degree)
    stream = StringIO()
    document.write(stream)
    return stream.getvalue()


def svg(body: str) -> str:
    size = 'width="500mm" height="500mm" viewBox="0 0 500 500"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{body}</svg>'


DXF_BOMB = "".join(block(f"B{k}", insert(f"B{k + 1}") * 20) for k in range(7)) + block(
    "B7", polyline((0, 0), (90, 0), (90, 90))
)
SVG_BOMB = (
    "".join(f'<g id="u{k}">{f"""<use href="#u{k + 1}"/>""" * 20}</g>' for k in range(8))
    + f'<path id="u8" d="{SQUARE}"/>'
)
SQUARE_PIECE = polyline((0, 0), (90, 0), (90, 90)).replace("\n8\ncut", "\n8\n1")
HOSTILE: dict[str, tuple[str, str, str]] = {
    "cut short": ("dxf", dxf(polyline((0, 0), (90, 0), (90, 90)))[:-12], "ends in the middle"),
    "no DXF": ("dxf", "<svg/>", "not DXF"),
    "binary DXF": ("dxf", "AutoCAD Binary DXF\r\n", "binary DXF"),
    "broken tags": ("dxf", dxf("0\nLINE\n8\ncut\n10\nhere\n").replace("10\nhere", "x\ny"), ""),
    "not numbers": ("dxf", dxf(polyline(("nan", 0), ("inf", 0), (3, 3))), "no places"),
    "far away": ("dxf", dxf(polyline((0, 0), (1e300, 0), (9, 1e300))), "absurdly far away"),
    "blocks in rows": (
        "dxf",
        dxf(
            insert("A", "70\n30000\n71\n30000\n44\n1\n45\n1\n"),
            block("A", polyline((0, 0), (90, 0), (90, 90))),
        ),
        "more than 5000 entities",
    ),
    "block of itself": (
        "dxf", dxf(insert("A"), block("A", insert("A") * 2)), "inserted in one another too deep"
    ),
    "too much": ("dxf", dxf("0\nPOINT\n8\ncut\n10\n0\n20\n0\n" * 120_001), "more than 120000"),
    "endless spline": ("dxf", spline(3, 1900, 1e5), "endless"),
    "spline of high degree": ("dxf", spline(500, 1000), "degree 500"),
    "far spline": ("dxf", spline(3, 9, 1e200), "far away"),
    "elements in elements": ("svg", svg("<g>" * 250 + "</g>" * 250), "nested deeper than 200"),
    "name with braces": ("svg", svg("").replace("2000/svg", "2{}/svg"), "not well-formed SVG"),
    "entities": (
        "svg", '<!DOCTYPE svg [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]>' + svg("&b;"), "DOCTYPE"
    ),
    "use of use": ("svg", svg(f'<defs>{SVG_BOMB}</defs><use href="#u0"/>'), "5000 lines"),
    "use of itself": (
        "svg", svg('<g id="a"><use href="#a"/><use href="#a"/></g>'), "repeat themselves"
    ),
    "too many rules": (
        "svg",
        svg("<style>" + "".join(f".a{k}{{fill:red}}" for k in range(1_000)) + "</style>"
            + '<g class="a1"/>' * 1000),
        "too many rules",
    ),
    "too many texts": ("svg", svg("<text>a</text>" * 6000), "5000 texts"),
    "too many contours": (
        "svg", svg("".join(f'<path d="{SQUARE}" transform="translate({k})"/>' for k in range(600))),
        "more than 500"
    ),
    "endless path": ("svg", svg(f'<path d="{"M0 0H9V9Z " * 200_000}"/>'), "20000 points"),
    "too many pieces": (
        "dxf", dxf("", "".join(block(f"P{k}", SQUARE_PIECE) for k in range(1_001))), "1000 pieces"
    ),
    "classes and rules": (
        "svg",
        svg("<style>" + "".join(f".a{k}{{fill:red}}" for k in range(400)) + "</style>"
            + f'<g class="{" ".join(f"a{k}" for k in range(400))}"/>' * 1200),
        "no closed outline",
    ),
    "nothing drawn": ("svg", svg(""), "no closed outline"),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_drawing_ends_in_a_clear_fault(name: str, tmp_path: Path) -> None:
    kind, text, problem = HOSTILE[name]
    path = tmp_path / f"hostile.{kind}"
    path.write_text(text)
    started = time.process_time()
    with pytest.raises(FaultyInput) as raised:
        import_drawings([path])
    assert time.process_time() - started < MOST_SECONDS
    (fault,) = raised.value.faults
    assert str(path) in fault.place
    assert problem in fault.problem
    assert fault.remedy


def test_a_bomb_needs_little_memory(tmp_path: Path) -> None:
    """Measured in a process of its own, which nothing else has swollen. Nor does it print what is
    mended on the way: two inserts of one handle."""
    path = tmp_path / "bomb.dxf"
    path.write_text(dxf(insert("B0", "5\nA\n") * 2, DXF_BOMB))
    code = rf"""
import pathlib, re, resource
from marker.errors import FaultyInput
from marker.files.faults import Unusable
from marker.exchange.importing import import_drawings
from marker.jobfile.writing import job_files
try:
    import_drawings([pathlib.Path({str(path)!r})])
except FaultyInput as error:
    assert "more than 5000 entities" in str(error)
    own = pathlib.Path("/proc/self/status")  # getrusage counts what the parent held, too
    peak = re.search(r"VmHWM:\s+(\d+)", own.read_text()) if own.exists() else None
    print(peak[1] if peak else resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=600
    )
    assert 0 < int(done.stdout) < MOST_KB
    assert done.stderr == ""


BLANKS = " " * 100_000
LONG = {
    "blanks first": ("dxf", f"0\nTEXT\n8\n1\n10\n0\n20\n0\n1\n{BLANKS}x\n"),
    "blanks within": ("dxf", f"0\nTEXT\n8\n1\n10\n0\n20\n0\n1\nSize:x{BLANKS}x\n"),
    "digits": ("dxf", f"0\nLINE\n8\n{'1' * 100_000}x\n10\n0\n20\n0\n11\n5\n21\n5\n"),
    "comments": ("svg", f"<style>{'/*' * 200_000}</style>"),
    "selectors": ("svg", f"<style>{'a' * 400_000}</style>"),
    "layer": ("svg", f'<g id="{"1" * 100_000}x"><path d="M 0 0 H 9"/></g>'),
}


@pytest.mark.parametrize("name", LONG)
def test_a_long_word_is_read_in_one_pass(name: str, tmp_path: Path) -> None:
    """Patterns that try each place anew would take minutes over these."""
    kind, odd = LONG[name]
    path = tmp_path / f"long.{kind}"
    square = f'<path d="{SQUARE}"/>'
    path.write_text(svg(odd + square) if kind == "svg" else dxf(odd, block("P", SQUARE_PIECE)))
    started = time.process_time()
    assert len(import_drawings([path]).pieces) == 1
    assert time.process_time() - started < MOST_SECONDS


def test_a_line_of_too_many_points_is_no_piece(tmp_path: Path) -> None:
    """Two lines of 5,000 points each, which would be compared point by point."""
    rings = ""
    for layer, radius in (("1", 210), ("14", 200)):
        points = [(radius * math.cos(k / 800), radius * math.sin(k / 800)) for k in range(5026)]
        rings += polyline(*points).replace("\n8\ncut", f"\n8\n{layer}")
    path = tmp_path / "ring.dxf"
    path.write_text(dxf("", block("P", rings)))
    with pytest.raises(Unusable, match="its line has 5026 points, more than 4000"):
        job_files(import_drawings([path]), [])


@pytest.mark.parametrize("name", ["pattern.doc", "pattern"])
def test_other_kinds_of_files_are_named_as_such(name: str, tmp_path: Path) -> None:
    with pytest.raises(FaultyInput, match="this kind of file is not read"):
        import_drawings([tmp_path / name])


def test_every_file_has_its_fault(tmp_path: Path) -> None:
    with pytest.raises(FaultyInput) as raised:
        import_drawings([tmp_path / "a.svg", tmp_path / "b.dxf"])
    assert [fault.problem for fault in raised.value.faults] == ["there is no such file"] * 2
