"""Each fault of a job file is named with its place and its remedy, in plain words."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from marker.errors import FaultyInput
from marker.files.digest import digest
from marker.jobfile.reading import read_job
from tests.jobfile.writer import HEAD, SQUARE, faults, only_fault, piece, place, strip

WIDTH = "cloth.jersey, width"
NECKED = piece(SQUARE, "edges = { neck = [1, 2] }")

# what is wrong: job text, place (after the file), words of the problem, words of the remedy
FAULTY: dict[str, tuple[str, str, str, str]] = {
    "no name": (HEAD.replace("name", "#") + NECKED, "name", "missing", "Add"),
    "empty name": (HEAD.replace("choir dress", " ") + NECKED, "name", "empty", "name"),
    "long name": (HEAD.replace("choir", "c" * 60) + NECKED, "name", "66 char", "at most 60"),
    "dotted piece": (HEAD + piece(SQUARE, name="a.b"), "piece 1 (a.b), name", "'.'", "dots"),
    "slashed name": (HEAD.replace("choir ", "../") + NECKED, "name", "'/'", "slashes"),
    "control name": (HEAD.replace("choir", "\\u0007") + NECKED, "name", "x07", "control"),
    "unknown top key": (HEAD + '[[peice]]\nname="a"' + NECKED, "peice", "unknown", "'piece'"),
    "unknown piece key": (
        HEAD + piece(SQUARE, "alowance = 3"), "piece 1 (front), alowance", "unknown", "'allowance'"
    ),
    "unknown cloth key": (
        HEAD.replace("150 cm\"", '150 cm", widht = 3') + NECKED,
        "cloth.jersey, widht", "unknown", "'width'",
    ),
    "unknown inner key": (
        HEAD + piece(SQUARE, "notches = [{ egde = 'a', edge = 'a', at = 1 }]"),
        "piece 1 (front), notches[1].egde", "unknown", "'edge'",
    ),
    "unknown key of a hem": (
        HEAD + piece(SQUARE, "edges = { a = [1, 2] }",
                     "hems = { a = { kind = 'turned once', dept = '1 cm' } }"),
        "piece 1 (front), hems.a.dept", "unknown", "'depth'",
    ),
    "unknown key of a shape": (
        HEAD + piece("shape = { kind = 'rectangle', width = 9, height = 9, hight = 9 }"),
        "piece 1 (front), shape.rectangle.hight", "unknown", "'height'",
    ),
    "unknown key of a side": (
        HEAD + NECKED + "[[seam]]\nname = 's'\nsides = ['front.neck', "
        "{ edges = ['front.neck'], esae = 9 }]",
        "seam 1 (s), sides[2].esae", "unknown", "'ease'",
    ),
    "unknown key of a repeat": (
        HEAD.replace('150 cm"', '150 cm", repeat = { along = { every = 90, evn = true } }')
        + NECKED,
        "cloth.jersey, repeat.along.evn", "unknown", "'even'",
    ),
    "unknown key of a match's place": (
        HEAD + NECKED + "[[match]]\nname = 'm'\npoints = [{ place = 'front.neck at start', "
        "insde = 9 }]",
        "match 1 (m), points[1].insde", "unknown", "'inside'",
    ),
    "not a list of tables": (HEAD + "[piece]\nname = 'a'", "piece", "list of tables", "[[piece]]"),
    "zero pieces": (HEAD, "", "no piece", "[[piece]]"),
    "empty pieces": (HEAD + "piece = []", "", "no piece", "[[piece]]"),
    "thick cloth": (
        HEAD.replace('150 cm"', '150 cm", thickness = "12 cm"') + NECKED,
        "cloth.jersey, thickness", "more than 10 cm", "unit",
    ),
    "no cloth": (HEAD.replace("cloth.jersey", "#") + NECKED, "cloth", "missing", "Add"),
    "empty order": (HEAD.replace('"38" = 1 ', "") + NECKED, "order", "0 entries", "at least 1"),
    "a price below zero": (
        HEAD.replace('"150 cm"', '"150 cm", price = { amount = -3, per = "1 m", currency = "EUR" }')
        + NECKED, "cloth.jersey, price.amount", "too small", "Give 0 or more",
    ),
    "zero garments": (HEAD.replace("= 1 }", "= 0 }") + NECKED, "order.38", "small", "1 or more"),
    "half a garment": (HEAD.replace("= 1 }", "= 1.5 }") + NECKED, "order.38", "whole", "2"),
    "other size": (
        HEAD.replace('"38" = 1', '"38" = 1, "40" = 1') + NECKED, "order.40", "'38' only", "'38'"
    ),
    "huge order": (HEAD.replace("= 1 }", "= 2001 }") + NECKED, "order", "2001", "several jobs"),
    "unknown unit": (HEAD.replace("150 cm", "150 cn") + NECKED, WIDTH, "'cn'", "cm"),
    "unknown units": (HEAD.replace('"mm"', '"elle"') + NECKED, "units", "'elle'", "mm, cm"),
    "half an inch": (HEAD.replace('"mm"', '"1/2 in"') + NECKED, "units", "not a unit", "mm, cm"),
    "no units": (
        HEAD.replace("units", "#") + piece(SQUARE),
        "piece 1 (front), points[1][1]", "no unit (and 7 more", "units =",
    ),
    "path without units": (
        HEAD.replace("units", "#") + piece('path = "M 0 0 L 9 0 9 9 Z"'),
        "piece 1 (front), path", "no unit", "units =",
    ),
    "negative width": (
        HEAD.replace("150", "-150") + NECKED, WIDTH, "below zero", "at least"
    ),
    "zero width": (HEAD.replace("150", "0") + NECKED, WIDTH, "zero", "at least"),
    "absurd width": (HEAD.replace("150 cm", "15 m") + NECKED, WIDTH, "more than 10 m", "unit"),
    "a width in inches": (
        HEAD.replace("150 cm", "4500 in") + NECKED, WIDTH, "more than 393.7 in", "393.7 in"
    ),
    "a width in feet": (HEAD.replace("150 cm", "45 ft") + NECKED, WIDTH, "than 32.8 ft", "32.8 ft"),
    "a width below zero in eighths": (
        HEAD.replace("150 cm", "-5/8 in") + NECKED, WIDTH, "below zero", "at least"
    ),
    "a width without a unit": (
        HEAD.replace("150 cm", "45") + NECKED, WIDTH, "no unit in '45'", "Units are mm, cm"
    ),
    "endless width": (
        HEAD.replace("150 cm", "15000 m") + NECKED, WIDTH, "kilometre", "units"
    ),
    "decimal comma": (
        HEAD.replace("150 cm", "1,5 m") + NECKED, WIDTH, "decimal comma", "Decimals take a point"
    ),
    "width of words": (
        HEAD.replace("150 cm", "9" * 5000) + NECKED, WIDTH, "too long", "1.5 m"
    ),
    "true width": (HEAD.replace('"150 cm"', "true") + NECKED, WIDTH, "length", "cm"),
    "NaN": (HEAD.replace('"150 cm"', "nan") + NECKED, WIDTH, "nan", "finite"),
    "infinite": (HEAD + piece(SQUARE, "grain = inf"), "piece 1 (front), grain", "finite", "finite"),
    "nothing usable": (
        HEAD.replace('150 cm"', '150 cm", selvage = "75 cm"') + NECKED,
        "cloth.jersey, selvage", "leave nothing", "half the width",
    ),
    "unknown nap": (
        HEAD.replace('150 cm"', '150 cm", nap = "oneway"') + NECKED,
        "cloth.jersey, nap", "'oneway'", "'one way'",
    ),
    "twice": (
        HEAD + NECKED + strip("length = 9", name="front"),
        "strip 1 (front), name", "2 pieces or strips are called 'front'", "own",
    ),
    "unknown cloth": (
        HEAD + piece(SQUARE, 'cloth = "jresey"'), "piece 1 (front), cloth", "'jresey'", "'jersey'"
    ),
    "shrinking on the gauge": (
        HEAD.replace('150 cm"', '150 cm", stretch = { crossgrain = "3 in" }') + NECKED,
        "cloth.jersey, stretch.crossgrain", "cannot stretch to 76.2 mm", "reaches",
    ),
    "unknown gauge direction": (
        HEAD.replace('150 cm"', '150 cm", stretch = { crosgrain = "5 in" }') + NECKED,
        "cloth.jersey, stretch.crosgrain", "unknown", "'crossgrain'",
    ),
    "a girth of nothing": (
        HEAD + NECKED + "[[girth]]\nname = 'bust'\nedges = ['front.side']\nbody = 9",
        "girth 1 (bust), edges[1]", "'side'", "'neck'",
    ),
    "odd pair": (HEAD + piece(SQUARE, "pair = true"), "piece 1 (front), cut", "1 times", "even"),
    "cut nothing": (HEAD + piece(SQUARE, "cut = 0"), "piece 1 (front), cut", "small", "1 or more"),
    "text for a number": (HEAD + piece(SQUARE, "cut = '2'"), "piece 1 (front), cut", "whole", "2"),
    "turn of 360": (
        HEAD + piece(SQUARE, "turns = [0, 360]"), "piece 1 (front), turns[2]", "large", "below 360"
    ),
    "negative turn": (
        HEAD + piece(SQUARE, "turns = [-90]"), "piece 1 (front), turns[1]", "small", "0"
    ),
    "no turn": (HEAD + piece(SQUARE, "turns = []"), "piece 1 (front), turns", "few", "1"),
    "no outline": (HEAD + piece(), "piece 1 (front)", "no outline", "exactly one"),
    "two outlines": (
        HEAD + piece(SQUARE, 'path = "M 0 0"'), "piece 1 (front)", "path, points", "exactly one"
    ),
    "a unit without a drawing": (
        HEAD + piece(SQUARE, 'drawing_unit = "mm"'), "piece 1 (front), drawing_unit", "draw", "out"
    ),
}  # fmt: skip


@pytest.mark.parametrize("wrong", FAULTY)
def test_fault_has_place_problem_and_remedy(wrong: str, tmp_path: Path) -> None:
    text, key, problem, remedy = FAULTY[wrong]
    fault = only_fault(tmp_path, text)
    file = str(tmp_path / "job.toml")
    assert place(fault) == (f"{file}: {key}" if key else file)
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_every_fault_is_found_at_once(tmp_path: Path) -> None:
    text = HEAD.replace("150", "-1") + piece("cut = 0", SQUARE) + piece(name="back") + strip()
    places = [fault.place.split(": ")[1] for fault in faults(tmp_path, text)]
    assert places == [
        WIDTH, "piece 1 (front), cut", "piece 2 (back)", "strip 1 (binding)"
    ]  # fmt: skip


def test_what_a_lay_is_held_against(tmp_path: Path) -> None:
    """Thickness and reach; with neither the job is the same to whatever is made from it."""
    path = tmp_path / "job.toml"
    path.write_text(HEAD + NECKED, encoding="utf-8")
    plain = read_job(path)
    thick = HEAD.replace('150 cm"', '150 cm", thickness = "0.6 mm"')
    path.write_text('blade_reach = "4 in"' + thick + NECKED, encoding="utf-8")
    job = read_job(path)
    assert job.blade_reach_mm == pytest.approx(101.6)
    assert job.cloths[0].thickness_mm == 0.6
    assert (plain.blade_reach_mm, plain.cloths[0].thickness_mm) == (None, None)
    assert digest(job) == digest(plain)


def test_a_cloth_that_no_piece_uses_is_allowed(tmp_path: Path) -> None:
    text = HEAD + 'cloth.lining = { width = "90 cm" }' + NECKED
    path = tmp_path / "job.toml"
    path.write_text(text)
    assert [cloth.name for cloth in read_job(path).cloths] == ["jersey", "lining"]


def fault_of_file(path: Path) -> str:
    with pytest.raises(FaultyInput) as raised:
        read_job(path)
    (fault,) = raised.value.faults
    assert place(fault) == str(path)
    assert fault.remedy
    return fault.problem


def test_missing_file(tmp_path: Path) -> None:
    assert "no such file" in fault_of_file(tmp_path / "job.toml")


def test_folder_instead_of_a_file(tmp_path: Path) -> None:
    assert "folder" in fault_of_file(tmp_path)


def test_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_: Path) -> bytes:  # permissions alone would not stop a test run as root
        raise PermissionError(errno.EACCES, "Permission denied")

    path = tmp_path / "job.toml"
    path.write_text(HEAD)
    monkeypatch.setattr(Path, "read_bytes", refuse)
    assert "can't be read (Permission denied)" in fault_of_file(path)


def test_special_file(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "job.toml")
    assert "ordinary" in fault_of_file(tmp_path / "job.toml")


def test_huge_file_is_refused_by_its_size(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)  # sparse: reading it would be the slow part
    assert "50.0 MB, more than the limit of 5 MB" in fault_of_file(path)


def test_not_utf8(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b'size = "38"\nname = "\xff"')
    assert "not UTF-8 text (line 2)" in fault_of_file(path)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('name = "a"\nsize = = 3', "line 2, column 8"),
        ('name = "a', "line 1: a quotation mark is missing at the end"),
        ("cut = " + "9" * 5000, "can't be a job file"),
        ("a = " + "[" * 100_000, "can't be a job file"),
    ],
)
def test_broken_toml(text: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(text)
    assert words in fault_of_file(path)


def test_a_name_given_twice_is_told_alone(tmp_path: Path) -> None:
    seam = "\n[[seam]]\nname = 's'\nsides = ['front.neck', 'front.hem']\n"
    text = HEAD + NECKED + piece(SQUARE, "edges = { hem = [1, 2] }") + seam
    fault = only_fault(tmp_path, text + strip("length = 9", name="front").replace("front", "tie"))
    assert place(fault) == f"{tmp_path / 'job.toml'}: piece 2 (front), name"
    assert "2 pieces" in fault.problem


@pytest.mark.parametrize(
    ("name", "content", "problem", "remedy"),
    [
        ("layout.json", b'{"format": 1, "job": "a/../own.toml"}', "a layout, not", "own.toml"),
        ("layout.json", b"{", "a JSON file, not a job", "job.toml"),
        ("skirt.pdf", b"%PDF-1.7\n", "a drawing (PDF)", "marker import skirt.pdf"),
        ("skirt.svg", b'<?xml version="1.0"?>\n<svg/>', "a drawing (SVG)", "marker import"),
        ("skirt.dxf", b"  0\r\nSECTION\r\n  2\r\nHEADER", "a drawing (DXF)", "marker import"),
        ("skirt.dxf", b"999\nnote\n0\nSECTION\n", "a drawing (DXF)", "marker import"),
        ("skirt.png", b"\x89PNG\r\n", "a picture", "job.toml"),
    ],
)
def test_a_file_given_for_a_job_is_named(
    name: str, content: bytes, problem: str, remedy: str, tmp_path: Path
) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(FaultyInput) as raised:
        read_job(tmp_path / name)
    (fault,) = raised.value.faults
    assert problem in fault.problem
    assert remedy in fault.remedy
