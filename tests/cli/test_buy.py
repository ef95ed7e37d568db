"""`marker buy` on panels whose lengths are plain arithmetic."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import TWO_PIECES, interrupted, job_file, marker
from tests.jobfile.writer import HEAD, piece

PANEL = "points = [[0, 0], [400, 0], [400, 600], [0, 600]]"  # its grain along the 600
CREPE = """
[cloth.crepe]
width = "90 cm"
selvage = "1 cm"
end_allowance = "2 cm"
price = { amount = 10, per = "1 m", currency = "EUR" }
[cloth.crepe.shrinkage]
cut = "after washing"
test_square = { marked = "10 in", along = "9 1/2 in", across = "10 in" }
[cloth.lining]
width = "55 in"
sold_by = "1/8 yd"
price = { amount = 4, per = "1 yd", currency = "EUR" }
"""
JOB = (
    HEAD.replace('cloth.jersey = { width = "150 cm" }', "")
    + CREPE
    + piece(PANEL, 'cloth = "crepe"', "cut = 2", name="panel")
    + piece(PANEL, 'cloth = "lining"', name="lining panel")
)
WIDTH_KEYS = {
    "width_mm", "usable_width_mm", "length_mm", "buy_mm", "cost", "utilisation", "addends",
}  # fmt: skip


def bought(folder: Path, *words: object) -> dict[str, Any]:
    job = job_file(folder, JOB)
    done = marker("buy", job, "--json", "--out", folder / "out", "--iterations", 0, *words)
    assert done.exit_code == 0, done.output
    return dict(json.loads(done.stdout))


@pytest.mark.usefixtures("no_diagrams")
def test_widths_addends_and_totals(tmp_path: Path) -> None:
    """On 60 cm the panels lie end to end, 1200 mm, on 90 cm side by side, 600 mm; + 40 mm of ends,
    ÷ 0.95 for washing, in steps of 10 cm (arithmetic). The lining: 600 mm are 6 eighths of a yard.
    """
    found = bought(tmp_path, "--widths", "90cm=18, 60 cm,30cm")
    narrow, wide = found["widths"]
    assert set(narrow) >= WIDTH_KEYS
    assert [each["width_mm"] for each in found["widths"]] == [600, 900]
    assert [each["usable_width_mm"] for each in found["widths"]] == [580, 880]
    assert narrow["length_mm"] == pytest.approx(1200, abs=0.01)
    assert wide["length_mm"] == pytest.approx(600, abs=0.01)
    assert narrow["addends"]["end_allowance_mm"] == 40
    assert narrow["addends"]["shrinkage_mm"] == pytest.approx(1240 / 0.95 - 1240, abs=0.02)
    assert [narrow["buy_mm"], wide["buy_mm"]] == pytest.approx([1400, 700])
    for each in found["widths"]:
        assert sum(each["addends"].values()) == pytest.approx(each["buy_mm"], abs=0.01)
    assert narrow["short_by_mm"] == pytest.approx(1240 / 0.95 - 1300, abs=0.02)
    assert narrow["utilisation"] == pytest.approx(0.48 / (1.2 * 0.58), abs=1e-4)
    assert [narrow["cost"], wide["cost"]] == [14.0, 12.6]
    assert (found["cheapest"], found["cheapest_by"]) == (1, "cost")
    (left,) = found["left_out"]
    assert left["width_mm"] == 300
    assert "panel needs 40 cm" in left["reason"]
    (lining,) = found["other_cloths"]
    assert (lining["cloth"], lining["buy_text_yards"]) == ("lining", "3/4 yd")
    assert found["totals"] == {"EUR": 15.6}
    assert [Path(path).name for path in found["files"]] == ["buy.svg"]
    assert all(Path(path).exists() for path in found["files"])


@pytest.mark.usefixtures("no_diagrams")
def test_the_usual_widths_unless_told(tmp_path: Path) -> None:
    """90 cm is nearly 36 in, so it stands for it."""
    found = bought(tmp_path)
    inches = [42, 45, 48, 54, 60, 72]
    widths = [each["width_mm"] for each in found["widths"]]
    assert widths == pytest.approx([900, *(25.4 * inch for inch in inches)])


@pytest.mark.usefixtures("no_diagrams")
def test_lines_for_a_person(tmp_path: Path) -> None:
    job = job_file(tmp_path, JOB)
    words = ("--iterations", 0, "--widths", "60cm,90cm,20 cm", "--out", tmp_path / "out")
    done = marker("buy", job, *words)
    assert done.exit_code == 0
    for said in (
        "* 90 cm (35 3/8 in)", "70 cm (3/4 yd)", "7.00 EUR",
        "layout 1.20 m (47 1/4 in) + 40 mm for the two ends + 65 mm lost in washing",
        "one step of 10 cm (3 15/16 in) less would be short by 5 mm (3/16 in)",
        "20 cm (7 7/8 in): not laid. panel needs",
        "Cheapest: 70 cm (3/4 yd) of 90 cm costs least.",
        "All cloths together: 10.00 EUR", "wrote",
    ):  # fmt: skip
        assert said in done.stdout, done.stdout
    assert "crepe 60 cm" in done.stderr
    assert marker("buy", job, *words, "--quiet").stderr == ""


@pytest.mark.usefixtures("no_diagrams")
@pytest.mark.parametrize(
    ("widths", "code", "words"),
    [
        ("60", 2, "marker: --widths '60': no unit"),
        ("60cm=x", 2, "no price"),
        ("20cm,30cm", 1, "can be laid in none of the widths"),
    ],
)
def test_what_cannot_be_bought(widths: str, code: int, words: str, tmp_path: Path) -> None:
    told = marker("buy", job_file(tmp_path, JOB), "--widths", widths, "--out", tmp_path / "out")
    assert told.exit_code == code
    assert words in told.stderr
    assert not (tmp_path / "out").exists()


def test_ctrl_c_keeps_what_was_found(tmp_path: Path) -> None:
    job = job_file(tmp_path, TWO_PIECES.replace("cut = 3", "cut = 10"))
    words = ("--widths", "80cm,90cm", "--seconds", 7200, "--json", "--out", tmp_path / "out")
    found = interrupted("buy", job, *words)
    assert [each["width_mm"] for each in found["widths"]] == [800]
    assert found["left_out"] == [{"width_mm": 900, "reason": "stopped by hand"}]
    written = {path.name for path in (tmp_path / "out").glob("[!.]*")}
    assert written == {"buy.pdf", "buy.svg", "buy.png"}
