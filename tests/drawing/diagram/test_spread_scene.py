"""What is drawn of folded cloth: each outline once, halves at the fold, folds where they are."""

from __future__ import annotations

import numpy as np
import pytest

from marker.cloth.buying import purchase
from marker.drawing.scene.layout_scene import build_scene
from marker.drawing.scene.spread_cloth import Ground
from marker.judge import check
from marker.layout.on_table import on_table
from tests.helpers import SIZE
from tests.judge.folded_layouts import FOLDINGS, Folding, folded_case

NAMES = [f"{each.spreading}, {each.cloth.tube}" for each in FOLDINGS]


@pytest.mark.parametrize("folding", FOLDINGS, ids=NAMES)
def test_the_table_shows_every_cut_once(folding: Folding) -> None:
    case = folded_case(np.random.default_rng(7), folding)
    checked = check(case.layout, case.pieces, [SIZE])
    cuts = on_table(checked)
    assert len(cuts) == len(case.pieces)
    wanted = [id(each) for cut in cuts for each in cut.wanted]
    assert sorted(wanted) == sorted(id(each) for each in case.layout.placements)
    scene = build_scene(checked, purchase(case.layout.length_mm, case.layout.cloth))
    assert len(scene.pieces) == len(cuts)
    folds = [fold.start[1] for fold in scene.folds if fold.start[1] == fold.end[1]]
    for piece in scene.pieces:
        low, high = piece.outline[:, 1].min(), piece.outline[:, 1].max()
        if piece.fold_y is not None:
            assert piece.fold_y in folds
            assert piece.fold_y in (pytest.approx(low), pytest.approx(high))
            assert piece.plies == "1 of 1 · on the fold"
        assert low >= -1e-6
        assert high <= scene.width_mm + 1e-6
    grounds = {area.ground for area in scene.areas}
    assert {Ground.TWO_PLIES, Ground.CLOTH} <= grounds
