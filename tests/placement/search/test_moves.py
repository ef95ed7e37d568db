"""Moves of one item, and of two that change places: by shapely, and in scenes of rectangles."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon

from marker.placement.problem.prepare import with_obstacles
from marker.placement.problem.statement import PlacementProblem, Position
from marker.placement.search.moves import improve, touching
from marker.placement.search.overlaps import refresh, total_penalty, weighted_penalty
from marker.placement.search.state import SeparationParams, arrangement_of, choices, state_of
from tests.placement.arrangements import cast_problem, grids_of, lap, scattered, solids
from tests.placement.problems import problem
from tests.shapes import CAST, rectangle

LENGTH = 900.0
TOUCHES_MM = 0.02


@pytest.mark.parametrize("turns", [(0.0, 180.0), (0.0, 90.0)])
def test_positions_drawn_touch_another_item(turns: tuple[float, ...]) -> None:
    given = cast_problem(sorted(CAST), 700.0, turns)
    grids, flat = grids_of(given), choices(given)
    state = state_of(given, scattered(given, LENGTH, np.random.default_rng(8)), LENGTH, 8)
    others = solids(given, arrangement_of(state))
    touched = 0
    for item in range(len(others)):
        for orientation in range(flat.start[item], flat.start[item + 1]):
            shape = int(flat.shape[orientation])
            x, y = touching(grids, state, item, shape)
            drawn = affinity.translate(Polygon(given.shapes[shape]), x, y)
            apart = [other for k, other in enumerate(others) if k != item]
            touched += any(
                drawn.distance(other) < TOUCHES_MM and not lap(drawn, other) for other in apart
            )
    assert touched >= 0.9 * flat.start[-1]  # now and then none comes


def two_slots() -> PlacementProblem:
    """Two rectangles of like size, and a cloth full of flaws but for a place of each one's size."""
    given = problem([rectangle(200, 100), rectangle(190, 110)], 300.0, (0.0,))
    flaws = [(0, 100, 400, 90), (200, 0, 200, 100), (0, 190, 210, 110)]
    outlines = [rectangle(along, across) + np.array([x, y]) for x, y, along, across in flaws]
    return with_obstacles(given, outlines)


@pytest.mark.parametrize(("partners", "free"), [(0, False), (4, True)])
def test_items_change_places_where_neither_finds_a_better_one(partners: int, free: bool) -> None:
    given = two_slots()
    grids, flat = grids_of(given), choices(given)
    swapped = Position(205.0, 195.0, 0), Position(5.0, 0.0, 0)
    state = state_of(given, swapped, 400.0, 3)
    refresh(grids, state)
    assert total_penalty(state) > 0
    for _ in range(10):
        for item in range(2):
            if state.laps[item] > 0:
                improve(grids, flat, state, SeparationParams(partners=partners).effort, item)
    assert (total_penalty(state) == 0.0) == free


def test_no_move_makes_the_weighted_sum_worse() -> None:
    given = cast_problem(sorted(CAST), 700.0)
    grids, flat = grids_of(given), choices(given)
    state = state_of(given, scattered(given, 500.0, np.random.default_rng(9)), 500.0, 9)
    refresh(grids, state)

    def weighed() -> float:
        """All items against all others."""
        each = range(state.movable)
        at = [((k, state.shape[k]), (state.x[k], state.y[k])) for k in each]
        return sum(weighted_penalty(grids, state, *where, np.inf, False) for where in at)

    before = weighed()
    for item in range(state.movable):
        improve(grids, flat, state, SeparationParams().effort, item)
        after = weighed()
        assert after <= before + 1e-6
        before = after
    assert state.penalty.sum() == pytest.approx(before)
