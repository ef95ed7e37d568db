"""Flaws in a job file: read in cloth coordinates, refused off the cloth."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.jobfile.writer import HEAD, SQUARE, job, only_fault, piece, place

JERSEY = HEAD.replace('{ width = "150 cm" }', '{ width = "150 cm", selvage = "1 cm", MORE }')
STAIN = 'name = "stain"'


def with_flaw(flaw: str, more: str = "") -> str:
    cloth = f"flaw = [{{ {STAIN}, {flaw} }}]{more}"
    return JERSEY.replace("MORE", cloth) + piece(SQUARE)


def test_a_box_and_an_outline_are_read_in_cloth_coordinates(tmp_path: Path) -> None:
    box = 'along = ["35 cm", "30 cm"], across = ["-1 cm", "8 cm"]'
    (flaw,) = job(tmp_path, with_flaw(box)).cloths[0].flaws
    assert flaw.name == "stain"
    assert flaw.outline.tolist() == [[300, -10], [350, -10], [350, 80], [300, 80]]
    clockwise = "points = [[10, 10], [10, 60], [60, 10]]"
    (flaw,) = job(tmp_path, with_flaw(clockwise)).cloths[0].flaws
    assert sorted(flaw.outline.tolist()) == [[10, 10], [10, 60], [60, 10]]


# what is wrong: the flaw, more of the cloth, words of the problem, words of the remedy
FAULTY: dict[str, tuple[str, str, str, str]] = {
    "beyond the far selvage": (
        'along = [0, 50], across = ["148 cm", "151 cm"]', "", "runs from 0 to 1.48 m", "inner edge"
    ),
    "beyond the near selvage": ("along = [0, 50], across = [-11, 5]", "", "-11 mm", "inner edge"),
    "on the selvage only": ("along = [0, 50], across = [-8, 0]", "", "-8 mm", "inner edge"),
    "before the cloth": ("along = [-5, 50], across = [0, 5]", "", "5 mm before", "along"),
    "beyond what there is": (
        'along = ["2 m", "3 m"], across = [0, 5]', ', have = "2 m"', "beyond the 2.00 m", "have"
    ),
    "of no size": ("along = [5, 5], across = [0, 5]", "", "2 different points", "3 or more"),
    "crossing itself": ("points = [[0, 0], [9, 9], [9, 0], [0, 9]]", "", "crosses", "Move"),
    "half a box": ("along = [5, 9]", "", "nothing says where", "along"),
    "two places": (
        "along = [5, 9], across = [0, 9], points = [[0, 0], [9, 9], [0, 9]]", "", "both", "points"
    ),
}  # fmt: skip


@pytest.mark.parametrize("wrong", FAULTY)
def test_a_faulty_flaw_is_refused(wrong: str, tmp_path: Path) -> None:
    flaw, more, problem, remedy = FAULTY[wrong]
    fault = only_fault(tmp_path, with_flaw(flaw, more))
    assert place(fault).endswith("job.toml: cloth.jersey, flaw[1] (stain)")
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_an_unknown_key_of_a_flaw_is_named(tmp_path: Path) -> None:
    fault = only_fault(tmp_path, with_flaw("along = [0, 5], acros = [0, 5]"))
    assert fault.place.endswith("cloth.jersey, flaw[1].acros")
    assert "'across'" in fault.remedy


@pytest.mark.parametrize(
    ("have", "words"), [('"3 cm"', "leave nothing of 30 mm"), ("0", "zero"), ('"-2 m"', "below")]
)
def test_a_length_of_nothing_is_refused(have: str, words: str, tmp_path: Path) -> None:
    cloth = f'end_allowance = "2 cm", have = {have}'
    fault = only_fault(tmp_path, JERSEY.replace("MORE", cloth) + piece(SQUARE))
    assert fault.place.endswith("cloth.jersey, have")
    assert words in fault.problem
