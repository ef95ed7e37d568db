"""Each rule of the judge, on the smallest layout that keeps or breaks it."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

import pytest

from marker.cloth.fabric import Cloth, Nap
from marker.judge import MOST_PAIRS, Code, JudgeRefused, check, findings
from marker.layout import Placement
from marker.pattern.piece import CutPiece
from marker.tolerances import JUDGED_MM
from tests.helpers import cloth, cut_piece, layout, place
from tests.random_layouts import moved
from tests.shapes import CUP, ELL, NEEDLE, SQUARE, rectangle

YOKE = cut_piece("yoke", SQUARE * 10)
CLOTH = cloth(100)


def _codes(
    pieces: Sequence[CutPiece],
    placements: Sequence[Placement],
    on: Cloth = CLOTH,
    garments: Sequence[str] = ("38",),
) -> list[Code]:
    return [found.code for found in findings(layout(placements, on), pieces, garments)]


def test_passed_layout_carries_its_pieces_and_their_area() -> None:
    other_cloth = replace(YOKE, name="lining", cloth="lining")
    laid = layout([place(YOKE, 0, 0)], CLOTH, bound_mm=100)
    checked = check(laid, [YOKE, other_cloth], ["38"])
    assert checked.layout is laid
    assert checked.cut_pieces == (YOKE,)
    assert checked.piece_area_mm2 == pytest.approx(10_000)
    assert checked.utilisation == pytest.approx(1)


def test_refusal_names_piece_place_and_measure() -> None:
    laid = layout([place(YOKE, 0, 0.5)], CLOTH)
    with pytest.raises(
        JudgeRefused, match=r"yoke 38 #1/1: lies 0\.50 mm beyond the far selvage"
    ) as e:
        check(laid, [YOKE], ["38"])
    (found,) = e.value.findings
    assert found.code is Code.OFF_CLOTH
    assert found.place_mm is not None
    assert found.place_mm[1] == pytest.approx(100.5)


@pytest.mark.parametrize("edge_mm", [0.5, 10, 1500])
@pytest.mark.parametrize(
    ("lap_mm", "seen"), [(0, False), (1e-9, False), (0.015, False), (0.03, True), (0.2, True)]
)
def test_lapped_edges_of_any_length(edge_mm: float, lap_mm: float, seen: bool) -> None:
    facing = cut_piece("facing", rectangle(300, edge_mm), copies=2)
    laid = [place(facing, 0, 0), place(facing, 300 - lap_mm, 0, copy=2)]
    assert _codes([facing], laid, cloth(edge_mm + 10)) == [Code.OVERLAP] * seen


@pytest.mark.parametrize("thin_mm", [0.01, 1.0, 50.0])
def test_strip_across_another_piece_overlaps(thin_mm: float) -> None:
    strip = cut_piece("strip", rectangle(400, thin_mm))
    laid = [place(YOKE, 150, 0), place(strip, 0, 20)]
    assert _codes([YOKE, strip], laid) == [Code.OVERLAP]


def test_needle_point_pushed_into_an_edge_overlaps() -> None:
    dart = cut_piece("dart", NEEDLE * 10)
    laid = [place(dart, 0, 40), place(YOKE, 99.8, 0)]
    assert _codes([YOKE, dart], laid) == [Code.OVERLAP]
    assert _codes([YOKE, dart], [laid[0], place(YOKE, 100, 0)]) == []


def test_piece_hidden_inside_another_overlaps_and_is_measured() -> None:
    tab = cut_piece("tab", rectangle(20, 10))
    laid = layout([place(YOKE, 0, 0), place(tab, 30, 30)], cloth(110))
    (found,) = findings(laid, [YOKE, tab], ["38"])
    assert found.code is Code.OVERLAP
    assert found.pieces == ("yoke 38 #1/1", "tab 38 #1/1")
    assert "200.00 mm² in all, 10.00 mm across" in found.message


def test_same_piece_twice_in_one_place_overlaps() -> None:
    pair = replace(YOKE, copies=2)
    laid = [place(pair, 0, 0), place(pair, 0, 0, copy=2)]
    assert _codes([pair], laid, cloth(210)) == [Code.OVERLAP]


def test_a_heap_of_pieces_is_refused_soon() -> None:
    heap = replace(YOKE, copies=3000)
    placed = [place(heap, 0, 0, copy=copy) for copy in range(1, 3001)]
    began = time.thread_time()
    found = findings(layout(placed, CLOTH), [heap], ["38"])
    assert time.thread_time() - began < 60
    assert len(found) == MOST_PAIRS + 1
    assert "no rule is checked beyond that" in str(found[-1])


def test_piece_may_lie_in_the_bay_or_cut_out_of_another() -> None:
    cup = cut_piece("cup", CUP * 10)
    plug = cut_piece("plug", rectangle(40, 50))
    assert _codes([cup, plug], [place(cup, 0, 0), place(plug, 30, 30)]) == []
    ring = cut_piece("ring", SQUARE * 10, cutouts=(rectangle(40, 50) + 30.0,))
    nested = layout([place(ring, 0, 0), place(plug, 30, 30)], CLOTH)
    assert check(nested, [ring, plug], ["38"]).piece_area_mm2 == pytest.approx(10_000)
    assert _codes([ring, plug], [place(ring, 0, 0), place(plug, 30, 30.2)]) == [Code.OVERLAP]


@pytest.mark.parametrize(("apart_mm", "found"), [(5, []), (4.99, []), (4.8, [Code.GAP])])
def test_gap(apart_mm: float, found: list[Code]) -> None:
    pair = replace(YOKE, copies=2)
    laid = [place(pair, 0, 0), place(pair, 100 + apart_mm, 0, copy=2)]
    assert _codes([pair], laid, cloth(100, gap_mm=5)) == found


@pytest.mark.parametrize(("x", "y"), [(-0.2, 50), (0, -0.2), (0, 100.2)])
def test_off_each_edge_of_the_cloth(x: float, y: float) -> None:
    assert _codes([YOKE], [place(YOKE, x, y)], cloth(200)) == [Code.OFF_CLOTH]


def test_selvages_are_no_usable_cloth() -> None:
    on = Cloth("jersey", 101, selvage_mm=1)
    assert _codes([YOKE], [place(YOKE, 0, 0)], on) == [Code.OFF_CLOTH, Code.IMPOSSIBLE]


@pytest.mark.parametrize(
    ("length_mm", "bound_mm", "found"),
    [
        (100.09, 100, []),
        (100.2, 0, [Code.LENGTH]),
        (99.9, 0, [Code.LENGTH, Code.IMPOSSIBLE]),
        (100, 100.5, [Code.BOUND]),
        (float("nan"), 0, [Code.NUMBER]),
        (100, float("inf"), [Code.NUMBER, Code.BOUND]),
    ],
)
def test_claimed_lengths(length_mm: float, bound_mm: float, found: list[Code]) -> None:
    laid = layout([place(YOKE, 0, 0)], CLOTH, length_mm=length_mm, bound_mm=bound_mm)
    assert [item.code for item in findings(laid, [YOKE], ["38"])] == found


def test_nothing_laid_is_no_layout() -> None:
    assert _codes([YOKE], []) == [Code.MISSING, Code.LENGTH]
    assert _codes([YOKE], [], garments=()) == [Code.LENGTH]


SLEEVE = cut_piece("sleeve", ELL * 10, mirrored_copies=1)


@pytest.mark.parametrize(
    ("hands", "found"),
    [
        ([False, True], []),
        ([True, False], []),
        ([False, False], [Code.HAND]),
        ([True, True], [Code.HAND]),
        ([True], [Code.MISSING]),
        ([False, True, True], [Code.EXTRA, Code.COPY_NUMBER]),
    ],
)
def test_hands(hands: list[bool], found: list[Code]) -> None:
    laid = [place(SLEEVE, 100.0 * k, 0, mirrored=hand, copy=k + 1) for k, hand in enumerate(hands)]
    assert _codes([SLEEVE], laid) == found


def test_turned_copy_is_no_mirrored_one_even_of_a_symmetric_piece() -> None:
    pair = replace(YOKE, mirrored_copies=1)
    laid = [place(pair, 0, 0), place(pair, 100, 0, rotation_deg=180, copy=2)]
    assert _codes([pair], laid) == [Code.HAND]


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"piece": "collar"}, [Code.UNKNOWN, Code.MISSING, Code.LENGTH]),
        ({"size": "40"}, [Code.UNKNOWN, Code.MISSING, Code.LENGTH]),
        ({"garment": 2}, [Code.GARMENT, Code.MISSING]),
        ({"garment": 0}, [Code.GARMENT, Code.MISSING]),
        ({"copy": 2}, [Code.COPY_NUMBER]),
        ({"x_mm": float("nan")}, [Code.NUMBER, Code.LENGTH]),
        ({"x_mm": 0.2}, [Code.OUTLINE, Code.LENGTH]),
        ({"outline_mm": SQUARE * 10 + 0.2}, [Code.OUTLINE, Code.LENGTH]),
        ({"outline_mm": SQUARE[:3] * 10}, [Code.OUTLINE]),
    ],
)
def test_placement_that_says_something_false(change: dict[str, object], found: list[Code]) -> None:
    laid = replace(place(YOKE, 0, 0), **change)  # type: ignore[arg-type]
    assert _codes([YOKE], [laid]) == found


def test_each_garment_needs_its_own_pieces_in_its_own_size() -> None:
    laid = [place(YOKE, 0, 0), place(YOKE, 100, 0, garment=2)]
    assert _codes([YOKE], laid, garments=("38", "38")) == []
    large = replace(YOKE, size="40")
    assert _codes([YOKE, large], laid, garments=("38", "40")) == [Code.GARMENT, Code.MISSING]
    assert _codes([YOKE], laid[:1], garments=("38", "40")) == [Code.MISSING]


def test_outline_that_crosses_itself_bounds_no_piece() -> None:
    bow = cut_piece("bow", SQUARE[[0, 2, 1, 3]] * 10)
    assert Code.OUTLINE in _codes([bow], [place(bow, 0, 0)])


@pytest.mark.parametrize(
    ("turn_deg", "tolerance_deg", "found"),
    [
        (180, 0, []),
        (540, 0, []),
        (-180, 0, []),
        (359, 1, []),
        (90, 0, [Code.GRAIN]),
        (1.1, 1, [Code.GRAIN]),
    ],
)
def test_grain(turn_deg: float, tolerance_deg: float, found: list[Code]) -> None:
    yoke = replace(YOKE, grain_tolerance_deg=tolerance_deg)
    assert _codes([yoke], [place(yoke, 0, 0, rotation_deg=turn_deg)], cloth(110)) == found


@pytest.mark.parametrize(
    ("nap", "turns_deg", "found"),
    [
        (Nap.EITHER_WAY, (0, 180), []),
        (Nap.ONE_WAY, (0, 90), []),
        (Nap.ONE_WAY, (0, 359), []),
        (Nap.ONE_WAY, (0, 180), [Code.NAP]),
        (Nap.ONE_WAY, (179, 270), [Code.NAP, Code.NAP]),
        (Nap.ONE_WAY_PER_GARMENT, (180, 270), []),
        (Nap.ONE_WAY_PER_GARMENT, (0, 181), [Code.NAP]),
        (Nap.ONE_WAY_PER_GARMENT, (359, 90), []),
    ],
)
def test_nap_goes_by_the_turn_meant_not_the_tilt(
    nap: Nap, turns_deg: tuple[float, float], found: list[Code]
) -> None:
    panel = replace(YOKE, copies=2, turns=(0.0, 90.0, 180.0, 270.0), grain_tolerance_deg=1)
    laid = [
        place(panel, 110.0 * k, 0, rotation_deg=turn, copy=k + 1)
        for k, turn in enumerate(turns_deg)
    ]
    assert _codes([panel], laid, cloth(110, nap)) == found


def test_garments_may_point_opposite_ways_if_each_agrees() -> None:
    laid = [place(YOKE, 0, 0), place(YOKE, 100, 0, rotation_deg=180, garment=2)]
    both = ("38", "38")
    assert _codes([YOKE], laid, cloth(100, Nap.ONE_WAY_PER_GARMENT), both) == []
    assert _codes([YOKE], laid, cloth(100, Nap.ONE_WAY), both) == [Code.NAP]


def test_all_findings_are_reported_at_once() -> None:
    pair = replace(YOKE, copies=2)
    laid = [place(pair, -5, 0), place(pair, 50, 0, rotation_deg=90, copy=1)]
    codes = set(_codes([pair], laid))
    assert codes == {Code.OFF_CLOTH, Code.OVERLAP, Code.GRAIN, Code.COPY_NUMBER, Code.IMPOSSIBLE}


def test_tolerance_is_the_same_for_every_edge() -> None:
    within, beyond = 0.9 * JUDGED_MM, 1.1 * JUDGED_MM
    assert _codes([YOKE], [moved(place(YOKE, 0, 0), -within, -within)]) == []
    off = moved(place(YOKE, 0, 0), -beyond, -beyond)
    assert _codes([YOKE], [off]) == [Code.OFF_CLOTH, Code.OFF_CLOTH]
