"""Pieces that turn by any angle within their tolerance: closed forms, grids of angles, judge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from marker import judge
from marker.geometry.arrays import FloatArray
from marker.layout import Ending, Layout
from marker.pattern.piece import CutPiece
from marker.placement.lp.compaction import compact
from marker.placement.lp.poses import PosePolygons, arranged, posed
from marker.placement.lp.tilt import drawn, tilted
from marker.placement.problem.cuts import labels
from marker.placement.problem.prepare import placements
from marker.placement.problem.statement import Arrangement, PlacementProblem, Position, strip_length
from marker.placement.solve import Result, solve
from marker.placement.stop import after_iterations
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from tests.helpers import SIZE, cloth, cut_piece, laid_outline
from tests.placement.arrangements import faults
from tests.placement.problems import greedy, on_cloth
from tests.shapes import CAST, rectangle

NEAR_MM, FAR_MM = 0.05, 1e6


def problem_of(pieces: list[CutPiece], width: float, gap: float = 0.0) -> PlacementProblem:
    return on_cloth(labels(pieces, [SIZE]), cloth(width, gap_mm=gap))


def shortest(given: PlacementProblem, start: Arrangement) -> float:
    """Length after turning, from `start`; whatever comes of it has no fault."""
    extended, found = tilted(given, start, lambda: False)
    assert faults(extended, found) == []
    length = strip_length(extended, found)
    assert length <= strip_length(given, start)
    return length


# Along a rectangle of l × w reaches l cos t + w sin t, across l sin t + w cos t; geometry.
@pytest.mark.parametrize("askew", [0.7, -1.3])
def test_a_piece_drawn_askew_comes_to_lie_straight(askew: float) -> None:
    """The shortest is at the angle that is not at the limit: edges square to the cloth."""
    piece = cut_piece(
        "panel",
        laid_outline(rectangle(60, 900), askew, False),
        turns=(0.0,),
        grain_tolerance_deg=2.0,
    )
    given = problem_of([piece], 1000.0)
    assert shortest(given, (Position(0, 10, 0),)) == pytest.approx(60.0, abs=NEAR_MM)


def test_a_long_strip_turns_until_the_width_stops_it() -> None:
    piece = cut_piece("tie", rectangle(1000, 50), turns=(0.0,), grain_tolerance_deg=10.0)
    tilts = np.linspace(-10, 10, 200_001)
    radians = np.radians(np.abs(tilts))
    fits = 1000 * np.sin(radians) + 50 * np.cos(radians) <= 180
    best = float((1000 * np.cos(radians) + 50 * np.sin(radians))[fits].min())
    assert best < 1000 - 1
    given = problem_of([piece], 180.0)
    result = laid([piece], given)
    assert result.length == pytest.approx(best, abs=NEAR_MM)


def laid(pieces: list[CutPiece], given: PlacementProblem, iterations: int = 2) -> Result:
    """Solved, and judged by what knows nothing of placement."""
    result = solve(given, after_iterations(iterations), 0, 1, lambda _: None)
    assert list(verdict(pieces, given, result)) == []
    return result


def verdict(pieces: list[CutPiece], given: PlacementProblem, result: Result) -> list[judge.Finding]:
    on = cloth(given.usable_width, gap_mm=2 * given.margin)
    placed = placements(result.problem, labels(pieces, [SIZE]), result.arrangement)
    layout = Layout("choir", on, placed, result.length, 0.0, Ending.TIME_UP, 0, 0.0)
    return list(judge.findings(layout, pieces, [SIZE]))


def tilting_pieces(rng: np.random.Generator) -> list[CutPiece]:
    """Three members of the cast that may tilt and one that may not."""
    return [
        cut_piece(name, CAST[name] * 25, grain_tolerance_deg=tolerance)
        for name, tolerance in zip(
            rng.choice(sorted(CAST), 4, replace=False), (3.0, 1.5, 3.0, 0.0), strict=True
        )
    ]


@pytest.mark.parametrize("seed", range(2))
def test_angles_repeat_and_are_within_tolerance(seed: int) -> None:
    """The judge checks the angles; the same seed finds the same ones."""
    pieces = tilting_pieces(np.random.default_rng(seed))
    given = problem_of(pieces, 500.0, gap=4.0 * seed)
    first, second = laid(pieces, given), laid(pieces, given)
    assert first.arrangement == second.arrangement
    assert first.problem.items == second.problem.items
    for before, after in zip(given.items, first.problem.items, strict=True):
        assert after.orientations[: len(before.orientations)] == before.orientations


def test_without_tolerance_a_problem_stays_as_it_is() -> None:
    pieces = [cut_piece(name, CAST[name] * 25) for name in ("ell", "cup")]
    given = problem_of(pieces, 500.0)
    assert laid(pieces, given, 1).problem is given


def test_what_is_tied_to_a_repeat_keeps_its_angle() -> None:
    outline = laid_outline(rectangle(60, 900), 0.7, False)
    given = problem_of([cut_piece("panel", outline, grain_tolerance_deg=2.0)], 1000.0)
    tied = replace(given, items=(replace(given.items[0], repeat=(0.0, 40.0)),))
    start = (Position(0, 0, 0),)
    assert tilted(tied, start, lambda: False) == (tied, start)


# Brute force: two panels whose long sides lean by different slopes lie close where the angles of
# both agree. Every angle of a grid for each, at a few heights, one pushed against the other.
@pytest.mark.parametrize("slopes", [(4.0, 6.0), (7.0, 4.0)])
def test_two_panels_against_a_grid_of_angles(slopes: tuple[float, float]) -> None:
    height, limit = 400.0, 2.0
    first = wedge(height, slopes[0])
    second = laid_outline(wedge(height, slopes[1]), 180.0, False)
    pieces = [
        cut_piece(name, outline, turns=(0.0,), grain_tolerance_deg=limit)
        for name, outline in (("gusset", first), ("godet", second))
    ]
    given = problem_of(pieces, height + 15.0)
    grid = np.linspace(-limit, limit, 13)
    best = min(
        pushed(laid_outline(first, a, False), laid_outline(second, b, False), height + 15.0)
        for a in grid
        for b in grid
    )
    apart = float(np.ptp(first[:, 0])) + 1.0
    assert shortest(given, (Position(0, 8, 0), Position(apart, 8, 0))) <= best + NEAR_MM


def wedge(height: float, slope: float) -> FloatArray:
    """Straight at the start, its far side leaning by `slope` degrees."""
    lean = height * np.tan(np.radians(slope))
    return np.array([(0, 0), (60 + lean, 0), (60, height), (0, height)], dtype=np.float64)


def pushed(first: FloatArray, second: FloatArray, width: float) -> float:
    """Length of two convex outlines, the second pushed along against the first, over a grid of
    heights for each. At each height the first's far side less the second's near side decides."""
    first, second = first - first.min(axis=0), second - second.min(axis=0)
    best = np.inf
    for y1 in np.linspace(0, width - first[:, 1].max(), 3):
        for y2 in np.linspace(0, width - second[:, 1].max(), 3):
            a, b = first + np.array([0, y1]), second + np.array([0, y2])
            heights = np.unique(np.concatenate([a[:, 1], b[:, 1]]))
            push = max(side(a, y, max) - side(b, y, min) for y in heights)
            best = min(best, max(a[:, 0].max(), b[:, 0].max() + push))
    return float(best)


def side(outline: FloatArray, y: float, which: Callable[..., float]) -> float:
    """The first or last x of a convex outline at a height; far off where it does not reach."""
    after = np.roll(outline, -1, axis=0)
    xs = [
        x1 + (y - y1) / (y2 - y1) * (x2 - x1)
        for (x1, y1), (x2, y2) in zip(outline, after, strict=True)
        if min(y1, y2) <= y <= max(y1, y2) and y1 != y2
    ]
    return which(xs, default=-FAR_MM if which is max else FAR_MM)


# Twin: if a lever were wrong, a turn of 0.02° at arms of some 300 mm would make laps of 0.1 mm.
@pytest.mark.parametrize("gap", [0.0, 6.0])
@pytest.mark.parametrize("seed", range(4))
def test_small_turns_keep_pieces_apart_to_first_order(seed: int, gap: float) -> None:
    """Turned in truth by what the linear program says, pieces lap by no more than rounding."""
    rng = np.random.default_rng(seed)
    pieces = [
        cut_piece(name, CAST[name] * 60, turns=(0.0,), grain_tolerance_deg=3.0, mirrored_copies=1)
        for name in rng.choice(sorted(CAST), 3, replace=False)
    ]
    given = problem_of(pieces, 1300.0, gap)
    start = compact(given, no_fit_polygons(given), greedy(given, rng, 20.0))
    assert start is not None
    layout = drawn(given, posed(given, start), 0.02, PosePolygons())
    assert layout is not None
    extended, found = arranged(given, start, layout)
    assert len(extended.shapes) > len(given.shapes)
    assert faults(extended, found) == []
