"""Copies cut together: hands, halves on the fold, belts, spares, across garments; and nap."""

from __future__ import annotations

from dataclasses import replace

import pytest

from marker.cloth.fabric import Nap
from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone
from marker.pattern.piece import CutPiece
from marker.placement.problem.cuts import Cut, labels
from marker.placement.problem.cutting_plans import CuttingPlan, cutting_plans
from tests.helpers import SIZE, cloth, cut_piece
from tests.shapes import CAST, polygon, rectangle

ELL = CAST["ell"] * 20
LENGTHWISE = Spreading.FOLDED_LENGTHWISE
KITE = polygon((0, 0), (60, -40), (200, 0), (60, 40))  # like its mirror image about its grain


def plans(
    *pieces: CutPiece,
    garments: int = 1,
    spreading: Spreading = LENGTHWISE,
    nap: Nap = Nap.EITHER_WAY,
    width: float = 1500.0,
    gap: float = 0.0,
) -> tuple[CuttingPlan, ...]:
    on = cloth(width, nap, gap)
    return cutting_plans(labels(pieces, [SIZE] * garments), spreading, on, {})


def said(cut: Cut) -> tuple[str, ...]:
    """The copies of a cut in short: garment, copy and hand."""
    every = [each for each in (cut.label, cut.twin) if each]
    words = [f"{each.garment}/{each.copy}{'m' * each.mirrored}" for each in every]
    return (*words, *["spare"] * cut.spare, *["fold"] * cut.on_fold)


def cut(plan: CuttingPlan) -> list[list[tuple[str, ...]]]:
    return [[said(each) for each in stretch.cuts] for stretch in plan]


def on_fold(name: str = "front", **keys: object) -> CutPiece:
    piece = cut_piece(name, KITE, **keys)  # type: ignore[arg-type]
    return replace(piece, fold_line=polygon((0, 0), (200, 0)))


def test_a_pair_is_one_cut_and_a_piece_on_the_fold_another() -> None:
    sleeve = cut_piece("sleeve", ELL, copies=1, mirrored_copies=1)
    (plan,) = plans(sleeve, on_fold())
    assert cut(plan) == [[("1/1", "1/2m"), ("1/1", "fold")]]
    (stretch,) = plan
    assert stretch.problem.width == 750
    hands = {orientation.mirrored for orientation in stretch.problem.items[0].orientations}
    assert hands == {False, True}  # either may be seen, the other lies below
    half = stretch.problem.items[1].orientations
    assert [orientation.lane for orientation in half] == [(710, 750), (710, 750)]


def test_the_same_hand_pairs_only_where_a_piece_is_its_own_mirror_image() -> None:
    belt = cut_piece("belt", rectangle(300, 50), copies=3)
    pocket = cut_piece("pocket", ELL, copies=2)
    spared, laid_open = plans(belt, pocket)
    assert cut(spared) == [[("1/1", "1/2"), ("1/3", "spare"), ("1/1", "spare"), ("1/2", "spare")]]
    assert cut(laid_open) == [[("1/1", "1/2")], [("1/3",), ("1/1",), ("1/2",)]]


def test_notches_on_one_side_keep_a_strip_from_being_its_own_mirror_image() -> None:
    binding = cut_piece("binding", rectangle(300, 50), copies=2)
    assert cut(plans(binding)[0]) == [[("1/1", "1/2")]]
    notched = replace(binding, notches=polygon((100, 0)))
    sleeve = cut_piece("sleeve", ELL, copies=1, mirrored_copies=1)
    pairs = [each for each in plans(notched, sleeve)[0][0].cuts if each.twin]
    assert [each.label.piece.name for each in pairs] == ["sleeve"]


def test_copies_are_paired_across_garments_and_tie_their_directions() -> None:
    patch = cut_piece("patch", KITE)
    collar = cut_piece("collar", ELL, copies=1, mirrored_copies=1)
    (plan,) = plans(patch, collar, garments=4, nap=Nap.ONE_WAY_PER_GARMENT)
    assert cut(plan) == [
        [("1/1", "2/1"), ("1/1", "1/2m"), ("2/1", "2/2m"), ("3/1", "4/1"), ("3/1", "3/2m"),
         ("4/1", "4/2m")]
    ]  # fmt: skip
    assert [item.group for item in plan[0].problem.items] == [1, 1, 1, 3, 3, 3]


