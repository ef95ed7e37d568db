"""What a person sews by: read back from the cutting sheets that `marker lay` writes."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import pytest

from marker.jobfile.reading import read_job
from marker.pattern.seams.seam_report import seam_reports
from marker.units import cut_length, show_lengths
from tests.cli.commands import job_file, marker
from tests.drawing.pdf_pages import pages_of

PIECES = sorted((Path(__file__).parents[3] / "pieces").glob("*/job.toml"))

APRON = """
name = "choir apron"
size = "38"
sizes = ["38", "42"]
version = "2"
dated = "14 March 2026"
notions = ["cotton tape, 2 yd"]
notes = ["Stay the upper edge with tape."]
order = { "38" = 1, "42" = 1 }
[cloth.linen]
width = "60 in"
colour = "dark red"
shrinkage = { cut = "after washing", percent = { along = 5, across = 3 } }
stretch = { crossgrain = "5 in" }
[cloth.lining]
width = "44 in"
[[piece]]
name = "front"
cloth = "linen"
line = "stitching line"
allowance = "1/2 in"
points = [["0 in", "0 in"], ["10 in", "0 in"], ["10 in", "15 in"], ["0 in", "15 in"]]
edges = { hem = [1, 2], side = [2, 3], top = [3, 4] }
hems = { hem = { kind = "turned twice", depth = "1 in" } }
allowances = { top = "1/4 in" }
cut = 2
pair = true
[[piece]]
name = "back"
cloth = "linen"
line = "stitching line"
allowance = "1/2 in"
points = [["0 in", "0 in"], ["10 in", "0 in"], ["10 in", "15 1/4 in"], ["0 in", "15 1/4 in"]]
edges = { side = [2, 3] }
[[piece]]
name = "front lining"
cloth = "lining"
points = [["0 in", "0 in"], ["10 in", "0 in"], ["10 in", "15 in"], ["0 in", "15 in"]]
edges = { side = [2, 3], middle = [4, 1] }
[[strip]]
name = "tie"
cloth = "linen"
width = "2 in"
length = "20 in"
[[seam]]
name = "side"
sides = ["front.side", { edges = ["back.side"], ease = "1/4 in" }]
[[seam]]
name = "lining middle"
sides = ["front lining.middle", "front lining.side"]
"""


def read(path: Path) -> str:
    """All the text of a PDF, blanks drawn together."""
    pages = pages_of(path.read_bytes())
    return " ".join(" ".join(page.extract_text() for page in pages).split())


@cache
def sheets(*options: str) -> dict[str, str]:
    """The cutting sheets of the apron, by cloth."""
    folder = Path(mkdtemp())
    result = marker("lay", job_file(folder, APRON), "--iterations", 0, "--out", folder, *options)
    assert result.exit_code == 0, result.output
    return {
        "linen": read(folder / "cutting-sheet.pdf"),
        "lining": read(folder / "lining-cutting-sheet.pdf"),
    }


@pytest.mark.parametrize(
    "said",
    [
        "pattern version 2, 14 March 2026", "linen", "dark red", "staple a swatch",
        "Wash and dry the cloth first", "unrolled for a day", "1 pair",
        "seam allowance 1/2 in, unless another is listed",
        "hem 1 3/8 in, turned twice, 3/8 in of it under",
        "top 1/4 in", "front.side to back.side", "38: 15 in, 42: 15 in", "back eased in by 1/4 in",
        "cotton tape, 2 yd", "Stay the upper edge", "cut-proof glove", "EN 14682",
        "share of the cloth used",
    ],
)  # fmt: skip
def test_the_sheet_of_the_main_cloth_is_one_to_sew_by(said: str) -> None:
    """By hand: the hem is 1 in deep, and what is turned under is 10 mm, 3/8 in."""
    assert said in sheets()["linen"]


def test_a_seam_stands_on_the_sheet_of_the_first_cloth_that_it_joins() -> None:
    linen, lining = sheets()["linen"], sheets()["lining"]
    assert "lining middle" in lining
    assert "lining middle" not in linen
    assert "front.side to" not in lining
    assert "unrolled for a day" not in lining
    assert "EN 14682" not in lining


def test_efficiency_and_bounds_are_for_a_cutting_room() -> None:
    sewing, room = sheets()["linen"], sheets("--for", "cutting room")["linen"]
    assert "marker efficiency" in room
    assert "no layout is shorter than" in room or "proven shortest" in room
    assert "marker efficiency" not in sewing
    assert "shorter than" not in sewing
    assert "proven" not in sewing


def test_another_reader_is_refused_by_name(tmp_path: Path) -> None:
    result = marker("lay", job_file(tmp_path, APRON), "--for", "cutting rom")
    assert result.exit_code == 2
    assert "cutting room" in result.stderr


@pytest.mark.parametrize("path", PIECES, ids=lambda path: path.parent.name)
def test_every_garment_has_its_seams_on_one_of_its_sheets(path: Path, tmp_path: Path) -> None:
    result = marker("lay", path, "--iterations", 0, "--out", tmp_path)
    assert result.exit_code == 0, result.output
    said = " ".join(read(sheet) for sheet in tmp_path.glob("*cutting-sheet.pdf"))
    job = read_job(path)
    with show_lengths(job.show):
        for report in seam_reports(job.pattern):
            length = cut_length(report.sides[report.measure].sewn_mm)
            assert f"{report.seam.name} {length} · " in said
    for piece in job.pattern.pieces:
        assert piece.name in said


@pytest.mark.parametrize(
    ("notion", "may_tie"),
    [("Cord, 60 cm", True), ("2 drawstrings", True), ("satin ribbon", True),
     ("cotton tape, 2 yd", False), ("corduroy patches", False), ("5 buttons", False)],
)  # fmt: skip
def test_a_cord_among_the_notions_brings_the_caution(notion: str, may_tie: bool) -> None:
    job = read_job(PIECES[0])
    job = replace(job, making=replace(job.making, notions=("thread", notion)))
    assert job.making.has_cords == may_tie
