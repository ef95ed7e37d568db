"""`marker order` from a demand alone."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from tests.cli.commands import marker
from tests.jobfile.sheets import workbook

THIRD = ("order", "--demand", "S=300,M=600,L=400", "--max-plies", 75, "--max-garments", 5)
CAT_FOOD = (
    "order", "--demand", "a=250,b=255,c=260,d=500,e=500,f=800,g=1100",
    "--max-garments", 9, "--over-cut", "any", "--seconds", 60,
)  # fmt: skip


def planned(*words: object) -> dict[str, Any]:
    result = marker(*words, "--json")
    assert result.exit_code == 0, result.output
    return dict(json.loads(result.stdout))


def test_fewest_lays() -> None:
    # four lays cut it and three cannot: published, see tests/orders/published.py
    plan = planned(*THIRD)
    assert plan["totals"] == {"lays": 4, "plies": 260, "garments": 1300}
    assert (plan["bound"], plan["optimal"]) == (4, True)
    assert {lay["length_mm"] for lay in plan["lays"]} == {None}
    cut = {
        size: sum(lay["plies"] * lay["garments"].get(size, 0) for lay in plan["lays"])
        for size in "SML"
    }
    assert cut == {"S": 300, "M": 600, "L": 400}


@pytest.mark.parametrize(("markers", "plies"), [(1, 550), (2, 418)])
def test_fewest_plies_of_so_many_markers(markers: int, plies: int) -> None:
    # CSPLib problem 002, see tests/orders/published.py
    plan = planned(*CAT_FOOD, "--max-markers", markers)
    assert (plan["totals"]["plies"], plan["bound"], plan["optimal"]) == (plies, plies, True)


@pytest.mark.parametrize(("aim", "lays", "plies"), [("lays", 1, 4), ("plies", 2, 3)])
def test_what_there_is_to_be_least_of(aim: str, lays: int, plies: int) -> None:
    """Six garments, two in a marker: S + M on 4 plies is one lay, S + M on 2 and 2 S on one are
    three plies (arithmetic)."""
    words = ("--demand", "S=4,M=2", "--max-garments", 2, "--over-cut", "any", "--aim", aim)
    plan = planned("order", *words)
    assert (plan["totals"]["lays"], plan["totals"]["plies"]) == (lays, plies)
    assert plan["optimal"]


def test_what_cloth_costs_is_not_known_from_numbers() -> None:
    assert (
        "Name a JOB" in refused(2, "--demand", "S=4", "--max-garments", 2, "--aim", "cost").stderr
    )


def test_a_table_for_people() -> None:
    told = marker(*THIRD)
    assert told.exit_code == 0
    head, *rows = told.stdout.splitlines()
    assert head.split() == ["lay", "plies", "S", "M", "L", "garments"]
    cells = [[int(cell) for cell in row.split()] for row in rows[:4]]
    assert [row[0] for row in cells] == [1, 2, 3, 4]
    assert all(row[1] * sum(row[2:5]) == row[5] for row in cells)
    assert "4 lays, 260 plies, 1300 garments, as ordered" in told.stdout
    assert "4 lays, proven fewest" in told.stdout


def test_an_unproven_plan_states_its_gap() -> None:
    told = marker("order", "--demand", "S=31,M=17,L=7", "--max-garments", 3, "--seconds", 0)
    assert told.exit_code == 0
    assert "no plan has fewer than 1, a gap of" in told.stdout


def test_colours_share_lays_and_have_plies_of_their_own() -> None:
    plan = planned(
        "order", "--demand", "red:S=2,M=2", "--demand", "blue:S=3,M=3", "--max-garments", 2
    )
    (lay,) = plan["lays"]
    assert lay["plies_by_colour"] == {"red": 2, "blue": 3}
    assert (lay["plies"], lay["garments"]) == (5, {"S": 1, "M": 1})


def refused(code: int, *words: object) -> Result:
    result = marker("order", *words, "--json")
    assert (result.exit_code, result.stdout) == (code, "")
    return result


def test_impossible_orders_get_the_reason_and_the_nearest_plan() -> None:
    told = refused(1, "--demand", "S=3,M=5", "--max-garments", 5, "--max-markers", 1).stderr
    assert told.startswith("marker: no plan of at most 1 marker")
    assert "beyond the order" in told
    assert "of any number of markers" in told
    assert "2 lays, 2 plies, 8 garments, as ordered" in told


@pytest.mark.parametrize(
    "words",
    [
        ("--demand", "S3", "--max-garments", 5), ("--demand", "S=3"), ("--max-garments", 5),
        ("--demand", "S=3", "--max-garments", 0),
        ("--demand", "S=3", "--max-garments", 5, "--max-plies", 0),
        ("--demand", "S=3", "--max-garments", 5, "--max-markers", 0),
        ("--demand", "S=3", "--max-garments", 5, "--aim", "money"),
        ("--demand", "S=3", "--max-garments", -1), ("--demand", "S=3", "--max-garments", "x"),
        ("--demand", "S=3", "--max-garments", 5, "--over-cut", "5"),
        ("--demand", "S=3", "--max-garments", 5, "--seconds", "nan"),
    ],
)  # fmt: skip
def test_wrong_usage(words: tuple[object, ...]) -> None:
    assert refused(2, *words).stderr


def test_help_says_what_it_takes_now() -> None:
    assert "Without a JOB it plans from the numbers alone" in " ".join(
        marker("order", "--help").stdout.split()
    )


def test_an_order_is_a_file_too(tmp_path: Path) -> None:
    """Size columns, colour rows; told with line and column where it is faulty, exit code 2."""
    path = tmp_path / "order.csv"
    path.write_text("colour;S;M\nred;3;4\nblue;1;\n", encoding="utf-8")
    plan = planned("order", "--demand", path, "--max-garments", 3)
    assert plan["totals"]["garments"] == 8
    path.write_text("colour;S;M\nred;3;4,5\n", encoding="utf-8")
    told = marker("order", "--demand", path, "--max-garments", 3)
    assert told.exit_code == 2
    assert "order.csv:2: column C (M): '4,5' is no number" in told.stderr
    both = marker("order", "--demand", path, "--demand", "red: S=3", "--max-garments", 3)
    assert (both.exit_code, "alone" in both.stderr) == (2, True)


def test_an_order_is_a_sheet_of_a_spreadsheet_too(tmp_path: Path) -> None:
    path = tmp_path / "order.xlsx"
    rows: list[list[object]] = [["", "S", "M"], ["red", 3, 4]]
    path.write_bytes(workbook({"March": rows, "April": [["size", "count"], ["S", "x"]]}))
    plan = planned("order", "--demand", f"{path}#March", "--max-garments", 3)
    assert plan["totals"]["garments"] == 7
    told = refused(2, "--demand", f"{path}#April", "--max-garments", 3).stderr
    assert "order.xlsx: sheet 'April', cell B2 (S): 'x' is no number" in told