def test_a_one_way_nap_keeps_twins_from_pointing_apart() -> None:
    """A kite whose grain runs across its axis is turned round by folding: with a one-way nap its
    two copies can't be twins. Crosswise fold and cut-and-turned swap the two."""
    along = cut_piece("tab", KITE, copies=2)
    across = cut_piece("tab", KITE[:, ::-1][::-1], copies=2)
    pair = [[("1/1", "1/2")]]
    for piece, spreading, nap, alike in (
        (along, LENGTHWISE, Nap.ONE_WAY, True),
        (across, LENGTHWISE, Nap.EITHER_WAY, True),
        (across, LENGTHWISE, Nap.ONE_WAY, False),
        (along, Spreading.CUT_AND_TURNED, Nap.ONE_WAY, True),
        (along, Spreading.FOLDED_CROSSWISE, Nap.EITHER_WAY, True),
    ):
        if alike:
            assert cut(plans(piece, spreading=spreading, nap=nap)[0]) == pair
        else:
            with pytest.raises(CannotBeDone, match="no piece can be cut as a pair"):
                plans(piece, spreading=spreading, nap=nap)


def test_crosswise_twins_must_be_allowed_to_lie_turned_back() -> None:
    sleeve = cut_piece("sleeve", ELL, copies=1, mirrored_copies=1)
    assert cut(plans(sleeve, spreading=Spreading.FOLDED_CROSSWISE)[0]) == [[("1/1", "1/2m")]]
    forward = replace(sleeve, turns=(0.0,))
    with pytest.raises(CannotBeDone, match="no piece can be cut as a pair"):
        plans(forward, spreading=Spreading.FOLDED_CROSSWISE)
    turned = Spreading.CUT_AND_TURNED
    assert cut(plans(forward, spreading=turned, nap=Nap.ONE_WAY)[0]) == [[("1/1", "1/2m")]]


@pytest.mark.parametrize("nap", [Nap.ONE_WAY, Nap.ONE_WAY_PER_GARMENT])
def test_folded_crosswise_a_nap_would_run_back(nap: Nap) -> None:
    sleeve = cut_piece("sleeve", ELL, copies=1, mirrored_copies=1)
    with pytest.raises(CannotBeDone, match=r"nap of jersey runs back .* 'cut and turned'"):
        plans(sleeve, spreading=Spreading.FOLDED_CROSSWISE, nap=nap)


def test_quarter_turns_only_where_both_copies_say_so() -> None:
    """Turned by 90°, a pair's other hand comes out turned by 270°."""
    yoke = cut_piece("yoke", ELL, copies=1, mirrored_copies=1, turns=(0.0, 90.0))
    turns = {
        orientation.rotation_deg for orientation in plans(yoke)[0][0].problem.items[0].orientations
    }
    assert turns == {0.0}
    both = replace(yoke, turns=(0.0, 90.0, 270.0))
    turns = {
        orientation.rotation_deg for orientation in plans(both)[0][0].problem.items[0].orientations
    }
    assert turns == {0.0, 90.0, 270.0}
    napped = plans(both, nap=Nap.ONE_WAY)[0][0].problem.items[0].orientations
    assert {orientation.rotation_deg for orientation in napped} == {0.0}


def test_a_fold_line_across_the_cloth_keeps_a_piece_off_the_fold() -> None:
    across = replace(cut_piece("front", KITE[:, ::-1][::-1]), fold_line=polygon((0, 0), (0, 200)))
    sleeve = cut_piece("sleeve", ELL, copies=1, mirrored_copies=1)
    assert cut(plans(across, sleeve)[0]) == [[("1/1", "1/2m"), ("1/1", "spare")]]
    turned = replace(across, turns=(0.0, 90.0))
    assert cut(plans(turned)[0]) == [[("1/1", "fold")]]


def test_gaps_are_kept_at_the_fold_and_reach_over_the_selvage() -> None:
    sleeve = cut_piece("sleeve", ELL, copies=1, mirrored_copies=1)
    stretch = plans(sleeve, gap=6.0)[0][0]
    assert stretch.problem.width == 756
    assert {orientation.lane for orientation in stretch.problem.items[0].orientations} == {
        (0.0, 753.0)
    }


def test_a_double_fold_has_two_lanes_and_two_folds() -> None:
    sleeve = cut_piece("sleeve", ELL, copies=1, mirrored_copies=1)
    (plan,) = plans(sleeve, on_fold(), spreading=Spreading.DOUBLE_FOLD, width=1200)
    pair, half = plan[0].problem.items
    assert {orientation.lane for orientation in pair.orientations} == {(0.0, 300.0), (300.0, 600.0)}
    assert {orientation.lane for orientation in half.orientations} == {(0.0, 40.0), (560.0, 600.0)}
