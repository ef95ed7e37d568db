"""The repeat solved: by hand on rectangles, rings of matches closed or refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from marker.cloth.repeat import Axis, Bars
from marker.errors import CannotBeDone
from marker.job import Job
from marker.pattern.edge import Edge
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.repeats.match import Match
from marker.pattern.repeats.phases import Hand, match_places, phases
from tests.planning.plaids import BOTH, at, body, plaid, tunic

ALONG, ACROSS = BOTH


def panel(name: str, width: float, height: float, *, pair: bool = False) -> Piece:
    """A rectangle, grain up: 0 along the cloth is its foot, 0 across its right."""
    outline = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=float)
    edges = {"right": Edge(1, 2), "left": Edge(3, 0), "foot": Edge(0, 1)}
    return Piece(name, "plaid", outline, cut=2 if pair else 1, pair=pair, edges=edges)


def solved(
    pieces: list[Piece], matches: list[Match], along: Bars | None, across: Bars | None
) -> dict[Axis, dict[Hand, float]]:
    cloth = plaid(along, across)
    job = Job(
        "bags", "38", (Pattern("38", tuple(pieces), matches=tuple(matches)),), (cloth,), {"38": 1}
    )
    return phases(job.cut_pieces(cloth), cloth)


def test_two_panels_side_by_side_by_hand() -> None:
    """Grain up is +x on the cloth, so right of the drawing is -y: across runs from right to left.

    a.right at 30 mm is (30, 0) on a; b.left at 20 mm from its top is (80 - 20, 50) on b, whose
    width is 50. Matched: b's origin is at (30 - 60, 0 - 50) from a's, modulo 70 and 40.
    """
    seam = Match("seam", 1, (at("a", "right", 30.0), at("b", "left", 20.0)), BOTH, {ALONG: 10.0})
    known = solved([panel("a", 100, 90), panel("b", 50, 80)], [seam], Bars(70), Bars(40))
    a, b = ("a", "38", False), ("b", "38", False)
    # a's point lies 10 mm into the repeat along, and across, by default, where it begins
    assert known[ALONG] == pytest.approx({a: (10 - 30) % 70, b: (10 - 60) % 70})
    assert known[ACROSS] == pytest.approx({a: 0, b: (0 - 50) % 40}, abs=1e-9)


def test_only_the_axes_of_a_match_are_tied() -> None:
    seam = Match("seam", 1, (at("a", "right", 30.0), at("b", "left", 20.0)), (ALONG,))
    known = solved([panel("a", 100, 90), panel("b", 50, 80)], [seam], Bars(70), Bars(40))
    assert len(known[ALONG]) == 2
    assert known[ACROSS] == {}


@pytest.mark.parametrize("over", [0.0, 0.4, 0.6, 30.0])
def test_a_ring_must_close_on_the_repeat(over: float) -> None:
    """Two panels sewn to a tube of 80 + `over` mm around: two repeats of 40 mm, or not."""
    pieces = [panel("a", 50, 90), panel("b", 30 + over, 90)]
    ring = [
        Match("front", 1, (at("a", "right", 30.0), at("b", "left", 60.0)), BOTH),
        Match("back", 2, (at("a", "left", 60.0), at("b", "right", 30.0)), BOTH),
    ]
    if over < 0.5:
        assert len(solved(pieces, ring, Bars(70), Bars(40))[ACROSS]) == 2
        return
    off = min(over % 40, -over % 40)
    said = f"'back' cannot hold across plaid: .*a.left at 60 mm and b.right at 30 mm {off:g} mm"
    with pytest.raises(CannotBeDone, match=said) as refused:
        solved(pieces, ring, Bars(70), Bars(40))
    assert "already tied by 'front'" in str(refused.value)
    assert "Leave 'across' out of the `axes`" in str(refused.value)


def test_two_places_given_must_agree() -> None:
    matches = [
        Match("low", 1, (at("a", "right", 30.0),), (ALONG,), {ALONG: 0.0}),
        Match("high", 2, (at("a", "right", 75.0),), (ALONG,), {ALONG: 5.0}),
    ]
    with pytest.raises(CannotBeDone, match="'high' cannot hold along plaid"):
        solved([panel("a", 100, 90)], matches, Bars(70), None)
    assert solved([panel("a", 100, 90)], matches, Bars(40), None)[ALONG]


@pytest.mark.parametrize("even", [True, False])
def test_left_and_right_of_a_tunic(even: bool) -> None:
    """Along, both hands lie alike. The centre front lies where the repeat begins on both hands, and
    the pattern runs on over it; so on an even repeat left mirrors right."""
    cloth = plaid(Bars(120), Bars(90, 25, even))
    job = tunic(cloth)
    known = phases(job.cut_pieces(cloth), cloth)
    for name in ("front", "sleeve"):
        drawn, other = (known[ALONG][name, "38", hand] for hand in (False, True))
        assert drawn == pytest.approx(other)
        drawn, other = (known[ACROSS][name, "38", hand] for hand in (False, True))
        assert (drawn + other) % 90 == pytest.approx(0, abs=1e-6)
    assert ("back", "38", False) not in known[ACROSS]


def test_what_nothing_places_has_its_fold_where_the_repeat_begins() -> None:
    back, cloth = body("back", 270, on_fold=True), plaid(None, Bars(90))
    waist = Match("waist", 1, (at("back", "side", 100.0), at("a", "left", 20.0)), (ACROSS,))
    job = Job(
        "t",
        "38",
        (Pattern("38", (panel("a", 50, 80), back), matches=(waist,)),),
        (cloth,),
        {"38": 1},
    )
    pieces = job.cut_pieces(cloth)
    known = phases(pieces, cloth)[ACROSS]
    (cut,) = (piece for piece in pieces if piece.name == "back")
    assert cut.fold_line is not None
    fold = known["back", "38", False] + cut.fold_line[0, 1]
    assert (fold + 1) % 90 == pytest.approx(1)


def test_the_other_hand_mirrors_a_place_given_if_the_repeat_is_even() -> None:
    placed = Match("left", 1, (at("a", "right", 30.0),), BOTH, {ALONG: 12.0, ACROSS: 7.0})
    for even, other in ((True, 33.0), (False, 7.0)):
        known = solved([panel("a", 100, 90, pair=True)], [placed], Bars(70), Bars(40, 0, even))
        assert known[ALONG]["a", "38", True] == pytest.approx((12 - 30) % 70)
        assert known[ACROSS]["a", "38", False] == pytest.approx(7)
        assert known[ACROSS]["a", "38", True] == pytest.approx(other)


def test_where_each_match_lies_is_told() -> None:
    cloth = plaid(Bars(120), None)
    seam = Match("seam", 3, (at("a", "right", 30.0), at("b", "left", 20.0)), (ALONG,), {ALONG: 9.0})
    pieces = (panel("a", 100, 90), panel("b", 50, 80))
    job = Job("t", "38", (Pattern("38", pieces, matches=(seam,)),), (cloth,), {"38": 1})
    assert match_places(job.cut_pieces(cloth), cloth) == {3: {ALONG: pytest.approx(9.0)}}


def test_pieces_that_lie_square_to_each_other_cannot_match() -> None:
    seam = Match("seam", 1, (at("a", "right", 30.0), at("b", "left", 20.0)), BOTH)
    crosswise = replace(panel("b", 50, 80), turns=(90.0, 270.0))
    with pytest.raises(CannotBeDone, match="b is turned 90°"):
        solved([panel("a", 100, 90), crosswise], [seam], Bars(70), Bars(40))
