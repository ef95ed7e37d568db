"""`marker order JOB`: planned, laid, fed back, drawn, judged."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from marker.units import metric
from tests.cli.commands import job_file, marker

SASHES = """
name = "choir sashes"
units = "mm"
size = "M"
sizes = ["S", "M"]
order = { S = 2, M = 4 }
cloth.jersey = { width = "60 cm", end_allowance = "1 cm", rolls = ["50 cm", "32 cm"] }
[[piece]]
name = "sash"
cut = 2
shape = { kind = "rectangle", width = { by_size = { S = 200, M = 300 } }, height = 100 }
"""
WORDS = ("--max-garments", 3, "--max-plies", 4, "--iterations", 0, "--workers", 1, "--quiet")


def said(pdf: Path) -> str:
    """The words of a PDF."""
    pages = PdfReader(pdf).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """The sashes' order, planned once: its folder, and what --json printed."""
    folder = tmp_path_factory.mktemp("order")
    job = job_file(folder, SASHES)
    done = marker("order", job, *WORDS, "--out", folder / "out", "--json")
    assert done.exit_code == 0, done.output
    return folder, json.loads(done.stdout)


def test_every_garment_is_cut_as_ordered(planned: tuple[Path, dict[str, Any]]) -> None:
    (cloth,) = planned[1]["cloths"]
    cut = {
        size: sum(lay["plies"] * lay["garments"].get(size, 0) for lay in cloth["lays"])
        for size in ("S", "M")
    }
    assert cut == {"S": 2, "M": 4}
    assert cloth["totals"]["garments"] == 6


def test_cloth_is_that_of_the_markers_laid(planned: tuple[Path, dict[str, Any]]) -> None:
    """Grain along the cloth, so the sashes, 100 mm long and 200 or 300 mm wide, lie two or three
    side by side in 600 mm. A marker S + 2 M takes 3 rows of 100 mm (geometry), on 2 plies, each
    with two ends of 10 mm: 2 × 320 mm. By area alone no plan takes less than 600 mm of marker."""
    (cloth,) = planned[1]["cloths"]
    assert cloth["totals"]["cloth_mm"] == sum(lay["plies"] * lay["ply_mm"] for lay in cloth["lays"])
    assert cloth["totals"]["cloth_mm"] == 640
    assert cloth["stable"]


def test_a_diagram_names_its_lay_and_says_what_the_lay_takes(
    planned: tuple[Path, dict[str, Any]],
) -> None:
    folder, facts = planned
    lays = facts["cloths"][0]["lays"]
    for number, lay in enumerate(lays, start=1):
        text = said(folder / "out" / f"marker-{lay['marker']}-diagram.pdf")
        assert f"marker {lay['marker']}, lay {number} of {len(lays)}, {lay['plies']} pl" in text
        assert f"this lay takes {metric(lay['cloth_mm'])}" in text


def test_every_file_is_told_and_there(planned: tuple[Path, dict[str, Any]]) -> None:
    folder, facts = planned
    there = {path.name for path in (folder / "out").iterdir() if not path.name.startswith(".")}
    assert {Path(file).name for file in facts["files"]} == there
    assert {"plan.csv", "lay-1.pdf", "marker-A-layout.json", "marker-A-diagram.pdf"} <= there


def test_tickets_count_the_pieces(planned: tuple[Path, dict[str, Any]]) -> None:
    folder, facts = planned
    (cloth,) = facts["cloths"]
    for lay in cloth["lays"]:
        assert sum(piece["cut"] for piece in lay["pieces"]) == 2 * lay["plies"] * sum(
            lay["garments"].values()
        )
        assert [bundle["pieces"] for bundle in lay["bundles"]] == [{"sash": 2}] * sum(
            lay["garments"].values()
        )
    text = said(folder / "out" / "lay-1.pdf")
    assert f"Bundle tickets: {cloth['lays'][0]['tickets']}" in text
    assert "2 sash" in text


def test_each_ply_has_its_roll(planned: tuple[Path, dict[str, Any]]) -> None:
    """Two plies of 320 mm from rolls of 500 and 320 mm (arithmetic)."""
    (cloth,) = planned[1]["cloths"]
    assert [roll["left_mm"] for roll in cloth["rolls"]["rolls"]] == [180, 0]
    assert cloth["rolls"]["missing"] == []
    runs = [(run["rolls"], run["first"], run["last"]) for run in cloth["lays"][0]["ply_runs"]]
    assert runs == [(["roll 1"], 1, 1), (["roll 2"], 2, 2)]


