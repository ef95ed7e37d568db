"""Edges, seams and openings of a job file: what they become, and every fault at its place."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from marker.pattern.allowances import cut_ring
from marker.pattern.edge import Corner, EdgeRef, Hem, HemKind
from marker.pattern.seams.sewing import Place, Spot
from marker.pattern.stitching import edge_length_mm
from tests.jobfile.writer import HEAD, SQUARE, faults, job, only_fault, only_piece, piece

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
    (read,) = job(tmp_path, HEAD + FRONT + BACK + seam(sides, 'tolerance = "1 mm"')).pattern.seams
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
    (read,) = job(tmp_path, text).pattern.openings
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
    "place beyond its edge": (
        opening(ALL, 'points = { a = "front.top at 101 mm" }'),
        "points.a",
        "10.1 cm of edge front.top, whose stitching line is only 10 cm long",
        "on the edge",
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


UPWARD = (
    "points = [[0, 0], [200, 0], [200, 300], [0, 300]]",
    'edges = { side = [2, 3], slit = [2, "hip"], upper = ["hip", 3] }',
    'notches = [{ edge = "side", at = "8 cm", name = "hip" }]',
)
DOWNWARD = (
    "points = [[0, 0], [0, 300], [200, 300], [200, 0]]",
    'edges = { side = [3, 4], slit = ["hip", 4], upper = [3, "hip"] }',
    'notches = [{ edge = "side", at = "22 cm", name = "hip" }]',
)


@pytest.mark.parametrize("drawn", [UPWARD, DOWNWARD])
def test_an_edge_may_end_at_a_notch(drawn: tuple[str, ...], tmp_path: Path) -> None:
    """Up a side of 300: 80 to the notch, the rest beyond it, each with its own allowance."""
    own = ('line = "stitching line"', 'allowances = { slit = "2 cm" }')
    found = only_piece(tmp_path, *drawn, *own)
    lengths = [edge_length_mm(found, name) for name in ("side", "slit", "upper")]
    assert lengths == pytest.approx([300, 80, 220])
    assert shapely.Polygon(cut_ring(found).points).area == pytest.approx(200 * 300 + 20 * 80)


@pytest.mark.parametrize(("drawn", "slit"), [(UPWARD, 80), (DOWNWARD, 70)])
def test_a_notch_of_a_cut_line_ends_an_edge_on_the_stitching_line(
    drawn: tuple[str, ...], slit: float, tmp_path: Path
) -> None:
    """Measured from the corner of the stitching line, 5 in from that of the cut line."""
    found = only_piece(tmp_path, *drawn, "allowance = 5")
    lengths = [edge_length_mm(found, name) for name in ("side", "slit", "upper")]
    assert lengths == pytest.approx([290, slit, 290 - slit])


def test_an_edge_ending_at_a_notch_has_its_faults_too(tmp_path: Path) -> None:
    side, notch = "side = [2, 3]", 'notches = [{ edge = "side", at = 20, name = "hip" }]'
    for edge, said in [
        ('[2, "hpi"]', "no notch called 'hpi'"),
        ('["hip", "hip"]', "one point"),
        ("[2, 1.5]", "number of a corner or the name of a notch"),
    ]:
        text = HEAD + piece(SQUARE, f"edges = {{ {side}, slit = {edge} }}", notch)
        assert said in only_fault(tmp_path, text).problem
    on_slit = 'notches = [{ edge = "slit", at = 2 }, { edge = "side", at = 20, name = "hip" }]'
    text = HEAD + piece(SQUARE, f'edges = {{ {side}, slit = [2, "hip"] }}', on_slit)
    assert "itself ends at a notch" in only_fault(tmp_path, text).problem
    beyond = HEAD + piece(
        SQUARE, f'edges = {{ {side}, slit = [2, "hip"] }}', notch.replace("20", "999")
    )
    assert "beyond the end of 'side'" in only_fault(tmp_path, beyond).problem


def test_a_side_that_may_be_read_in_two_ways_is_a_fault(tmp_path: Path) -> None:
    on_fold = piece(SQUARE, "fold = [4, 1]", "edges = { neck = [3, 4] }", name="back")
    pair = "".join(
        piece(SQUARE, "cut = 2", "pair = true", "edges = { neck = [3, 4] }", name=name)
        for name in ("left", "right")
    )
    neck = '["left.neck", "back.neck", "right.neck"]'
    fault = only_fault(tmp_path, HEAD + on_fold + pair + seam(f'sides = [{neck}, "left.neck"]'))
    assert fault.place.endswith("seam 1 (waist), sides[1]")
    assert "goes on over the fold at back.neck" in fault.problem
    assert "List one half" in fault.remedy
    ring = f'[[opening]]\nname = "neck"\nedges = {neck}\n'
    assert only_fault(tmp_path, HEAD + on_fold + pair + ring).place.endswith("(neck), edges")


@pytest.mark.parametrize("at", ["fold", "start", "1 cm", "hip"])
def test_a_place_on_a_faulty_edge_is_no_further_fault(at: str, tmp_path: Path) -> None:
    faulty = piece(SQUARE, "edges = { neck = [1, 9] }", "fold = [4, 1]")
    places = f"points = {{ tip = 'front.neck at {at}' }}"
    match = f"\n[[match]]\nname = 'm'\npoints = ['front.neck at {at}']\nat = {{ along = 3 }}\n"
    head = HEAD.replace('150 cm"', '150 cm", repeat = { along = 90 }')
    fault = only_fault(tmp_path, head + faulty + opening("edges = ['front.neck']", places) + match)
    assert fault.place.endswith("edges.neck")
