"""Remnants in a job file: outlines by points or from a drawing, with holes."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.jobfile.writer import HEAD, SQUARE, faults, job, only_fault, piece, svg

SCRAP = '[[cloth.jersey.remnant]]\nname = "scrap"\n'
BOX = "points = [[100, 50], [500, 50], [500, 350], [100, 350]]\n"


def with_remnant(*lines: str, head: str = HEAD) -> str:
    return head.replace("cloth.jersey = {", "[cloth.jersey]\n#").replace(
        '# width = "150 cm" }', 'width = "150 cm"'
    ) + "".join(lines) + piece(SQUARE)  # fmt: skip


def test_points_and_holes_start_at_the_corner_of_their_box(tmp_path: Path) -> None:
    hole = "holes = [[[200, 100], [200, 150], [250, 150], [250, 100]]]\n"
    (cloth,) = job(tmp_path, with_remnant(SCRAP, BOX, hole)).cloths
    (remnant,) = cloth.remnants
    assert (remnant.along_mm, remnant.across_mm, cloth.usable_width_mm) == (400, 300, 300)
    assert remnant.outline.min(axis=0).tolist() == [0, 0]
    assert remnant.holes[0].min(axis=0).tolist() == [100, 50]
    assert remnant.area_mm2 == 400 * 300 - 50 * 50
    assert len(remnant.lacking) == 1


def test_a_drawing_gives_the_outline(tmp_path: Path) -> None:
    svg(tmp_path, '<path id="scrap" d="M 0 0 H 80 V 40 H 40 V 60 H 0 Z"/>')
    (cloth,) = job(tmp_path, with_remnant(SCRAP, 'drawing = "drawing.svg#scrap"\n')).cloths
    (remnant,) = cloth.remnants
    assert (remnant.along_mm, remnant.across_mm) == pytest.approx((80, 60))
    assert remnant.area_mm2 == pytest.approx(80 * 60 - 40 * 20)


# what is wrong: lines of the remnant, place, words of the problem
FAULTY = {
    "no shape": ("", "remnant[1] (scrap)", "nothing, or two"),
    "wider than its cloth": (BOX.replace("350", "1650"), "remnant[1] (scrap)", "1.60 m across"),
    "a hole outside": (
        BOX + "holes = [[[0, 0], [200, 100], [200, 60]]]\n", "remnant[1] (scrap)", "reaches over"
    ),
    "crossing itself": (
        "points = [[0, 0], [9, 9], [9, 0], [0, 9]]\n", "remnant[1] (scrap)", "crosses"
    ),
    "no such drawing": ('drawing = "a.svg#b"\n', "remnant[1] (scrap)", "no such file"),
    "an unknown key": (BOX + "hole = []\n", "remnant[1].hole", "unknown"),
    "of one name": (BOX + SCRAP + BOX, "remnant", "two are called 'scrap'"),
}  # fmt: skip


@pytest.mark.parametrize("wrong", FAULTY)
def test_a_faulty_remnant_is_refused(wrong: str, tmp_path: Path) -> None:
    lines, place, problem = FAULTY[wrong]
    fault = only_fault(tmp_path, with_remnant(SCRAP, lines))
    assert fault.place.endswith(f"cloth.jersey, {place}")
    assert problem in fault.problem
    assert fault.remedy


@pytest.mark.parametrize(
    "line", ['have = "2 m"', 'end_allowance = "2 cm"', 'spread = "double fold"']
)
def test_what_says_nothing_of_remnants_is_refused(line: str, tmp_path: Path) -> None:
    found = faults(tmp_path, with_remnant(line + "\n", SCRAP, BOX))
    assert any("says nothing of remnants" in fault.problem for fault in found)
