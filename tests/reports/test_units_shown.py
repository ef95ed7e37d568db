"""Reports lead with the units of the job."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.commands import job_file, marker
from tests.drawing.pdf_pages import pages_of
from tests.jobfile.writer import HEAD, SQUARE, piece, strip


@pytest.mark.parametrize(
    ("show", "unit", "cells"),
    [
        ("imperial", "inches", (r"strip\b.* 100", r"  joined from 2 parts of +50 3/8$")),
        ("metric", "cm", (r"strip\b.* 254\.0", r"  joined from 2 parts of +128\.0$")),
        ("both", r"cm \(inches\)", (r" 254\.0 \(100\)", r" 128\.0 \(50 3/8\)$")),
    ],
)
def test_check_says_lengths_in_the_units_the_job_shows(
    tmp_path: Path, show: str, unit: str, cells: tuple[str, ...]
) -> None:
    """100 in and one straight join of two allowances of 1 cm: 2 × 128.0 cm (50 3/8 in)."""
    text = f'show = "{show}"\n' + HEAD + piece(SQUARE) + strip("length = '100 in'")
    said = marker("check", job_file(tmp_path, text)).stdout
    assert re.search(rf"Strips, length in {unit}:", said)
    for cell in cells:
        assert re.search(cell.replace("strip", "binding"), said, re.MULTILINE), said
    note = "50 3/8 in each" if show == "imperial" else "1.28 m each"
    assert f"joined from 2 parts, {note}" in said


INCHES = """
name = "choir apron"
size = "38"
show = "SHOW"
order = { "38" = 2 }
[cloth.linen]
width = "60 in"
selvage = "1/2 in"
end_allowance = "1 in"
gap = "1/8 in"
sold_by = "1/8 yd"
have = "2 yd"
price = { amount = 9, per = "1 yd", currency = "EUR" }
shrinkage = { cut = "after washing", percent = { along = 5, across = 0 } }
[[piece]]
name = "front"
line = "stitching line"
allowance = "1/2 in"
points = [["0 in", "0 in"], ["10 in", "0 in"], ["10 in", "15 in"], ["0 in", "15 in"]]
edges = { side = [2, 3] }
notches = [{ edge = "side", at = "3 in" }]
[[piece]]
name = "back"
line = "stitching line"
allowance = "1/2 in"
points = [["0 in", "0 in"], ["10 in", "0 in"], ["10 in", "16 in"], ["0 in", "16 in"]]
edges = { side = [2, 3] }
[[opening]]
name = "top"
edges = ["front.side"]
closed = false
[[strip]]
name = "band"
finished_width = "1/2 in"
fold = "double"
ratio = 0.9
finishes = "top"
[[seam]]
name = "side"
sides = ["front.side", "back.side"]
"""
METRIC = re.compile(r"\d ?(?:mm|cm|m)\b(?! in the drawing)|\d (?:mm|cm|m)²")
IMPERIAL = re.compile(r"\d ?(?:in|yd|ft)\b")
COMMANDS = [
    ("check", "JOB"), ("lay", "JOB", "--iterations", "0", "--out", "OUT"), ("bands", "JOB"),
    ("judge", "OUT/layout.json"), ("layouts", "JOB", "--out", "OUT"),
    ("move", "OUT/layout.json", "1", "--turn"),
    ("print", "OUT/layout.json", "--paper", "roll:36in"),
    ("buy", "JOB", "--widths", "44in,60in", "--iterations", "0"),
    ("shortage", "JOB", "--have", "30 in", "--seconds", "1"),
]  # fmt: skip


@pytest.fixture(scope="module", params=["metric", "imperial"])
def said(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """What every command says of one job, all its lines, and the texts of its sheets."""
    folder = tmp_path_factory.mktemp(request.param)
    job = job_file(folder, INCHES.replace("SHOW", request.param))
    places = {"JOB": str(job), "OUT": str(folder / "out")}
    lines = [request.param]
    for words in COMMANDS:
        given = [re.sub("JOB|OUT", lambda each: places[each[0]], word) for word in words]
        done = marker(*given)
        assert done.exit_code in (0, 1), done.output
        lines += [f"{words[0]}: {line}" for line in done.output.splitlines()]
    for drawing in ("cutting-sheet.pdf", "diagram.pdf"):
        for page in pages_of((folder / "out" / drawing).read_bytes()):
            lines += [f"{drawing}: {line}" for line in page.extract_text().splitlines()]
    return lines


def test_every_command_and_sheet_leads_with_the_units_of_the_job_alone(said: list[str]) -> None:
    shown, *lines = said
    other = METRIC if shown == "imperial" else IMPERIAL
    # a square of the other system is printed to be measured by, and folders have names
    lines = [re.sub(r"\S*/\S+|10 cm and 1 in", "", each) for each in lines if "wrote" not in each]
    assert [line for line in lines if other.search(line)] == []
    own = IMPERIAL if shown == "imperial" else METRIC
    assert sum(bool(own.search(line)) for line in lines) > 30


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('at = "3 in"', 'at = "20 in"', "20 in is beyond the end"),
        ('selvage = "1/2 in"', 'selvage = "30 in"', "leave nothing of 60 in"),
        ('have = "2 yd"', 'have = "2 in"', "leave nothing of 2 in"),
    ],
)
def test_faults_of_a_job_lead_with_its_units(tmp_path: Path, old: str, new: str, said: str) -> None:
    text = INCHES.replace("SHOW", "imperial").replace(old, new)
    assert said in marker("check", job_file(tmp_path, text)).output
