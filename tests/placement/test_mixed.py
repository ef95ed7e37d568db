"""Random problems with every property at once: whatever is laid, shapely finds no fault in it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from marker.placement.problem.prepare import with_obstacles
from marker.placement.problem.statement import Item, PlacementProblem
from marker.placement.solve import solve
from marker.placement.stop import after_iterations
from tests.benchmarks.random_problems import faults_of
from tests.placement.arrangements import faults
from tests.placement.problems import problem, without_cores
from tests.shapes import CAST, rectangle

CASES, BATCHES = 120, 10


def mixed(rng: np.random.Generator) -> PlacementProblem:
    """Two members of the cast, two to five items, up to two obstacles, some groups and ties."""
    width = float(rng.uniform(230, 420))
    names = rng.choice(sorted(CAST), 2, replace=False)
    outlines = [CAST[name] * float(rng.uniform(8, 20)) for name in rng.choice(names, 4)]
    turns = ((0.0,), (0.0, 180.0))[int(rng.integers(2))]
    bare = problem(outlines[: int(rng.integers(2, 5))], width, turns)
    flaws = [
        rectangle(*rng.uniform(5, 80, 2)) + rng.uniform((-20, -20), (300, width))
        for _ in range(int(rng.integers(0, 3)))
    ]
    given = with_obstacles(bare, flaws)
    items = tuple(_ruled(given, item, rng) for item in given.items)
    ruled = replace(given, items=items)
    return without_cores(ruled) if rng.random() < 0.9 else ruled


def _ruled(given: PlacementProblem, item: Item, rng: np.random.Generator) -> Item:
    along, across = rng.random(2) < 0.4
    repeat = float(rng.uniform(10, 150)), float(rng.uniform(10, 80))
    orientations = tuple(
        replace(
            orientation,
            phase=(
                float(rng.uniform(-50, 200)),
                float(rng.uniform(0, given.width - given.extent(orientation.shape)[1])),
            ),
        )
        for orientation in item.orientations
    )
    tied = repeat[0] * bool(along), repeat[1] * bool(across)
    group = int(rng.integers(-1, 2)) if len(orientations) > 1 else -1
    return replace(item, orientations=orientations, repeat=tied, group=group)


@pytest.mark.parametrize("batch", range(BATCHES))
def test_mixed_problems_are_laid_without_a_fault(batch: int) -> None:
    for seed in range(batch, CASES, BATCHES):
        given = mixed(np.random.default_rng(seed))
        result = solve(given, after_iterations(1), seed, 1, lambda _: None)
        assert faults(given, result.arrangement) == [], seed
        assert result.bound <= result.length + 0.02, seed


@pytest.mark.parametrize("seed", range(20))
def test_random_pieces_pass_the_judge(seed: int) -> None:
    assert list(faults_of(seed, 1)) == []
