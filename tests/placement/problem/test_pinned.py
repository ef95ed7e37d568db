"""A layout laid before comes back as an arrangement; pinned pieces stay, the rest lies around."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from marker import judge
from marker.cloth.fabric import Cloth, Nap
from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone
from marker.layout import Ending, Layout
from marker.pattern.piece import CutPiece
from marker.placement.problem.as_laid import as_laid
from marker.placement.problem.cuts import labels
from marker.placement.problem.cutting_plans import (
    Arranged,
    CuttingPlan,
    cutting_plans,
    in_order,
    opened_flat,
)
from marker.placement.problem.pinned import Pinned, pinned
from marker.placement.problem.statement import (
    Arrangement,
    PlacementProblem,
    Position,
    strip_length,
)
from marker.placement.solve import solve
from marker.placement.stop import after_iterations
from tests.helpers import SIZE, cloth, cut_piece
from tests.placement.arrangements import cast_problem, faults
from tests.placement.problems import problem
from tests.shapes import CAST, polygon, rectangle

KITE = polygon((0, 0), (60, -40), (200, 0), (60, 40))
PIECES = (
    cut_piece("sleeve", CAST["ell"] * 20, copies=1, mirrored_copies=1),
    cut_piece("back", CAST["cup"] * 15, copies=1, mirrored_copies=1, turns=(0.0, 180.0)),
    replace(cut_piece("front", KITE), fold_line=polygon((0, 0), (200, 0))),
)
SPREADS = [
    Spreading.OPEN,
    Spreading.FOLDED_LENGTHWISE,
    Spreading.FOLDED_CROSSWISE,
    Spreading.CUT_AND_TURNED,
]


def layout_of(
    plan: CuttingPlan, spreading: Spreading, on: Cloth, problem: PlacementProblem, laid: Arrangement
) -> Layout:
    flat = opened_flat(spreading, on, [Arranged(plan[0], problem, laid)])
    items = [each for cut in plan[0].cuts for each in (cut.label, cut.twin) if each]
    return Layout(
        "choir", on, in_order(flat.placements, items), flat.length_mm, 0.0, Ending.TIME_UP, 0, 0.0,
        flat.spread, flat.spares,
    )  # fmt: skip


def laid(given: PlacementProblem, iterations: int = 3) -> tuple[PlacementProblem, Arrangement]:
    result = solve(given, after_iterations(iterations), 0, 1, lambda _: None)
    return result.problem, result.arrangement


@pytest.mark.parametrize("spreading", SPREADS)
@pytest.mark.parametrize("gap", [0.0, 4.0])
def test_a_layout_comes_back_as_the_arrangement_that_it_was(
    spreading: Spreading, gap: float
) -> None:
    on = cloth(1100.0, gap_mm=gap)
    plan = cutting_plans(labels(PIECES, [SIZE] * 2), spreading, on, {})[0]
    problem, arrangement = laid(plan[0].problem)
    layout = layout_of(plan, spreading, on, problem, arrangement)
    again, found = as_laid(plan[0], layout)
    assert again == plan[0].problem
    for one, other in zip(arrangement, found, strict=True):
        assert (one.x, one.y) == pytest.approx((other.x, other.y), abs=1e-6)
    there = layout_of(plan, spreading, on, again, found)
    for one_piece, other_piece in zip(layout.placements, there.placements, strict=True):
        assert one_piece.mirrored == other_piece.mirrored
        np.testing.assert_allclose(one_piece.outline_mm, other_piece.outline_mm, atol=1e-6)


def test_tilted_pieces_come_back_tilted() -> None:
    piece = cut_piece("panel", rectangle(900, 40), turns=(0.0,), grain_tolerance_deg=3.0, copies=3)
    on = cloth(123.0)
    plan = cutting_plans(labels([piece], [SIZE]), Spreading.OPEN, on, {})[0]
    given = plan[0].problem
    tilted = layout_of(plan, Spreading.OPEN, on, *laid(given, 1))
    askew = tilted.placements[0]
    turned = replace(askew, rotation_deg=1.25, x_mm=5.0, y_mm=10.0)
    problem, found = as_laid(plan[0], replace(tilted, placements=(turned, *tilted.placements[1:])))
    orientation = problem.items[0].orientations[found[0].orientation]
    assert orientation.rotation_deg == 1.25
    assert orientation.leeway == pytest.approx((-4.25, 1.75))
    assert found[0].x + orientation.shift[0] == pytest.approx(5.0)
    assert len(problem.shapes) == len(problem.cores) == len(given.shapes) + 1


@pytest.mark.parametrize("gone", [True, False])
def test_what_does_not_belong_is_said_with_the_piece(gone: bool) -> None:
    on = cloth(1100.0)
    plan = cutting_plans(labels(PIECES[:1], [SIZE]), Spreading.OPEN, on, {})[0]
    layout = layout_of(plan, Spreading.OPEN, on, *laid(plan[0].problem, 1))
    first, *rest = layout.placements
    changed = rest if gone else [replace(first, rotation_deg=90.0), *rest]
    with pytest.raises(CannotBeDone, match="sleeve 38, garment 1, copy 1"):
        as_laid(plan[0], replace(layout, placements=tuple(changed)))


def around(given: PlacementProblem, arrangement: Arrangement, pins: list[int]) -> Pinned:
    """The rest laid again around pinned items, and found sound."""
    kept = pinned(given, arrangement, pins)
    problem, again = kept.restored(*laid(kept.rest))
    assert faults(problem, again) == []
    for pin in pins:
        assert again[pin] == arrangement[pin]
    assert strip_length(problem, again) >= kept.rest.least_length
    return replace(kept, arrangement=again)


@pytest.mark.parametrize("seed", range(5))
def test_the_rest_is_laid_around_what_is_pinned(seed: int) -> None:
    rng = np.random.default_rng(seed)
    given = cast_problem(("cup", "star", "ell", "notched", "triangle", "half disc") * 2, 450.0)
    _, arrangement = laid(given, 1)
    pins = rng.choice(len(given.items), 4, replace=False).tolist()
    around(given, arrangement, pins)


def test_all_pinned_is_a_layout_too() -> None:
    given = cast_problem(("cup", "star"), 450.0)
    _, arrangement = laid(given, 1)
    kept = around(given, arrangement, [0, 1])
    assert strip_length(given, kept.arrangement) == kept.rest.least_length


def test_the_length_of_pinned_pieces_is_a_bound() -> None:
    given = problem([rectangle(100, 100)] * 2, 150.0)
    kept = pinned(given, (Position(400, 20, 0), Position(0, 0, 0)), [0])
    result = solve(kept.rest, after_iterations(9), 0, 1, lambda _: None)
    assert (result.length, result.bound) == (500.0, 500.0)
    assert result.arrangement[0].x <= 400.0


def test_a_garment_keeps_the_direction_of_its_pinned_piece() -> None:
    outlines = [CAST[name] * 20 for name in ("ell", "notched", "triangle", "cup")]
    given = problem(outlines, 400.0, (0.0, 180.0), group=1)
    _, arrangement = laid(given, 1)
    kept = around(given, arrangement, [2])
    directions = {
        item.orientations[at.orientation].direction
        for item, at in zip(given.items, kept.arrangement, strict=True)
    }
    assert len(directions) == 1


def test_around_pinned_pieces_the_judge_finds_nothing() -> None:
    on = cloth(1100.0, Nap.ONE_WAY_PER_GARMENT, 3.0)
    pieces: list[CutPiece] = [
        replace(each, fold_line=None, grain_tolerance_deg=2.0) for each in PIECES
    ]
    garments = [SIZE] * 2
    plan = cutting_plans(labels(pieces, garments), Spreading.OPEN, on, {})[0]
    problem, arrangement = as_laid(
        plan[0], layout_of(plan, Spreading.OPEN, on, *laid(plan[0].problem))
    )
    kept = around(problem, arrangement, [0, 3])
    extended, again = kept.restored(*laid(kept.rest))
    layout = layout_of(plan, Spreading.OPEN, on, extended, again)
    assert judge.findings(layout, pieces, garments) == ()
