"""Outlines, folds, seams and notches that can't be cut or sewn are named as such."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.jobfile.writer import HEAD, SQUARE, only_fault, only_piece, piece, place

FAULTY: dict[str, tuple[str, str, str, str]] = {
    "two points": ("points = [[0, 0], [9, 9]]", "points", "2 points", "3 or more"),
    "one place": ("points = [[1, 1], [1, 1], [1, 1]]", "points", "1 different", "3 or more"),
    "no area": ("points = [[0, 0], [50, 0], [99, 0]]", "points", "no area", "Check"),
    "bow tie": (
        "points = [[0, 0], [10, 10], [10, 0], [0, 10]]", "points", "at x 5 mm, y 5 mm", "Move"
    ),
    "touching": (
        "points = [[0, 0], [10, 0], [10, 10], [5, 0], [0, 10]]", "points", "at x 5 mm, y 0", "Move"
    ),
    "absurd": ('points = [["0 m", 0], ["60 m", 0], ["60 m", 9]]', "points", "absurd", "unit"),
    "lonely number": ("points = [[0], [1, 1], [2, 3]]", "points[1]", "1 entry", "at least 2"),
    "open": ('path = "M 0 0 L 30 0 L 30 40"', "path", "open: its end is 50 mm", "Z"),
    "two sub-paths": (
        'path = "M 0 0 L 9 0 L 9 9 Z M 1 1 L 2 2 L 3 1 Z"', "path", "more than one", "one Z"
    ),
    "on after Z": ('path = "M 0 0 L 9 0 L 9 9 Z L 5 5"', "path", "more than one", "one Z"),
    "no path": ('path = "hello"', "path", "'o' at character 5", "commands"),
    "path without M": ('path = "L 9 0 L 9 9 Z"', "path", "begin with M", "first point"),
    "empty path": ('path = ""', "path", "begin with M", "first point"),
    "half a point": ('path = "M 0 0 L 9 0 9 Z"', "path", "broken", "numbers"),
    "infinite path": ('path = "M 0 0 L 1e999 0 9 9 Z"', "path", "far away", "numbers"),
    "huge curve": ('path = "M 0 0 C 5e7 0 9 9e7 9 9 Z"', "path", "20000 points", "flatten"),
    "huge arc": ('path = "M 0 0 A 1e15 1e15 0 1 1 9 9 Z"', "path", "20000 points", "flatten"),
    "far curve": ('path = "M 9e307 0 C -9e307 0 9 9e307 9 9 Z"', "path", "far away", "numbers"),
    "crossing curve": ('path = "M 0 0 C 99 99 -49 99 50 0 Z"', "path", "crosses", "Move"),
    "unknown kind": ('shape = { kind = "rectagle" }', "shape", "'rectagle'", "'rectangle'"),
    "no kind": ("shape = { width = 3 }", "shape", "kind is missing", "rectangle"),
    "no height": (
        'shape = { kind = "rectangle", width = 3 }', 
        "shape.rectangle.height", "missing", "Add",
   ),
    "ring inside out": (
        'shape = { kind = "ring sector", inner_radius = 9, outer_radius = 9, angle = 90 }',
        "shape", "not below", "correct",
    ),
    "ring beyond a turn": (
        'shape = { kind = "ring sector", inner_radius = 5, outer_radius = 9, angle = 361 }',
        "shape.ring sector.angle", "too large", "at most 360",
    ),
    "coarse": (SQUARE + '\nflatten = "2 cm"', "flatten", "more than 10 mm", "at most 10 mm"),
    "endlessly fine": (SQUARE + "\nflatten = 1e-9", "flatten", "only 1e-09 mm", "0.001 mm"),
    "fold bends": (
        "points = [[0, 0], [50, 0], [50, 90], [0, 90], [-0.5, 45]]\nfold = [4, 1]",
        "fold", "bends by 0.5 mm", "0.20 mm",
    ),
    "over the fold": (
        "points = [[0, 0], [50, 0], [50, 90], [-7, 90], [0, 50]]\nfold = [5, 1]",
        "fold", "reaches 7 mm over", "overlap",
    ),
    "fold too short": (
        "points = [[0, 0], [50, 0], [50, 90], [0, 90], [0, 50]]\nfold = [5, 1]",
        "fold", "touches its fold line", "whole edge",
    ),
    "fold the long way": (SQUARE + "\nfold = [1, 4]", "fold", "not straight", "another edge"),
    "fold of no length": (SQUARE + "\nfold = [1, 1]", "fold", "no length", "two ends"),
    "fold corner 5": (SQUARE + "\nfold = [4, 5]", "fold", "no corner 5", "1 to 4"),
    "edge corner 0": (SQUARE + "\nedges = { a = [0, 1] }", "edges.a", "no corner 0", "1 to 4"),
    "three corners": (SQUARE + "\nedges = { a = [1, 2, 3] }", "edges.a", "3 entries", "at most 2"),
    "edge of one point": (
        'path = "M 0 0 L 9 0 L 9 9 L 0 0 Z"\nedges = { a = [4, 1] }',
        "edges.a", "same point", "[4, 4]"
    ),
    "edge over the fold": (
        SQUARE + "\nfold = [4, 1]\nedges = { a = [3, 2] }", "edges.a", "over the fold", "[2, 3]"
    ),
    "edge's name": (SQUARE + '\nedges = { "a.b" = [1, 2] }', "edges.a.b", "'.'", "dots"),
    "late notch": (
        SQUARE + '\nedges = { a = [1, 2] }\nnotches = [{ edge = "a", at = 101 }]',
        "notches[1]", "10.1 cm is beyond", "10 cm long",
    ),
    "notch beyond the stitching line": (
        SQUARE + '\nedges = { a = [1, 2] }\nallowance = 10\nnotches = [{ edge = "a", at = 81 }]',
        "notches[1]", "81 mm is beyond", "Move the notch",
    ),
    "early notch": (
        SQUARE + '\nedges = { a = [1, 2] }\nnotches = [{ edge = "a", at = -1 }]',
        "notches[1].at", "below zero", "0 or more",
    ),
    "notch nowhere": (
        SQUARE + '\nedges = { side = [1, 2] }\nnotches = [{ edge = "sied", at = 1 }]',
        "notches[1]", "'sied'", "'side'",
    ),
}  # fmt: skip


@pytest.mark.parametrize("wrong", FAULTY)
def test_fault_has_place_problem_and_remedy(wrong: str, tmp_path: Path) -> None:
    lines, key, problem, remedy = FAULTY[wrong]
    fault = only_fault(tmp_path, HEAD + piece(lines))
    assert place(fault) == f"{tmp_path / 'job.toml'}: piece 1 (front), {key}"
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_too_many_points(tmp_path: Path) -> None:
    points = ", ".join(f"[{x}, {x % 2 + 1}]" for x in range(20_001))
    fault = only_fault(tmp_path, HEAD + piece(f"points = [{points}]"))
    assert "20001 points" in fault.problem


def test_a_fold_may_bend_as_little_as_a_drawn_line_does(tmp_path: Path) -> None:
    bent = "points = [[0, 0], [50, 0], [50, 90], [0, 90], [-0.15, 45]]"
    assert only_piece(tmp_path, bent, "fold = [4, 1]").fold is not None
