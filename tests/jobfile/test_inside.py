"""Darts, pleats, gathers and marks of a job file: what they become, and each fault of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from marker.pattern.edge import EdgeRef
from marker.pattern.fullness import Dart, Gather, Pleat, PleatKind
from marker.pattern.inner_marks import Hand, MarkKind
from marker.pattern.piece import Piece
from marker.pattern.seams.walk import walk
from tests.jobfile.test_sizes import RULED
from tests.jobfile.writer import HEAD, job, only_fault, only_piece, piece

PANEL = "points = [[0, 0], [300, 0], [300, 600], [0, 600]]"
EDGES = "edges = { hem = [1, 2], waist = [3, 4] }"
ON_FOLD = "fold = [4, 1]"
WAIST_DART = "darts = [{ edge = 'waist', at = 150, intake = 30, depth = 120 }]"


def panel(folder: Path, *lines: str) -> Piece:
    return only_piece(folder, PANEL, EDGES, *lines)


def test_a_dart_is_read(tmp_path: Path) -> None:
    (dart,) = panel(tmp_path, WAIST_DART).fullness
    assert dart == Dart("waist", 135, 165, depth_mm=120)


def test_lengths_with_units_need_no_unit_of_the_file(tmp_path: Path) -> None:
    dart = "{ edge = 'waist', at = '15 cm', intake = '3 cm', depth = '12 cm' }"
    pleat = "{ edge = 'waist', at = '50 mm', intake = '2 cm' }"
    shape = "shape = { kind = 'rectangle', width = '30 cm', height = '60 cm' }"
    lines = shape, EDGES, f"darts = [{dart}]", f"pleats = [{pleat}]"
    text = HEAD.replace('units = "mm"', "") + piece(*lines)
    dart_read, pleat_read = job(tmp_path, text).pattern.pieces[0].fullness
    assert dart_read == Dart("waist", 135, 165, depth_mm=120)
    assert (pleat_read.start_mm, pleat_read.end_mm) == pytest.approx((40, 60))


def test_a_dart_to_a_given_tip(tmp_path: Path) -> None:
    (dart,) = panel(tmp_path, WAIST_DART.replace("depth = 120", "tip = [140, 460]")).fullness
    assert isinstance(dart, Dart)
    assert dart.tip == pytest.approx([140, 460])


def test_half_a_dart_at_the_fold(tmp_path: Path) -> None:
    """Of 30 mm in all, 15 lie on the half drawn, whose waist ends on the fold."""
    read = panel(tmp_path, ON_FOLD, WAIST_DART.replace("at = 150", "at = 'fold'"))
    assert read.fullness[0] == Dart("waist", 285, 300, depth_mm=120)
    assert walk([read], [EdgeRef("front", "waist")]).length_mm == pytest.approx(570)


def test_pleats_and_gathers_are_read(tmp_path: Path) -> None:
    read = panel(
        tmp_path,
        "notches = [{ edge = 'waist', at = 120, name = 'a' }]",
        "pleats = [{ edge = 'waist', at = 60, intake = 40, kind = 'box pleat', length = 90 }]",
        "gathers = [{ edge = 'waist', between = ['a', '22 cm'], into = 50 }]",
    )
    assert read.fullness == (
        Pleat("waist", 40, 80, PleatKind.BOX, 90),
        Gather("waist", 120, 220, into_mm=50),
    )


def test_marks_by_points_and_by_places(tmp_path: Path) -> None:
    """The cut line was drawn, with allowances of 10 mm: the hem's stitching line lies 10 mm in."""
    read = panel(
        tmp_path, "allowance = 10",
        "marks = [{ kind = 'drill hole', at = [100, 200] },"
        "{ kind = 'placement', points = [[50, 50], [150, 50], [150, 170]], closed = true,"
        "  name = 'patch pocket', hand = 'as drawn' },"
        "{ kind = 'text', at = { place = 'hem at 90', inside = 40 }, name = 'tape here' }]"
        .replace("at 90", "at 90 mm"),
    )  # fmt: skip
    hole, pocket, text = read.inner_marks
    assert (hole.kind, hole.points.tolist()) == (MarkKind.DRILL_HOLE, [[100, 200]])
    assert (pocket.name, pocket.hand, len(pocket.points)) == ("patch pocket", Hand.DRAWN, 4)
    assert pocket.points[0] == pytest.approx(pocket.points[-1])
    assert text.points[0] == pytest.approx([10 + 90, 10 + 40])


