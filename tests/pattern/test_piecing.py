"""Pieces cut in two: along their fold or across their middle, sewn together the same again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.job import Job
from marker.pattern.edge import Stretch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import CutPiece, Line, Piece
from marker.pattern.piecing import pieced
from tests.helpers import SIZE, cut_piece
from tests.shapes import CUP, polygon, rectangle

CLOTH = Cloth("jersey", 1500.0)
HALF = polygon((0, 0), (200, 0), (160, 300), (0, 320))  # the fold is its left edge


def cut(piece: Piece) -> tuple[CutPiece, ...]:
    return Job("choir dress", SIZE, (Pattern(SIZE, (piece,)),), (CLOTH,), {SIZE: 1}).cut_pieces(
        CLOTH
    )


@pytest.mark.parametrize("line", list(Line))
def test_two_halves_sewn_at_the_fold_are_the_whole(line: Line) -> None:
    on_fold = Piece("skirt front", "jersey", HALF, fold=Stretch(3, 0), line=line, allowance_mm=10)
    (whole,) = cut(on_fold)
    (half,) = cut(replace(on_fold, fold_seam_mm=15.0))
    assert (whole.copies, whole.mirrored_copies) == (1, 0)
    assert (half.copies, half.mirrored_copies) == (1, 1)
    areas = [shapely.Polygon(each.stitching).area for each in (whole, half)]
    assert areas[0] == pytest.approx(2 * areas[1])
    across = [np.ptp(each.outline[:, 1]) for each in (whole, half)]
    assert across[1] == pytest.approx(across[0] / 2 + 15)
    assert "seam in place of the fold" in half.note


def test_a_fold_seam_adds_to_a_piece_without_other_allowances() -> None:
    (half,) = cut(Piece("front", "jersey", HALF, fold=Stretch(3, 0), fold_seam_mm=10.0))
    plain = shapely.Polygon(HALF).area
    assert shapely.Polygon(half.stitching).area == pytest.approx(plain)
    assert shapely.Polygon(half.outline).area == pytest.approx(plain + 10 * 320, rel=0.01)


def test_two_parts_sewn_across_the_middle_are_the_whole() -> None:
    whole = cut_piece("belt", rectangle(900, 80), copies=2)
    parts = pieced(whole, 12.0)
    assert [part.name for part in parts] == ["belt part 1", "belt part 2"]
    assert [np.ptp(part.outline, axis=0).tolist() for part in parts] == [[462, 80]] * 2
    assert sum(shapely.Polygon(part.stitching).area for part in parts) == pytest.approx(900 * 80)
    assert all(part.copies == 2 for part in parts)


def test_notches_and_cutouts_go_with_their_part() -> None:
    whole = replace(
        cut_piece("facing", rectangle(600, 100), cutouts=(rectangle(50, 50) + 20.0,)),
        notches=polygon((100, 0), (500, 100)),
    )
    first, second = pieced(whole, 10.0)
    assert first.notches.tolist() == [[100, 0]]
    assert second.notches.tolist() == [[500 - 290, 100]]
    assert (len(first.cutouts), len(second.cutouts)) == (1, 0)


def test_what_falls_into_three_is_refused() -> None:
    with pytest.raises(CannotBeDone, match="in two"):
        pieced(cut_piece("facing", CUP * [10, 100]), 1.0)
