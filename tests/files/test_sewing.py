"""Edges, seams and openings of a job file: what they become, and every fault at its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.pattern.edge import Corner, EdgeRef, Hem, HemKind
from marker.pattern.sewing import Place, Spot
from tests.files.writer import HEAD, SQUARE, faults, job, only_fault, only_piece, piece

EDGES = "edges = { hem = [1, 2], side = [2, 3], top = [3, 4] }"
FRONT = piece(
    SQUARE, EDGES, 'notches = [{ edge = "top", at = 30, name = "dart" }]', "fold = [4, 1]"
)
BACK = piece(SQUARE, EDGES, name="back")


def seam(*lines: str) -> str:
    return "\n[[seam]]\n" + "\n".join(['name = "waist"', *lines]) + "\n"


def opening(*lines: str) -> str:
    return "\n[[opening]]\n" + "\n".join(['name = "neckline"', *lines]) + "\n"


def test_an_edge_has_its_own_allowance_or_hem_and_corner(tmp_path: Path) -> None:
    found = only_piece(
        tmp_path,
        SQUARE,
        EDGES,
        'allowances = { side = "15 mm" }',
        'hems = { hem = "turned twice", top = { kind = "twin-needle", depth = "2 cm" } }',
        'corners = { side = "square" }',
    ).edges
    assert found["side"].allowance_mm == 15
    assert found["side"].corner is Corner.SQUARE
    assert found["hem"].hem == Hem.usual(HemKind.TURNED_TWICE)
    assert found["top"].hem == Hem(HemKind.TWIN_NEEDLE, 20, 0)


def test_a_hem_shallower_than_its_usual_turn_under_turns_under_less(tmp_path: Path) -> None:
    hem = 'hems = { hem = { kind = "turned twice", depth = 6 } }'
    assert only_piece(tmp_path, SQUARE, EDGES, hem).edges["hem"].hem == Hem(
        HemKind.TURNED_TWICE, 6, 6
    )


def test_a_side_is_an_edge_a_list_or_a_table(tmp_path: Path) -> None:
    sides = (
        'sides = ["front.top", ["back.top", "back.top reversed"], '
        '{ edges = ["back.hem"], ease = "-5 mm" }]'
    )
    (read,) = job(tmp_path, HEAD + FRONT + BACK + seam(sides, 'tolerance = "1 mm"')).seams
    assert [list(map(str, side.edges)) for side in read.sides] == [
        ["front.top"], ["back.top", "back.top reversed"], ["back.hem"]
    ]  # fmt: skip
    assert [side.ease_mm for side in read.sides] == [0, 0, -5]
    assert (read.name, read.tolerance_mm) == ("waist", 1)


def test_an_opening_names_places_on_its_edges(tmp_path: Path) -> None:
    points = (
        'points = { centre = "front.top at fold", dart = "front.top at dart", '
        'end = "back.top at end", shoulder = "back.top at 1 1/2 in" }'
    )
    text = HEAD + FRONT + BACK + opening('edges = ["front.top", "back.top"]', points)
    (read,) = job(tmp_path, text).openings
    front, back = EdgeRef("front", "top"), EdgeRef("back", "top")
    assert (read.edges, read.closed) == ((front, back), True)
    assert read.points == {
        "centre": Place(front, Spot.FOLD),
        "dart": Place(front, "dart"),
        "end": Place(back, Spot.END),
        "shoulder": Place(back, 38.1),
    }


ALL = 'edges = ["front.top", "back.top"]'
FAULTY = {
    "unknown edge in allowances": (
        piece(SQUARE, EDGES, "allowances = { hme = 3 }", name="x"),
        "allowances.hme",
        "'hme'",
        "'hem'",
    ),
    "unknown edge in hems": (
        piece(SQUARE, EDGES, "hems = { sied = 'rolled' }", name="x"),
        "hems.sied",
        "'sied'",
        "'side'",
    ),
    "unknown hem": (
        piece(SQUARE, EDGES, "hems = { hem = 'rold' }", name="x"),
        "hems.hem.kind",
        "'rold'",
        "'rolled'",
    ),
    "unknown corner": (
        piece(SQUARE, EDGES, "corners = { hem = 'mitre' }", name="x"),
        "corners.hem",
        "'mitre'",
        "'mitred'",
    ),
    "hem and allowance": (
        piece(SQUARE, EDGES, "hems = { hem = 'rolled' }", "allowances = { hem = 3 }", name="x"),
        "allowances.hem",
        "hemmed",
        "Leave it out",
    ),
    "nothing to turn under": (
        piece(SQUARE, EDGES, "hems = { hem = { kind = 'turned once', under = 3 } }", name="x"),
        "hems.hem.under",
        "nothing is turned under",
        "turned twice",
    ),
    "more under than depth": (
        piece(
            SQUARE, EDGES, "hems = { hem = { kind = 'rolled', depth = 3, under = 4 } }", name="x"
        ),
        "hems.hem.under",
        "do not fit",
        "at most the depth",
    ),
    "two allowances for one stretch": (
        piece(
            SQUARE, "edges = { a = [1, 3], b = [2, 3] }", "allowances = { a = 3, b = 4 }", name="x"
        ),
        "edges.b",
        "shares a stretch with 'a'",
        "the same allowance",
    ),
    "one side": (seam('sides = ["front.top"]'), "sides", "too few", "at least 2"),
    "unknown piece": (
        seam('sides = ["frnt.top", "back.top"]'),
        "sides[1].edges[1]",
        "'frnt'",
        "'front'",
    ),
    "unknown edge": (
        seam('sides = ["front.top", "back.tpo reversed"]'),
        "sides[2].edges[1]",
        "'tpo'",
        "'top'",
    ),
    "no edge": (
        seam('sides = ["front.top", "back"]'),
        "sides[2].edges[1]",
        "no edge",
        "front.neck",
    ),
    "unknown key of a side": (
        seam('sides = ["front.top", { edges = ["back.top"], eas = 3 }]'),
        "sides[2].eas",
        "unknown",
        "'ease'",
    ),
    "tolerance below zero": (
        seam('sides = ["front.top", "back.top"]', "tolerance = -1"),
        "tolerance",
        "below zero",
        "0",
    ),
    "place without at": (
        opening(ALL, 'points = { a = "front.top" }'),
        "points.a",
        "no place",
        "at fold",
    ),
    "place of another edge": (
        opening(ALL, 'points = { a = "front.side at end" }'),
        "points.a",
        "not part",
        "Add it",
    ),
    "no fold": (opening(ALL, 'points = { a = "back.top at fold" }'), "points.a", "fold", "start"),
    "unknown place": (
        opening(ALL, 'points = { a = "front.top at drat" }'),
        "points.a",
        "'drat'",
        "'dart'",
    ),
    "not a length": (
        opening(ALL, 'points = { a = "front.top at 3" }'),
        "points.a",
        "no unit",
        "3 cm",
    ),
}


@pytest.mark.parametrize("wrong", FAULTY)
def test_fault_has_place_problem_and_remedy(wrong: str, tmp_path: Path) -> None:
    text, key, problem, remedy = FAULTY[wrong]
    fault = only_fault(tmp_path, HEAD + FRONT + BACK + text)
    assert fault.place.endswith(f", {key}")
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_names_of_seams_and_openings_are_their_own(tmp_path: Path) -> None:
    twice = seam('sides = ["front.top", "back.top"]') * 2 + opening(ALL) * 2
    found = faults(tmp_path, HEAD + FRONT + BACK + twice)
    assert [fault.problem for fault in found] == [
        "2 seams are called 'waist'", "2 openings are called 'neckline'"
    ]  # fmt: skip


def test_a_faulty_piece_does_not_condemn_its_seams(tmp_path: Path) -> None:
    text = HEAD + piece(SQUARE, EDGES, "cut = 0") + BACK
    seams = seam('sides = ["front.top", "back.top"]') + opening(
        ALL, 'points = { a = "front.top at x" }'
    )
    assert only_fault(tmp_path, text + seams).place.endswith("cut")