def test_buttons_and_buttonholes_in_a_row(tmp_path: Path) -> None:
    """Seven from 100 to 580 mm up lie 80 mm apart; across the grain, which points up."""
    row = "points = [[20, 100], [20, 580]], count = 7"
    read = panel(
        tmp_path,
        f"marks = [{{ kind = 'button', {row} }}, {{ kind = 'buttonhole', {row}, length = 22 }},"
        f"{{ kind = 'buttonhole', at = [20, 40], length = 22, lies = 'along' }}]",
    )
    buttons = [mark.points for mark in read.inner_marks if mark.kind is MarkKind.BUTTON]
    holes = [mark.points for mark in read.inner_marks if mark.kind is MarkKind.BUTTONHOLE]
    assert [float(each[0, 1]) for each in buttons] == pytest.approx(np.arange(100, 581, 80))
    assert sorted(holes[0][:, 0]) == pytest.approx([9, 31])
    assert sorted(holes[-1][:, 1]) == pytest.approx([29, 51])


def test_marks_follow_the_rules_of_their_piece(tmp_path: Path) -> None:
    """The right side moves by 10 mm a size: a third of the way across moves by a third of that."""
    read = job(
        tmp_path,
        RULED
        + piece(
            PANEL, EDGES, 'grade = { 1 = "held", 2 = "side", 3 = "side", 4 = "held" }', WAIST_DART,
            "marks = [{ kind = 'drill hole', at = [100, 200] }]",
        ),
    )  # fmt: skip
    for size, wider in (("36", -10), ("38", 0), ("40", 10)):
        (graded,) = read.in_size(size).pieces
        assert graded.inner_marks[0].points == pytest.approx(np.array([[100 + wider / 3, 200]]))
        assert graded.fullness[0].start_mm == pytest.approx(135 + wider / 2)
        assert graded.fullness[0].drawn_mm == pytest.approx(30)


def test_what_ends_at_the_cut_line_does_so_in_every_size(tmp_path: Path) -> None:
    """The allowance beyond the stitching line, which rules move, does not grow with it."""
    read = job(
        tmp_path,
        RULED
        + piece(
            PANEL, EDGES, 'grade = { 1 = "held", 2 = "side", 3 = "side", 4 = "held" }',
            "line = 'stitching line'", "allowance = 15",
            "marks = [{ kind = 'line', points = [[-15, 200], [315, 200]] }]",
        ),
    )  # fmt: skip
    for size, wider in (("36", -10), ("38", 0), ("40", 10)):
        (mark,) = read.in_size(size).pieces[0].inner_marks
        assert mark.points == pytest.approx(np.array([[-15, 200], [315 + wider, 200]]))


def test_places_by_size_are_as_given(tmp_path: Path) -> None:
    read = job(
        tmp_path,
        RULED
        + piece(
            PANEL, EDGES, 'grade = { 1 = "held", 2 = "side", 3 = "side", 4 = "held" }',
            WAIST_DART.replace("at = 150", "at = { by_size = { 36 = 150, 38 = 150, 40 = 150 } }"),
        ),
    )  # fmt: skip
    starts = [read.in_size(size).pieces[0].fullness[0].start_mm for size in read.sizes]
    assert starts == pytest.approx([135, 135, 135])


MARK = "marks = [{ kind = 'button', at = [20, 20] }]"

