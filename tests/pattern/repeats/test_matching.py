"""Which hands and halves are sewn together, seen from seams of pieces lying right side up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from marker.errors import CannotBeDone
from marker.pattern.edge import Edge
from marker.pattern.piece import Piece
from marker.pattern.repeats.match import Match, MatchPlace, MatchPoint, meets
from marker.pattern.repeats.matching import match_points
from marker.pattern.seams.sewing import Spot
from tests.planning.plaids import BOTH, at, body, pocket, sleeve


def points(
    pieces: list[Piece], first: MatchPlace, second: MatchPlace | None = None
) -> dict[str, tuple[MatchPoint, ...]]:
    match = Match("seam", 1, (first, second) if second else (first,), BOTH)
    return match_points(pieces, [match])


def sides(found: tuple[MatchPoint, ...]) -> list[tuple[float, int]]:
    """(x as drawn, side) of each point."""
    return [(float(each.point[0]), each.side) for each in found]


def test_two_right_edges_meet_by_the_other_half() -> None:
    """The side of a front and of a back drawn alike: the drawn front goes to the back's left."""
    front, back = body("front", 260, on_fold=False), body("back", 270, on_fold=True)
    found = points([front, back], at("front", "side", 0.0), at("back", "side", 0.0))
    assert sides(found["front"]) == [(260, 1)]
    assert sides(found["back"]) == [(270, -1), (-270, 1)]
    (drawn,), (right, left) = found["front"], found["back"]
    assert meets(drawn.laid_side(mirrored=False), left.laid_side(mirrored=False))
    assert meets(drawn.laid_side(mirrored=True), right.laid_side(mirrored=False))
    assert not meets(drawn.laid_side(mirrored=False), right.laid_side(mirrored=False))


def test_a_right_edge_meets_a_left_one_as_drawn() -> None:
    front, turned = body("front", 260, on_fold=False), body("back", 270, on_fold=False)
    outline = (turned.outline * [-1, 1])[::-1]
    back = replace(turned, outline=outline, edges={"side": Edge(3, 4)})
    found = points([front, back], at("front", "side", 0.0), at("back", "side", 450.0))
    assert [each.side for name in ("front", "back") for each in found[name]] == [1, 1]


def test_a_piece_meets_its_own_other_hand_at_the_centre() -> None:
    front = body("front", 260, on_fold=False)
    place = at("front", "centre", 250.0)
    assert sides(points([front], place, place)["front"]) == [(0, 1), (0, -1)]


def test_crosswise_seams_and_pieces_lying_on_others_meet_as_drawn() -> None:
    front = body("front", 260, on_fold=False)
    skirt = replace(front, name="skirt")
    found = points([front, skirt], at("front", "hem", 90.0), at("skirt", "hem", 90.0))
    assert [found[name][0].side for name in ("front", "skirt")] == [1, 1]
    found = points(
        [front, pocket()], at("pocket", "bottom", Spot.END), at("front", "side", 90.0, 40.0)
    )
    assert [found[name][0].side for name in ("front", "pocket")] == [1, 1]
    # 40 mm square in from the side, which leans by 20 in 450
    lean = np.array([-20, 450]) / np.hypot(20, 450)
    expected = np.array([260, 0]) + 90 * lean + 40 * np.array([-lean[1], lean[0]])
    assert found["front"][0].point == pytest.approx(expected)


def test_a_sleeve_goes_to_the_armhole_of_its_own_hand() -> None:
    """Its front cap, drawn on the left, to the armhole of the front as drawn, on the right."""
    front = body("front", 260, on_fold=False)
    found = points(
        [front, sleeve(300)], at("front", "armhole", 80.0), at("sleeve", "front cap", 90.0)
    )
    assert [found[name][0].side for name in ("front", "sleeve")] == [1, 1]
    found = points(
        [front, sleeve(300)], at("front", "armhole", 80.0), at("sleeve", "back cap", 90.0)
    )
    assert [found[name][0].side for name in ("front", "sleeve")] == [1, -1]


def test_a_point_on_the_fold_is_one_and_meets_both() -> None:
    back = body("back", 270, on_fold=True)
    found = points([back], at("back", "hem", Spot.START))["back"]
    assert sides(found) == [(0, 0)]
    assert meets(found[0].side, 1)
    assert meets(-1, found[0].side)


def test_letters_run_on_past_z() -> None:
    letters = [Match("m", number, (), BOTH).letter for number in (1, 26, 27, 52, 53)]
    assert letters == ["A", "Z", "AA", "AZ", "BA"]


def test_a_place_beyond_its_edge_is_refused() -> None:
    with pytest.raises(CannotBeDone, match=r"only 15\.1 cm long"):
        points([body("front", 260, on_fold=False)], at("front", "armhole", 200.0))
