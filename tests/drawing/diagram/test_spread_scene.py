"""What is drawn of folded cloth: each outline once, halves at the fold, folds where they are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from marker.cloth.buying import purchase
from marker.drawing.scene.layout_scene import build_scene
from marker.drawing.scene.spread_cloth import Ground
from marker.judge import check
from marker.layout.on_table import on_table
from marker.pattern.inner_marks import InnerMark, MarkKind
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


@pytest.mark.parametrize("folding", FOLDINGS, ids=NAMES)
def test_marks_inside_a_piece_on_the_fold_lie_on_the_half_that_is_seen(folding: Folding) -> None:
    case = folded_case(np.random.default_rng(7), folding)
    marked = [
        replace(
            piece,
            inner_marks=(
                InnerMark(MarkKind.LINE, np.vstack([piece.outline, piece.outline[:1]])),
                *(InnerMark(MarkKind.DRILL_HOLE, corner[np.newaxis]) for corner in piece.outline),
            ),
        )
        for piece in case.pieces
    ]
    checked = check(case.layout, marked, [SIZE])
    scene = build_scene(checked, purchase(case.layout.length_mm, case.layout.cloth))
    halves = [piece for piece in scene.pieces if piece.fold_y is not None]
    assert bool(halves) is not scene.spread.ends_meet
    for piece in halves:
        ground = shapely.box(*piece.outline.min(axis=0), *piece.outline.max(axis=0)).buffer(0.01)
        assert len(piece.inner_marks) > len(piece.outline) / 2
        for mark in piece.inner_marks:
            assert ground.covers(shapely.MultiPoint(mark.points))
        assert piece.fold_y is not None
        assert np.abs(piece.inner_marks[0].points[:, 1] - piece.fold_y).min() < 0.01
