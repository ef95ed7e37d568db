"""Shrinkage in a job file: percentages or a test square, and what cloth can't do."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.cloth.behaviour import NO_SHRINKAGE, Cut, Shrinkage
from tests.jobfile.writer import HEAD, SQUARE, job, only_fault, piece

PLACE = "cloth.jersey, shrinkage"


def text(table: str) -> str:
    return HEAD.replace('150 cm"', f'150 cm", shrinkage = {{ {table} }}') + piece(SQUARE)


def read(folder: Path, table: str) -> Shrinkage:
    return job(folder, text(table)).cloths[0].shrinkage


def test_percentages(tmp_path: Path) -> None:
    found = read(tmp_path, 'cut = "after washing", percent = { along = 5, across = -2.5 }')
    assert found == Shrinkage(0.05, -0.025, Cut.AFTER_WASHING)


def test_a_test_square_in_any_length(tmp_path: Path) -> None:
    square = 'test_square = { marked = "10 in", along = "9 1/2 in", across = "254 mm" }'
    found = read(tmp_path, f'cut = "before washing", {square}')
    assert (found.along, found.across) == pytest.approx((0.05, 0.0))
    assert found.cut is Cut.BEFORE_WASHING


def test_without_a_table_nothing_shrinks(tmp_path: Path) -> None:
    assert job(tmp_path, HEAD + piece(SQUARE)).cloths[0].shrinkage == NO_SHRINKAGE


FAULTY: dict[str, tuple[str, str, str, str]] = {
    "no time of cutting": (
        "percent = { along = 5, across = 3 }", ".cut", "missing", "Add",
    ),
    "unknown time": (
        'cut = "befor washing", percent = { along = 5, across = 3 }',
        ".cut", "not known", "'before washing'",
    ),
    "no amount": ('cut = "after washing"', "", "no amount", "`test_square`"),
    "both ways": (
        'cut = "after washing", percent = { along = 5, across = 3 }, '
        "test_square = { marked = 100, along = 95, across = 97 }",
        "", "both", "either",
    ),
    "one direction": ('cut = "after washing", percent = { along = 5 }', "across", "missing", "Add"),
    "all of it": (
        'cut = "after washing", percent = { along = 100, across = 3 }',
        ".percent.along", "nothing of it", "at most 60 %",
    ),
    "more than all": (
        'cut = "after washing", percent = { along = 5, across = 1e9 }',
        ".percent.across", "too large", "1000",
    ),
    "grows beyond reason": (
        'cut = "after washing", percent = { along = 5, across = -30 }',
        ".percent.across", "grow by 30 %", "20 % gained",
    ),
    "test square of nothing": (
        'cut = "after washing", test_square = { marked = 0, along = 95, across = 97 }',
        ".test_square.marked", "zero", "at least",
    ),
    "nothing left of the square": (
        'cut = "after washing", test_square = { marked = 100, along = 95, across = "0 cm" }',
        ".test_square.across", "zero", "at least",
    ),
    "square of another unit": (
        'cut = "after washing", test_square = { marked = "10 in", along = "9.5 cm", across = 250 }',
        ".test_square.along", "shrink by 62.6 %", "Check",
    ),
    "unknown key": (
        'cut = "after washing", test_square = { marked = 10, along = 9, across = 9, acros = 9 }',
        ".test_square.acros", "unknown", "'across'",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", FAULTY)
def test_each_fault_has_its_place_and_remedy(case: str, tmp_path: Path) -> None:
    table, place, problem, remedy = FAULTY[case]
    fault = only_fault(tmp_path, text(table))
    assert PLACE in fault.place
    assert fault.place.endswith(place)
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_selvages_that_leave_nothing_of_the_washed_cloth(tmp_path: Path) -> None:
    """74.9 cm of two selvages leave 2 mm of 150 cm, and nothing once it has shrunk."""
    table = 'cut = "after washing", percent = { along = 0, across = 3 }'
    shrunk = text(table).replace("shrinkage =", 'selvage = "74.9 cm", shrinkage =')
    fault = only_fault(tmp_path, shrunk)
    assert "leave nothing of 1.455 m" in fault.problem
