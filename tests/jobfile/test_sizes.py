"""Job files of several sizes: values by size, drawings by size, grade rules, and their faults."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from marker.job import Job
from marker.pattern.pattern import Pattern
from tests.jobfile.writer import HEAD, SQUARE, job, only_fault, piece, place, strip

SIZES = HEAD.replace('size = "38"', 'size = "38"\nsizes = ["36", "38", "40"]')
RULED = (
    SIZES
    + """
[rules.side]
36 = [-10, 0]
40 = [10, 0]
[rules.held]
36 = [0, 0]
40 = [0, 0]
"""
)
GRADE = 'grade = { 1 = "held", 2 = "side", 3 = "side", 4 = "held" }'
BY_SIZE = "{ by_size = { 36 = 90, 38 = 100, 40 = 110 } }"


def widths(read: Job) -> list[float]:
    return [float(np.ptp(read.in_size(s).pieces[0].outline[:, 0])) for s in read.sizes]


def test_one_size_is_as_ever(tmp_path: Path) -> None:
    read = job(tmp_path, HEAD + piece(SQUARE))
    assert read.sizes == ("38",)
    assert read.in_size("38") is read.pattern


def test_values_by_size(tmp_path: Path) -> None:
    shape = f'shape = {{ kind = "rectangle", width = {BY_SIZE}, height = 50 }}'
    read = job(tmp_path, SIZES + piece(shape) + strip(f"length = {BY_SIZE}"))
    assert widths(read) == [90, 100, 110]
    assert read.pattern is read.in_size("38")
    strips = [read.in_size(size).strips[0] for size in read.sizes]
    assert [each.length.mm for each in strips] == [90, 100, 110]  # type: ignore[union-attr]


def test_a_drawing_for_each_size(tmp_path: Path) -> None:
    for size, width in (("36", 90), ("38", 100), ("40", 110)):
        (tmp_path / f"p-{size}.svg").write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" width="20cm" height="20cm" '
            f'viewBox="0 0 200 200"><rect id="front" width="{width}" height="50"/></svg>'
        )
    read = job(tmp_path, SIZES + piece('drawing = "p-{size}.svg#front"'))
    assert widths(read) == [90, 100, 110]


def test_grade_rules_move_corners(tmp_path: Path) -> None:
    read = job(tmp_path, RULED + piece(SQUARE, GRADE, "edges = { hem = [1, 2] }",
                                       "notches = [{ edge = 'hem', at = 40 }]"))  # fmt: skip
    assert widths(read) == [90, 100, 110]
    for size, share in (("36", 0.9), ("38", 1.0), ("40", 1.1)):
        sized = read.in_size(size).pieces[0]
        assert sized.notches[0].at_mm == pytest.approx(40 * share)
        assert sized.outline[2] == pytest.approx([100 * share, 100])
        assert sized.corners == pytest.approx(sized.outline)


def test_a_notch_by_size_stays_where_it_is_said(tmp_path: Path) -> None:
    at = "notches = [{ edge = 'hem', at = { by_size = { 36 = 40, 38 = 40, 40 = 40 } } }]"
    read = job(tmp_path, RULED + piece(SQUARE, GRADE, "edges = { hem = [1, 2] }", at))
    assert [read.in_size(size).pieces[0].notches[0].at_mm for size in read.sizes] == [40, 40, 40]


def test_rules_in_a_file_of_their_own(tmp_path: Path) -> None:
    """Bust girths of ASTM D5585-11, sizes 8, 12 and 16: 36 1/4, 38 3/4 and 42 1/8 in. An inch of
    girth is a quarter inch of a quarter panel (geometry)."""
    bust = {"8": 36.25, "12": 38.75, "16": 42.125}
    rows = [f"{size} = [{(girth - 38.75) / 4}, 0]" for size, girth in bust.items()]
    (tmp_path / "rules.toml").write_text(
        "\n".join(['units = "in"', "[rules.side]", *rows, "[rules.held]", "8 = [0, 0]",
                   "16 = [0, 0]"])
    )  # fmt: skip
    head = (
        'name = "bodice"\nsize = "12"\nsizes = ["8", "12", "16"]\nrules = "rules.toml"\n'
        'units = "in"\norder = { "12" = 1 }\ncloth.jersey = { width = "150 cm" }\n'
    )
    quarter = f"points = [[0, 0], [{38.75 / 4}, 0], [{38.75 / 4}, 20], [0, 20]]"
    read = job(tmp_path, head + piece(quarter, GRADE))
    girths = [4 * width / 25.4 for width in widths(read)]
    assert girths == pytest.approx(list(bust.values()), abs=0.001)


def test_seams_keep_what_they_differ_by_in_the_sample(tmp_path: Path) -> None:
    """A sleeve's cap, flat, and its armhole, hollow, both 10 mm wider, which lengthens the flat
    curve more; the cap is made flatter until they meet."""
    pieces = piece(
        'path = "M 0 0 C 0 -60 60 -120 100 -120 L 100 0 Z"', "edges = { armhole = [1, 2] }",
        'grade = { 1 = "held", 2 = "side", 3 = "side" }', 'line = "stitching line"',
    ) + piece(
        'path = "M 0 0 C 30 -50 90 -50 147 -40 L 147 60 Z"', "edges = { cap = [1, 2] }",
        'grade = { 1 = "held", 2 = "side", 3 = "side" }', 'line = "stitching line"', name="sleeve",
    )  # fmt: skip
    seam = '[[seam]]\nname = "armhole"\nsides = ["front.armhole", "sleeve.cap"]\n'
    read = job(tmp_path, RULED + pieces + seam)
    off = [_off(read.in_size(size)) for size in read.sizes]
    assert off == pytest.approx([off[1]] * 3, abs=0.02)


def _off(pattern: Pattern) -> float:
    from marker.pattern.seams.seam_report import seam_reports

    (report,) = seam_reports(pattern)
    return report.sides[1].difference_mm


# what is wrong: job text, place (after the file), words of the problem, words of the remedy
FAULTY: dict[str, tuple[str, str, str, str]] = {
    "a size twice": (
        SIZES.replace('"40"]', '"38"]') + piece(SQUARE), "sizes", "twice", "once"
    ),
    "the sample is none of them": (
        SIZES.replace('size = "38"', 'size = "39"').replace('"38" = 1', '"40" = 1')
        + piece(SQUARE), "size", "'39'", "'36'",
    ),
    "a size that is not made": (
        SIZES.replace('"38" = 1', '"48" = 1') + piece(SQUARE), "order.48", "'48'", "'38'"
    ),
    "a value missing": (
        SIZES + piece(SQUARE, "allowance = { by_size = { 36 = 9, 38 = 9 } }"),
        "piece 1 (front), allowance", "size 40", "each size",
    ),
    "a value too many": (
        SIZES + piece(SQUARE, "allowance = { by_size = { 36 = 9, 38 = 9, 40 = 9, 41 = 9 } }"),
        "piece 1 (front), allowance", "'41'", "'40'",
    ),
    "no values": (
        SIZES + piece(SQUARE, "allowance = { by_size = 3 }"),
        "piece 1 (front), allowance", "stands alone", "by_size",
    ),
    "wrong in one size": (
        SIZES + piece(SQUARE, "cut = { by_size = { 36 = 0, 38 = 1, 40 = 1 } }"),
        "piece 1 (front), cut, size 36", "small", "1 or more",
    ),
    "wrong in all sizes": (
        SIZES + piece(SQUARE, "cut = 0"), "piece 1 (front), cut", "small", "1 or more"
    ),
    "a name by size": (
        SIZES + piece(SQUARE).replace('"front"', '{ by_size = { 36 = "a" } }'),
        "piece 1, name", "text", "quotation",
    ),
    "an unknown rule": (
        RULED + piece(SQUARE, 'grade = { 1 = "held", 2 = "sade" }'),
        "piece 1 (front), grade.2", "'sade'", "'side'",
    ),
    "an unknown corner": (
        RULED + piece(SQUARE, 'grade = { 1 = "held", 9 = "side" }'),
        "piece 1 (front), grade.9", "no corner 9", "1 to 4",
    ),
    "a corner by name": (
        RULED + piece(SQUARE, 'grade = { 1 = "held", neck = "side" }'),
        "piece 1 (front), grade.neck", "no number", "1 =",
    ),
    "one corner": (
        RULED + piece(SQUARE, 'grade = { 1 = "side" }'), "piece 1 (front), grade", "one", "two"
    ),
    "graded and drawn by size": (
        RULED + piece(SQUARE.replace("[100, 0]", f"[{BY_SIZE}, 0]"), GRADE),
        "piece 1 (front), grade", "each size", "sample size only",
    ),
    "a full ring": (
        RULED + piece(
            'shape = { kind = "ring sector", inner_radius = 9, outer_radius = 99, angle = 360 }',
            'grade = { 1 = "held" }'),
        "piece 1 (front), grade", "full ring", "by size",
    ),
    "a rule without a size": (
        RULED.replace("40 = [10, 0]\n", "") + piece(SQUARE), "rules.side", "size 40", "each size"
    ),
    "a rule of another size": (
        RULED.replace("40 = [10, 0]", "40 = [10, 0]\n42 = [20, 0]") + piece(SQUARE),
        "rules.side, 42", "'42'", "'40'",
    ),
    "a sample that moves": (
        RULED.replace("40 = [10, 0]", "40 = [10, 0]\n38 = [1, 0]") + piece(SQUARE),
        "rules.side, 38", "does not move", "[0, 0]",
    ),
    "half a move": (
        RULED.replace("40 = [10, 0]", "40 = [10]") + piece(SQUARE),
        "rules.side, 40", "1 entry", "2",
    ),
    "rules of another kind": (
        SIZES.replace("sizes =", "rules = 3\nsizes =") + piece(SQUARE), "rules", "table", "[rules"
    ),
    "folded over itself": (
        RULED.replace("36 = [-10, 0]", "36 = [-150, 0]") + piece(SQUARE, GRADE),
        "piece 1 (front), grade, size 36", "inside out", "moves",
    ),
    "a fold that breaks": (
        RULED.replace("[10, 0]", "[10, 5]").replace("[-10, 0]", "[-10, 5]")
        + piece(
            "points = [[0, 0], [50, 0], [100, 0], [100, 100], [0, 100]]", "fold = [1, 3]",
            'grade = { 1 = "held", 2 = "side", 3 = "held", 4 = "held" }'),
        "piece 1 (front), fold, size 36, 40", "bends by 5 mm", "straight",
    ),
}  # fmt: skip


@pytest.mark.parametrize("wrong", FAULTY)
def test_fault_has_place_problem_and_remedy(wrong: str, tmp_path: Path) -> None:
    text, key, problem, remedy = FAULTY[wrong]
    fault = only_fault(tmp_path, text)
    assert place(fault) == f"{tmp_path / 'job.toml'}: {key}"
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_a_fault_in_the_file_of_rules_names_that_file(tmp_path: Path) -> None:
    (tmp_path / "rules.toml").write_text('[rules.side]\n36 = [1, 0]\n40 = ["1 mm", "0 mm"]\n')
    text = SIZES.replace("sizes =", 'rules = "rules.toml"\nsizes =') + piece(SQUARE)
    fault = only_fault(tmp_path, text)
    assert place(fault) == f"{tmp_path / 'rules.toml'}: rules.side, 36[1]"
    assert "no unit" in fault.problem