def test_each_lay_is_judged_again_from_its_file(planned: tuple[Path, dict[str, Any]]) -> None:
    stored = planned[0] / "out" / "marker-A-layout.json"
    assert marker("judge", stored).exit_code == 0
    text = json.loads(stored.read_text())
    text["lay"]["garments"] = {"XS": 1}
    stored.with_name("other.json").write_text(json.dumps(text))
    told = marker("judge", stored.with_name("other.json"))
    assert told.exit_code == 2
    assert "no size 'XS'" in told.stderr


def test_colours_share_a_marker(tmp_path: Path) -> None:
    """S + 2 M in red and in blue: the marker that takes 3 rows of 100 mm, on a ply of either, from
    a roll of its own colour. Blue has none that any marker lies on."""
    by_colour = 'rolls = { blue = ["11 cm"], red = ["50 cm"] }'
    job = job_file(tmp_path, SASHES.replace('rolls = ["50 cm", "32 cm"]', by_colour))
    colours = ("--demand", "red: S=1,M=2", "--demand", "blue: S=1,M=2")
    done = marker("order", job, *WORDS, *colours, "--out", tmp_path / "o", "--json")
    assert done.exit_code == 1, done.output  # as for a cloth that does not suffice
    facts = json.loads(done.stdout)
    (cloth,) = facts["cloths"]
    assert facts["order_by_colour"] == {"red": {"S": 1, "M": 2}, "blue": {"S": 1, "M": 2}}
    assert [lay["plies_by_colour"] for lay in cloth["lays"]] == [{"red": 1, "blue": 1}]
    assert cloth["totals"]["cloth_mm"] == 640
    rolls = [(roll["colour"], roll["left_mm"]) for roll in cloth["rolls"]["rolls"]]
    assert rolls == [("red", 180), ("blue", 110)]
    assert cloth["rolls"]["missing"] == [{"lay": 1, "colour": "blue", "plies": 1}]
    text = said(tmp_path / "o" / "lay-1.pdf")
    assert "Plies by colour 1 red, 1 blue." in text
    assert "no cloth on the rolls" in text


def test_widths_of_rolls_are_compared(tmp_path: Path) -> None:
    """A garment M takes 10 cm of a roll 60 cm wide, 20 cm of one 40 cm wide, and 2 cm of ends."""
    rolls = 'rolls = { red = ["5 m"], blue = [{ length = "5 m", width = "40 cm" }] }'
    job = job_file(tmp_path, SASHES.replace('rolls = ["50 cm", "32 cm"]', rolls))
    words = [*WORDS[:-1], "--max-garments", 1, "--demand", "red: M=2", "--demand", "blue: M=2"]
    done = marker("order", job, *words, "--out", tmp_path / "o")
    assert done.exit_code == 0, done.output
    assert "were compared, before the last search:\n" in done.stdout
    assert "  chosen: 40 cm for blue and 60 cm for red: 68 cm in 2 lays\n" in done.stdout
    assert "    40 cm for red, blue: 88 cm in 1 lay\n" in done.stdout
    assert "jersey 40 cm wide  laid 1 × M: 20 cm" in done.stderr


def test_on_the_fold_two_are_cut_together_and_one_alone(tmp_path: Path) -> None:
    """On 300 mm of folded cloth a sash of S (200 mm wide) takes a row by itself, as does one of M
    (300 mm); either pair is cut at once. Of S + 2 M, two in a marker, one is alone. No marker can
    take less than its rows: 300 mm in all, and two ends of 10 mm for each of two plies."""
    folded = SASHES.replace('rolls = ["50 cm", "32 cm"]', 'spread = "folded lengthwise"')
    words = ("--demand", "S=1,M=2", "--max-plies", 1, "--max-garments", 2)
    job = job_file(tmp_path, folded)
    done = marker("order", job, *WORDS, *words, "--out", tmp_path / "o")
    assert done.exit_code == 0, done.output
    assert "34 cm" in done.stdout
    assert "no plan of these markers takes less than 34 cm; a marker not laid" in done.stdout
    assert "ordered: 1 × S, 2 × M\n" in done.stdout
    assert "2 × M together, folded lengthwise: 20 cm (7 7/8 in) in two" in done.stdout
    assert "alone, folded lengthwise: 10 cm (3 15/16 in) in two plies; 1 outline to" in done.stdout
    assert "folded lengthwise, right sides together" in said(tmp_path / "o" / "lay-1.pdf")