# what is wrong: line of the piece, key, words of the problem, words of the remedy
FAULTY: dict[str, tuple[str, str, str, str]] = {
    "dart without an end": (
        WAIST_DART.replace(", depth = 120", ""), "darts[1]", "nothing says", "one of depth, tip"
    ),
    "dart with two ends": (
        WAIST_DART.replace("depth", "tip = [1, 1], depth"), "darts[1]", "both say", "one of depth"
    ),
    "dart on no edge": (
        WAIST_DART.replace("'waist'", "'wiast'"), "darts[1]", "'wiast'", "'waist'"
    ),
    "dart beyond its edge": (
        WAIST_DART.replace("150", "290"), "darts[1]", "from 27.5 cm to 30.5 cm along 'waist'",
        "Take in less",
    ),
    "dart out of the piece": (
        WAIST_DART.replace("120", "700"), "darts[1]", "ends outside", "shorter"
    ),
    "dart at no fold": (
        WAIST_DART.replace("150", "'fold'"), "darts[1]", "does not end on a fold", "8 cm"
    ),
    "dart of nothing": (
        WAIST_DART.replace("intake = 30", "intake = 0"), "darts[1].intake", "zero", "at least"
    ),
    "dart where no stitching line is left": (
        f"{WAIST_DART}\nallowance = 200", "darts[1]", "no stitching line fits", "can be taken in"
    ),
    "two darts in one place": (
        WAIST_DART.replace("}]", "}, { edge = 'waist', at = 160, intake = 30, depth = 90 }]"),
        "darts[2]", "taken in already", "once",
    ),
    "unknown pleat": (
        "pleats = [{ edge = 'waist', at = 50, intake = 20, kind = 'box' }]",
        "pleats[1].kind", "'box'", "'box pleat'",
    ),
    "gathered into more": (
        "gathers = [{ edge = 'waist', between = ['start', 'middle'], into = 160 }]",
        "gathers[1]", "15 cm is not gathered into 16 cm", "Give less",
    ),
    "gathered to nowhere": (
        "gathers = [{ edge = 'waist', between = ['start', 'midle'], into = 60 }]",
        "gathers[1]", "'midle'", "'middle'",
    ),
    "mark nowhere": (MARK.replace(", at = [20, 20]", ""), "marks[1]", "nothing says", "at, points"),
    "mark outside": (MARK.replace("[20, 20]", "[20, -20]"), "marks[1]", "outside", "Move it"),
    "no place": (MARK.replace("[20, 20]", "'waist'"), "marks[1]", "names no place", "at"),
    "unknown kind": (MARK.replace("button", "buton"), "marks[1].kind", "'buton'", "'button'"),
    "a dart among marks": (MARK.replace("button", "dart"), "marks[1].kind", "takes in", "darts"),
    "text without words": (MARK.replace("button", "text"), "marks[1]", "nothing to write", "name"),
    "line of one point": (
        MARK.replace("button", "fold line"), "marks[1]", "is a line", "two points"
    ),
    "buttonhole without a length": (
        MARK.replace("button", "buttonhole"), "marks[1]", "is a line", "length"
    ),
    "row of one": (MARK.replace("] }", "], count = 3 }"), "marks[1]", "in a row", "two points"),
    "closed button": (MARK.replace("] }", "], closed = true }"), "marks[1]", "no line", "closed"),
    "long button": (MARK.replace("] }", "], length = 9 }"), "marks[1]", "only a button", "Leave"),
    "unknown key": (MARK.replace("at =", "att ="), "marks[1].att", "unknown", "'at'"),
}  # fmt: skip


@pytest.mark.parametrize("case", FAULTY)
def test_each_fault_has_its_place_and_remedy(case: str, tmp_path: Path) -> None:
    line, key, problem, remedy = FAULTY[case]
    fault = only_fault(tmp_path, HEAD + piece(PANEL, EDGES, line))
    assert fault.place.endswith(f"piece 1 (front), {key}")
    assert problem in fault.problem
    assert remedy in fault.remedy
