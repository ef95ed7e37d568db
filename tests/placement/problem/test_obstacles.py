"""Obstacles and remnants: brute force on a grid, and cases whose answer geometry gives."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from shapely.geometry import Polygon

from marker.geometry import polygons
from marker.geometry.arrays import FloatArray
from marker.placement.exact import bounds
from marker.placement.exact.proof import prove
from marker.placement.exact.questions import Allowance
from marker.placement.problem.prepare import with_obstacles
from marker.placement.problem.statement import (
    Arrangement,
    PlacementProblem,
    in_a_row,
    laid,
    strip_length,
)
from marker.placement.search.descent import descend
from marker.placement.search.overlaps import refresh, weighted_penalty
from marker.placement.search.state import SeparationParams, arrangement_of, choices, state_of
from marker.placement.solve import Result, solve
from marker.placement.stop import after_iterations, at_bound, first_of
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from marker.placement.tables.overlap_grids import overlap_grids
from marker.tolerances import JUDGED_MM, PROVEN_WITHIN_MM
from tests.placement.arrangements import cast_problem, faults, scattered
from tests.placement.exact.grid import UNIT_MM, Brick, Cells, grid_problem, shortest_strip
from tests.placement.problems import problem, without_cores
from tests.shapes import CAST, polygon, rectangle

MARGIN_MM = 0.5
"""How much longer than the optimum the search may end in the cases it must solve."""


def solved(given: PlacementProblem, iterations: int = 8, seed: int = 0) -> Result:
    result = solve(
        given, first_of(at_bound(), after_iterations(iterations)), seed, 1, lambda _: None
    )
    assert faults(given, result.arrangement) == []
    return result


def blocked(given: PlacementProblem, cells: list[Cells]) -> PlacementProblem:
    """Rectangles of the grid as obstacles."""
    outlines = [
        UNIT_MM * (rectangle(along, across) + np.array([x, y])) for x, y, along, across in cells
    ]
    return with_obstacles(given, outlines)


@pytest.mark.parametrize("seed", range(6))
def test_rectangles_around_obstacles_match_brute_force(seed: int) -> None:
    rng = np.random.default_rng(seed)
    width = 6
    bricks = [Brick(int(a), int(b)) for a, b in rng.integers(1, 5, (int(rng.integers(2, 5)), 2))]
    items = [(brick, brick.turned()) if seed % 2 else (brick,) for brick in bricks]
    cells = [
        (int(rng.integers(5)), int(rng.integers(5)), int(a), int(b))
        for a, b in rng.integers(1, 3, (2, 2))
    ]
    optimum = UNIT_MM * shortest_strip(items, width, cells)
    given = blocked(grid_problem(items, width), cells)
    result = solved(given)
    assert optimum - 0.02 <= result.length <= optimum + MARGIN_MM
    assert result.bound <= optimum + 1e-6
    proof = prove(given, no_fit_polygons(given), in_a_row(given), Allowance(None, 2.0, 1))
    assert proof.optimal
    assert optimum - PROVEN_WITHIN_MM - 1e-6 <= proof.bound <= optimum + 1e-6


@pytest.mark.parametrize("exact", [True, False])
def test_a_piece_lies_before_between_or_behind(exact: bool) -> None:
    """A wall across the cloth 300 mm from its start: what is longer lies behind it."""
    for along, length in ((300.0, 300.0), (300.1, 400.0 + 300.1)):
        given = problem([rectangle(along, 500)], 500.0)
        given = with_obstacles(given, [rectangle(100, 500) + np.array([300, 0])])
        given = given if exact else without_cores(given)
        assert solved(given, 4).length == pytest.approx(length, abs=0.02)


def test_a_triangle_fills_the_corner_that_another_leaves() -> None:
    flaw = polygon((0, 0), (400, 0), (0, 300))
    piece = polygon((400, 0), (400, 300), (0, 300))
    given = with_obstacles(problem([piece], 300.0), [flaw])
    assert solved(given, 4).length == pytest.approx(400, abs=0.02)


def test_obstacles_may_reach_over_every_edge_and_each_other() -> None:
    outlines = [
        rectangle(200, 50) + np.array([-100, -20]),
        rectangle(50, 90) + np.array([60, 10]),
        rectangle(3000, 40) + np.array([100, 480]),
    ]
    given = with_obstacles(cast_problem(("ell", "cup", "star", "triangle"), 500.0), outlines)
    solved(given, 3)


def test_pieces_keep_half_the_gap_from_obstacles() -> None:
    """80 × 40 grown by half a gap of 10 mm; cloth 100 mm wide, spoiled 85 to 185 mm along it."""
    grown = rectangle(90, 50)
    bare = problem([grown, grown, grown], 110.0)
    cores = (rectangle(80, 40) + 5.0,)
    given = PlacementProblem(bare.shapes, bare.items, 110.0, 5.0, 3 * 3200.0, 100.0, cores=cores)
    behind = with_obstacles(given, [rectangle(100, 100) + np.array([85.0, 0.0])])
    assert solved(behind, 4).length == pytest.approx(190 + 80, abs=0.02)
    nearer = with_obstacles(given, [rectangle(100, 100) + np.array([84.0, 0.0])])
    assert solved(nearer, 4).length == pytest.approx(189 + 80 + 90, abs=0.02)


def test_obstacles_stay_while_items_move() -> None:
    names = ("cup", "star", "ell", "notched")
    flaws = [CAST["star"] * 10 + np.array([k * 90.0, k * 70.0]) for k in range(4)]
    given = with_obstacles(cast_problem(names, 400.0), flaws)
    table = overlap_grids(no_fit_polygons(given), given.shapes)
    start = scattered(given, 500.0, np.random.default_rng(2))
    state = state_of(given, start, 500.0, 0)
    total = refresh(table, state)
    assert arrangement_of(state) == start
    _, corners = laid(given, start)
    assert np.column_stack([state.x, state.y]) == pytest.approx(corners)
    assert (state.penalty[4:, 4:] == 0).all()
    assert state.penalty[:4, 4:].max() > 0
    assert total == pytest.approx(state.penalty.sum() / 2)
    for item in range(4):  # each look-up meets the obstacles, wherever they are
        who, at = (item, state.shape[item]), (state.x[item], state.y[item])
        found = weighted_penalty(table, state, who, at, np.inf, False)
        assert found == pytest.approx(state.penalty[item].sum())
        orientation = int(choices(given).start[item]) + state.choice[item]
        x, y, least = descend(
            table, state, SeparationParams().effort, (item, orientation, state.shape[item]),
            at, (20.0, 1.0, np.inf),
        )  # fmt: skip
        there = weighted_penalty(table, state, who, (x, y), np.inf, False)
        assert least == pytest.approx(there)


def test_no_pair_is_made_of_two_obstacles() -> None:
    bare = cast_problem(("cup", "star"), 400.0)
    given = with_obstacles(bare, [CAST["ell"] * 10, CAST["triangle"] * 10])
    count = len(bare.shapes)
    pair = no_fit_polygons(given).pair
    assert (pair[count:, count:] == -1).all()
    assert (pair[:count] >= 0).all()


REMNANT = polygon((0, 200), (300, 0), (900, 0), (900, 250), (700, 300), (900, 400), (250, 600))
HOLE = rectangle(60, 80) + np.array([420, 220])


def test_what_a_remnant_lacks_is_all_of_its_box_but_itself() -> None:
    found = [Polygon(each) for each in polygons.lacking(REMNANT, [HOLE])]
    remnant = Polygon(REMNANT, [HOLE])
    assert all(each.is_valid and each.exterior.is_ccw for each in found)
    assert sum(each.area for each in found) == pytest.approx(900 * 600 - remnant.area)
    assert all(each.intersection(remnant).area < 1e-6 for each in found)
    assert len(found) == 5  # three corners, the bay at the far end, the hole


def on_remnant(
    bare: PlacementProblem, outline: FloatArray, holes: Sequence[FloatArray] = ()
) -> PlacementProblem:
    """A strip as wide as a remnant, and what that lacks of its bounding box as obstacles."""
    low = outline.min(axis=0)
    lacking = polygons.lacking(outline - low, [hole - low for hole in holes])
    return with_obstacles(bare, lacking)


def fits(given: PlacementProblem, arrangement: Arrangement, outline: FloatArray) -> bool:
    return strip_length(given, arrangement) <= float(np.ptp(outline[:, 0])) + JUDGED_MM


def test_pieces_lie_on_the_remnant_and_go_on_beyond_it() -> None:
    remnant = Polygon(REMNANT, [HOLE])
    for copies, fitting in ((4, True), (14, False)):
        bare = problem([rectangle(160, 120), CAST["triangle"] * 18] * copies, 600.0, (0.0, 180.0))
        given = on_remnant(bare, REMNANT + 70.0, [HOLE + 70.0])
        result = solved(given, 4)
        assert fits(given, result.arrangement, REMNANT) == fitting
        on_cloth = _area_off(given, result.arrangement, remnant)
        assert (on_cloth < 20.0) == fitting  # mm², 0.02 mm along all edges


def _area_off(given: PlacementProblem, arrangement: Arrangement, remnant: Polygon) -> float:
    shape, at = laid(given, arrangement)
    solids = [Polygon(given.shapes[shape[k]] + at[k]) for k in range(len(arrangement))]
    return float(sum(solid.difference(remnant).area for solid in solids))


def test_a_remnant_narrow_at_its_start_is_filled_from_where_it_is_wide_enough() -> None:
    """A right-angled triangle with its tip at the start: 200 mm square fits from 400 mm on."""
    tip = polygon((0, 0), (1000, 0), (1000, 500))
    given = on_remnant(problem([rectangle(200, 200)], 500.0), tip)
    result = solved(given, 4)
    assert result.length == pytest.approx(600, abs=0.03)
    assert fits(given, result.arrangement, tip)
    beyond = on_remnant(problem([rectangle(200, 450)], 500.0), tip)
    far = solved(beyond, 4)
    assert not fits(beyond, far.arrangement, tip)
    assert far.length == pytest.approx(900 + 200, abs=0.03)


def test_a_row_starts_behind_all_obstacles() -> None:
    given = blocked(grid_problem([[Brick(2, 2)], [Brick(1, 3)]], 4), [(3, 0, 2, 2), (0, 0, 1, 1)])
    arrangement = in_a_row(given)
    assert faults(given, arrangement) == []
    assert strip_length(given, arrangement) == pytest.approx(8 * UNIT_MM)
    assert bounds.simple(given) == pytest.approx(2 * UNIT_MM)