def test_costs_decide_and_are_added_up(tmp_path: Path) -> None:
    """S + 2 M take 30 cm and two ends of 1 cm a ply: two plies are 64 cm, 6.40 EUR. Of a dear
    marker there is one."""
    price = 'price = { amount = 10, per = "1 m", currency = "EUR" }, rolls'
    costs = ("--ply-cost", "0.50", "--lay-cost", "20 cm", "--marker-cost", 7)
    job = job_file(tmp_path, SASHES.replace("rolls", price))
    done = marker("order", job, *WORDS, *costs, "--out", tmp_path / "o")
    assert done.exit_code == 0, done.output
    assert (
        "costs 16.40 EUR: cloth 6.40 EUR, spreading 1.00 EUR, lays 2.00 EUR, 1 marker 7.00 EUR"
        in done.stdout
    )
    assert "no plan of these markers costs less than" in done.stdout
    fewest = marker("order", job, *WORDS, "--aim", "lays", "--out", tmp_path / "o")
    assert "1 lay, proven fewest" in fewest.stdout


def test_an_order_may_be_of_more_pieces_than_can_be_laid_at_once(tmp_path: Path) -> None:
    """1,200 sashes of M, two of them a ply: 2,400 pieces on 600 plies of 1 mm, for a blade that
    reaches 10 cm. Told on the screen, on the sheet and in the table."""
    text = 'blade_reach = "10 cm"' + SASHES.replace('rolls = ["50 cm", "32 cm"]', "thickness = 1")
    words = ("--demand", "M=1200", "--max-garments", 2, "--max-plies", 600)
    done = marker("order", job_file(tmp_path, text), *WORDS, *words, "--out", tmp_path / "o")
    assert done.exit_code == 0, done.output
    assert "lay 1: 60 cm (23 5/8 in) high, but the blade reaches 10 cm (3 7/8 in)" in done.stdout
    assert "plan with --max-plies 100" in done.stdout
    assert "TOO HIGH 60 cm" in said(tmp_path / "o" / "lay-1.pdf")
    (row,) = csv.DictReader((tmp_path / "o" / "plan.csv").read_text().splitlines())
    assert (row["plies"], row["size M"], row["height (cm)"]) == ("600", "2", "60.00")


@pytest.mark.parametrize("name", ["plan.csv", "lay-1.pdf", "marker-A-layout.json"])
def test_an_order_stops_at_a_persons_file_before_it_plans(name: str, tmp_path: Path) -> None:
    out = tmp_path / "o"
    out.mkdir()
    (out / name).write_text("mine")
    told = marker("order", job_file(tmp_path, SASHES), *WORDS, "--out", out)
    assert told.exit_code == 2
    assert f"{name}: this file was not written by marker" in told.stderr
    assert [path.name for path in out.iterdir()] == [name]


@pytest.mark.parametrize(
    ("words", "said", "code"),
    [
        (("--demand", "XL=3"), "no size 'XL'", 2),
        (("--demand", "red: S=3", "--demand", "blue: S=1"), "jersey has no rolls in red", 2),
        (("--max-plies", 0), "from 1 to 100000", 2),
        (("--lay-cost", "2.50"), "jersey has no price", 1),
        (("--lay-cost", "2.50 EUR"), "'2.50 EUR' is no cost", 2),
        (("--table", "5 cm"), "The nearest possible plan has a table of 12 cm", 1),
    ],
)
def test_what_cannot_be_planned_is_told(
    words: tuple[object, ...], said: str, code: int, tmp_path: Path
) -> None:
    told = marker("order", job_file(tmp_path, SASHES), *WORDS, *words, "--out", tmp_path / "o")
    assert told.exit_code == code, told.output
    assert said in told.stderr


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ('rolls = { red = ["5 m"] }', "rolls by colour, but none is ordered"),
        ("rolls = []", "Give at least 1"),
        ('rolls = { red = ["5 m", "5 kg"] }', "rolls.red[2]"),
        ('rolls = ["5 m", "5 kg"]', "rolls[2]"),
        ('rolls = "5 m"', "square brackets"),
        ('rolls = [{ width = "1 m" }]', "rolls[1].length"),
        ('rolls = ["5 m", { length = "5 m", with = "1 m" }]', "'width'"),
        ('rolls = [{ length = "5 m", width = "1 mm" }], selvage = "1 cm"', "rolls[1].width"),
    ],
)
def test_rolls_that_cannot_be_used_are_told(key: str, said: str, tmp_path: Path) -> None:
    job = job_file(tmp_path, SASHES.replace('rolls = ["50 cm", "32 cm"]', key))
    told = marker("order", job, *WORDS, "--out", tmp_path / "o")
    assert told.exit_code == 2
    assert said in told.stderr


def test_options_of_a_job_need_one() -> None:
    told = marker("order", "--demand", "S=3", "--max-garments", 3, "--table", "5 m")
    assert told.exit_code == 2
    assert "Name a JOB" in told.stderr
