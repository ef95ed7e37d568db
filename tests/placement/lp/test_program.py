"""Separations against a slow twin: every pair's free space, and what may be left out of it."""

from __future__ import annotations

import numpy as np
import pytest

from marker.geometry.arrays import FloatArray
from marker.geometry.free_space import free_space
from marker.placement.lp.program import Separations, separations
from marker.placement.problem.statement import Arrangement, PlacementProblem, laid
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from marker.tolerances import PLAY_MM
from tests.placement.arrangements import cast_problem, scattered

NAMES = ("cup", "star", "ell", "notched", "triangle", "needle")


def found_within(given: PlacementProblem, start: Arrangement, reach: float) -> Separations:
    shape, at = laid(given, start)
    size = np.array([given.extent(each) for each in shape])
    return separations(at, size, shape, no_fit_polygons(given), reach, len(start))


def positions(arrangement: Arrangement) -> FloatArray:
    return np.array([[position.x, position.y] for position in arrangement])


def every_row(given: PlacementProblem, start: Arrangement) -> FloatArray:
    """The rows of all pairs, near or far: first, second, normal, offset."""
    at, polygons = positions(start), no_fit_polygons(given)
    shape, _ = laid(given, start)
    rows: list[tuple[float, ...]] = []
    for i in range(len(start)):
        for j in range(i):
            planes = free_space(polygons.of(int(shape[j]), int(shape[i])), *(at[i] - at[j]))
            rows += [(j, i, nx, ny, c + PLAY_MM) for nx, ny, c in planes]
    return in_order(np.array(rows))


def table(rows: Separations) -> FloatArray:
    return in_order(np.column_stack(rows))


def in_order(rows: FloatArray) -> FloatArray:
    """Rows whose first item has the lower number, in an order of their own."""
    swapped = rows[:, 0] > rows[:, 1]
    rows[swapped] = rows[swapped][:, [1, 0, 2, 3, 4]] * [1, 1, -1, -1, 1]
    return rows[np.lexsort(rows.round(6).T[::-1])]


@pytest.mark.parametrize("seed", range(4))
def test_with_a_long_reach_nothing_is_left_out(seed: int) -> None:
    given = cast_problem(NAMES, 420.0)
    start = scattered(given, 900.0, np.random.default_rng(seed))
    assert table(found_within(given, start, 1e6)) == pytest.approx(every_row(given, start))


@pytest.mark.parametrize("reach", [1.0, 20.0])
def test_what_is_left_out_cannot_matter_within_reach(reach: float) -> None:
    """Random moves of every item, most of them as far as allowed."""
    rng = np.random.default_rng(1)
    given = cast_problem(NAMES, 420.0)
    start = scattered(given, 900.0, rng)
    kept = table(found_within(given, start, reach))
    left = [row for row in every_row(given, start) if not np.isclose(kept, row).all(axis=1).any()]
    assert len(kept) > 0
    assert len(left) > 0
    for _ in range(200):
        at = positions(start) + reach * np.clip(rng.uniform(-3, 3, (len(start), 2)), -1, 1)
        for a, b, nx, ny, offset in left:
            move = at[int(b)] - at[int(a)]
            assert nx * move[0] + ny * move[1] >= offset
