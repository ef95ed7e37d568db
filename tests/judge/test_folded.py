"""The judge on folded cloth: sound layouts pass, each broken rule is found.

The layouts are folded by arithmetic of the tests' own (`tests.judge.folded_layouts`), and looked at
point by point: what the shears cut above, they cut below.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from marker.cloth.fabric import Nap
from marker.cloth.spread import Spread, Spreading
from marker.judge import findings
from marker.layout import Layout, Placement
from tests.helpers import SIZE
from tests.judge.folded_layouts import (
    FOLDINGS,
    TWO_PLY,
    FoldedCase,
    Folding,
    covered_alike,
    folded_case,
)
from tests.random_layouts import moved

NAMES = [f"{each.spreading}, {each.cloth.tube}" for each in FOLDINGS]


def codes(case: FoldedCase) -> set[str]:
    return {str(found.code) for found in findings(case.layout, case.pieces, [SIZE])}


def _changed(case: FoldedCase, **changes: Any) -> FoldedCase:
    return replace(case, layout=replace(case.layout, **changes))


def _with(case: FoldedCase, old: Placement, new: Placement) -> FoldedCase:
    placements = tuple(new if each is old else each for each in case.layout.placements)
    return _changed(case, placements=placements)


def _named(case: FoldedCase, start: str, copy: int = 1) -> Placement:
    return next(
        each
        for each in case.layout.placements
        if each.piece.startswith(start) and each.copy == copy
    )


def twin_moved(case: FoldedCase) -> FoldedCase:
    twin = _named(case, "piece", copy=2)
    return _with(case, twin, moved(twin, 0.2, 0.0))


def twin_turned_instead_of_mirrored(case: FoldedCase) -> FoldedCase:
    twin = _named(case, "piece", copy=2)
    piece = next(each for each in case.pieces if each.name == twin.piece)
    turned = piece.outline * -1.0
    move = twin.outline_mm.min(axis=0) - turned.min(axis=0)
    x, y = move.tolist()
    new = replace(
        twin, rotation_deg=180.0, mirrored=False, x_mm=x, y_mm=y, outline_mm=turned + move
    )
    return _with(case, twin, new)


def spare_forgotten(case: FoldedCase) -> FoldedCase:
    return _changed(case, spares=case.layout.spares[1:])


def both_spares(case: FoldedCase) -> FoldedCase:
    spare = case.layout.spares[0]
    wanted = next(each for each in case.layout.placements if each.piece == spare.piece)
    rest = tuple(each for each in case.layout.placements if each is not wanted)
    return _changed(case, placements=rest, spares=(*case.layout.spares, wanted))


def off_the_fold(case: FoldedCase) -> FoldedCase:
    piece = _named(case, "on fold")
    return _with(case, piece, moved(piece, 0.0, 0.2))


def over_the_divide(case: FoldedCase) -> FoldedCase:
    piece = _named(case, "piece")
    at = (TWO_PLY if case.folding.spreading.ends_meet else 60.0) - 20.0
    return _with(case, piece, moved(piece, at - piece.outline_mm[:, 0].min(), 200.0))


def on_the_strip(case: FoldedCase) -> FoldedCase:
    """Both copies moved towards where selvages meet, or the crease."""
    low, high, _ = case.folding.lanes[0]
    placements = []
    for each in case.layout.placements:
        y = each.outline_mm[:, 1]
        if low < y.min() < high and not each.piece.startswith(("on", "single")):
            each = moved(each, 0.0, high + 0.2 - y.max())
        placements.append(each)
    return _changed(case, placements=tuple(placements))


def two_plies_too_short(case: FoldedCase) -> FoldedCase:
    length = 50.0 if not case.folding.spreading.ends_meet else TWO_PLY - 300.0
    return _changed(case, spread=Spread(case.folding.spreading, length))


SPOILS: tuple[tuple[Callable[[FoldedCase], FoldedCase], str], ...] = (
    (twin_moved, "not alike on both plies"),
    (twin_turned_instead_of_mirrored, "not alike on both plies"),
    (twin_turned_instead_of_mirrored, "wrong hand"),
    (spare_forgotten, "not alike on both plies"),
    (both_spares, "wrong spare"),
    (off_the_fold, "over a fold"),
    (over_the_divide, "over a fold"),
    (on_the_strip, "over a fold"),
    (two_plies_too_short, "not alike on both plies"),
)


def _applies(spoil: Callable[[FoldedCase], FoldedCase], case: FoldedCase) -> bool:
    folding, layout = case.folding, case.layout
    if spoil is off_the_fold:
        return any(fold is not None for _, _, fold in folding.lanes)
    if spoil is over_the_divide:
        return folding.spreading.ends_meet
    if spoil is on_the_strip:
        return len(folding.lanes) == 2
    if spoil in (spare_forgotten, both_spares):
        return bool(layout.spares)
    return any(each.copy == 2 for each in layout.placements)


@pytest.mark.parametrize("folding", FOLDINGS, ids=NAMES)
def test_sound_folded_layouts_pass_and_are_cut_alike_on_both_plies(folding: Folding) -> None:
    for seed in range(8):
        rng = np.random.default_rng(seed)
        case = folded_case(rng, folding)
        assert covered_alike(case, rng)
        assert codes(case) == set()


@pytest.mark.parametrize("folding", FOLDINGS, ids=NAMES)
def test_each_way_to_spoil_a_folded_layout_is_found(folding: Folding) -> None:
    met = set()
    for seed in range(100, 105):
        case = folded_case(np.random.default_rng(seed), folding)
        for spoil, code in SPOILS:
            if _applies(spoil, case):
                met.add(spoil)
                assert code in codes(spoil(case)), spoil
    assert len(met) >= 5


def test_points_differ_where_a_twin_lies_elsewhere() -> None:
    """The slow look finds what the judge finds, where it is large."""
    rng = np.random.default_rng(5)
    case = folded_case(rng, FOLDINGS[0])
    twin = _named(case, "piece", copy=2)
    assert not covered_alike(_with(case, twin, moved(twin, 60.0, 0.0)), rng, 4000)


def test_a_lopsided_piece_is_not_on_the_fold() -> None:
    case = folded_case(np.random.default_rng(1), FOLDINGS[0])
    old = _named(case, "on fold")
    outline = old.outline_mm.copy()
    outline[1, 0] += 0.5
    pieces = tuple(
        replace(each, outline=outline - [old.x_mm, old.y_mm]) if each.name == old.piece else each
        for each in case.pieces
    )
    lopsided = replace(_with(case, old, replace(old, outline_mm=outline)), pieces=pieces)
    assert codes(lopsided) == {"not alike on both plies"}


def test_a_tube_goes_round() -> None:
    """What lies over the fold where the flat frame begins meets what comes from the other side."""
    tube = FOLDINGS[4]
    case = folded_case(np.random.default_rng(2), tube)
    piece = _named(case, "on fold")
    around = moved(piece, 0.0, -1800.0)
    assert codes(_with(case, piece, around)) == set()
    other = _named(case, "piece")
    x, y = (around.outline_mm.max(axis=0) + around.outline_mm.min(axis=0)) / 2
    at = moved(other, x - other.outline_mm[:, 0].mean(), y - other.outline_mm[:, 1].mean() + 1200)
    assert "overlap" in codes(_with(_with(case, piece, around), other, at))


def test_a_spread_that_the_cloth_forbids() -> None:
    crosswise = folded_case(np.random.default_rng(3), FOLDINGS[2])
    one_way = replace(crosswise.layout.cloth, nap=Nap.ONE_WAY)
    assert "wrong spread" in codes(_changed(crosswise, cloth=one_way))
    lengthwise = folded_case(np.random.default_rng(3), FOLDINGS[0])
    as_tube = replace(lengthwise.layout.spread, spreading=Spreading.TUBE)
    assert codes(_changed(lengthwise, spread=as_tube)) == {"wrong spread"}


def test_an_unfolded_folded_layout_is_an_open_one() -> None:
    for folding in FOLDINGS[:4]:
        case = folded_case(np.random.default_rng(4), folding)
        flat: Layout = replace(case.layout, spread=Spread(), spares=())
        assert findings(flat, case.pieces, [SIZE]) == ()
