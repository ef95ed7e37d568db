"""Layouts carried over: wider cloth, a freer nap or a piece less never need more.

The layouts are made by sliding pieces together, without any search; the judge looks at each again.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Polygon

from marker import judge
from marker.cloth.fabric import Cloth, Nap
from marker.cloth.repeat import Border, Side
from marker.cloth.spread import Spread, Spreading, Tube
from marker.layout import CheckedLayout, Placement
from marker.planning.carrying import carried_over
from tests.helpers import cloth, cut_piece, layout, place
from tests.random_layouts import sound_case
from tests.shapes import rectangle

SEEDS = range(40)


def checked(seed: int, nap: Nap | None = None) -> CheckedLayout:
    case = sound_case(np.random.default_rng(seed), nap)
    return judge.check(case.layout, case.pieces, case.garments)


@pytest.mark.parametrize("seed", SEEDS)
def test_wider_cloth_never_needs_more(seed: int) -> None:
    narrow = checked(seed)
    on = narrow.layout.cloth
    wide = carried_over(narrow, replace(on, width_mm=on.width_mm + 1 + 10 * seed))
    assert wide is not None
    assert wide.layout.length_mm == narrow.layout.length_mm
    assert wide.utilisation < narrow.utilisation
    assert wide.piece_area_mm2 == narrow.piece_area_mm2


@pytest.mark.parametrize("seed", SEEDS)
def test_one_way_never_beats_either_way(seed: int) -> None:
    """What lies one way is a layout of cloth without a nap, and of one nap for each garment."""
    strict = checked(seed, Nap.ONE_WAY)
    for nap in (Nap.ONE_WAY_PER_GARMENT, Nap.EITHER_WAY):
        free = carried_over(strict, replace(strict.layout.cloth, nap=nap))
        assert free is not None
        assert free.layout.length_mm == strict.layout.length_mm


@pytest.mark.parametrize("seed", SEEDS)
def test_adding_a_piece_never_shortens(seed: int) -> None:
    """With one kind of piece left out the others lie where they lay."""
    every = checked(seed)
    kept = {piece.name for piece in every.cut_pieces[1:]}
    fewer = carried_over(every, every.layout.cloth, kept)
    assert fewer is not None
    assert fewer.layout.length_mm <= every.layout.length_mm
    assert {placement.piece for placement in fewer.layout.placements} == kept
    ends = [Polygon(each.outline_mm).bounds[2] for each in fewer.layout.placements]
    assert fewer.layout.length_mm == pytest.approx(max(ends))


def test_narrower_cloth_or_a_stricter_nap_is_refused() -> None:
    turned = place(cut_piece("flag", rectangle(40, 30)), 0, 0, rotation_deg=180.0)
    piece = cut_piece("flag", rectangle(40, 30))
    laid = judge.check(layout([turned], cloth(30)), [piece], ["38"])
    assert carried_over(laid, cloth(29)) is None
    assert carried_over(laid, cloth(30, Nap.ONE_WAY)) is None
    assert carried_over(laid, cloth(30)) is not None


def tube(width_mm: float, crease_mm: float = 0.0) -> Cloth:
    return replace(cloth(width_mm), tube=Tube(crease_mm))


def spread_pair(
    spreading: Spreading,
    on: Cloth,
    *at: tuple[float, float],
    on_fold: bool = False,
) -> CheckedLayout:
    """Two squares of 40 mm whose lower corners lie at these places on the flat cloth."""
    piece = cut_piece("square", rectangle(40, 40), copies=2, turns=(0.0, 90.0, 180.0, 270.0))
    if on_fold:
        piece = replace(piece, fold_line=np.array([[0.0, 20.0], [40.0, 20.0]]))
    puts = [place(piece, x, y, copy=k) for k, (x, y) in enumerate(at, start=1)]
    flat = layout(puts, on)
    two_ply = flat.length_mm / (2 if spreading.ends_meet else 1)
    two_ply *= spreading.plies - 1
    return judge.check(replace(flat, spread=Spread(spreading, two_ply)), [piece], ["38"])


def corners(found: CheckedLayout | None) -> list[tuple[float, float]]:
    def corner(placement: Placement) -> tuple[float, float]:
        x, y = placement.outline_mm.min(axis=0)
        return float(x), float(y)

    assert found is not None
    return [corner(placement) for placement in found.layout.placements]


def test_folded_lengthwise_the_fold_moves_to_the_new_middle() -> None:
    """Folded at 50 mm, mirror images 5 mm from it on both sides; at 70 mm they are so again."""
    narrow = spread_pair(Spreading.FOLDED_LENGTHWISE, cloth(100), (0, 5), (0, 55))
    assert corners(carried_over(narrow, cloth(140))) == [(0, 25), (0, 75)]


def test_double_fold_each_half_moves_with_its_fold() -> None:
    """Folds at a quarter and three quarters of the width: 50 and 150 mm, then 60 and 180 mm."""
    narrow = spread_pair(Spreading.DOUBLE_FOLD, cloth(200), (0, 5), (0, 55))
    assert corners(carried_over(narrow, cloth(240))) == [(0, 15), (0, 65)]


def test_cut_and_turned_the_lower_length_keeps_to_its_far_selvage() -> None:
    narrow = spread_pair(Spreading.CUT_AND_TURNED, cloth(60), (0, 5), (40, 15))
    assert corners(carried_over(narrow, cloth(80))) == [(0, 5), (40, 35)]


def test_around_a_tube_the_lower_ply_keeps_to_its_own_fold() -> None:
    """A tube 50 mm wide as it lies flat, then 70 mm: 100 mm around it, then 140 mm."""
    narrow = spread_pair(Spreading.TUBE, tube(50), (0, 5), (0, 55))
    assert corners(carried_over(narrow, tube(70))) == [(0, 5), (0, 95)]


def test_on_a_fold_of_a_tube_a_piece_stays_there() -> None:
    """Across the far fold, 50 mm around from the near one, and across the near one."""
    narrow = spread_pair(Spreading.TUBE, tube(50), (0, 30), (40, -20), on_fold=True)
    assert corners(carried_over(narrow, tube(70))) == [(0, 50), (40, -20)]


def test_between_the_creases_of_a_tube_pieces_keep_to_their_fold() -> None:
    """100 mm wide as it lies flat, creased along its middle: pairs of plies beside either fold."""
    narrow = spread_pair(Spreading.TUBE, tube(100, 4), (0, 3), (0, 157))
    assert corners(carried_over(narrow, tube(130, 4))) == [(0, 3), (0, 217)]
    narrow = spread_pair(Spreading.TUBE, tube(100, 4), (0, 57), (0, 103))
    assert corners(carried_over(narrow, tube(130, 4))) == [(0, 87), (0, 133)]


def test_slit_along_a_crease_pieces_keep_to_the_crease_before_them() -> None:
    narrow = spread_pair(Spreading.SLIT_OPEN, tube(100, 4), (0, 50), (0, 103))
    assert corners(carried_over(narrow, tube(130, 4))) == [(0, 50), (0, 133)]


def test_a_border_along_the_far_selvage_takes_the_pieces_with_it() -> None:
    piece = cut_piece("square", rectangle(40, 40))
    on = replace(cloth(60), border=Border(Side.FAR, 5.0))
    narrow = judge.check(layout([place(piece, 0, 15)], on), [piece], ["38"])
    assert corners(carried_over(narrow, replace(on, width_mm=80))) == [(0, 35)]
