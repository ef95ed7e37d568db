"""The bound by lines along the cloth: geometry that anyone can redo, and never above a layout."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from marker.geometry.arrays import FloatArray
from marker.placement.exact.bounds import EDGE_MM, along_lines, relax, simple
from marker.placement.problem.statement import PlacementProblem, strip_length
from tests.placement.problems import greedy, problem
from tests.shapes import CAST, rectangle

TRIANGLE = np.array([[0.0, 0.0], [500.0, 0.0], [250.0, 400.0]])


def on_the_near_edge(given: PlacementProblem) -> PlacementProblem:
    """Every item held at y = 0, as a half piece on a fold is."""
    items = tuple(
        replace(
            item,
            orientations=tuple(
                replace(each, lane=(0.0, given.extent(each.shape)[1])) for each in item.orientations
            ),
        )
        for item in given.items
    )
    return replace(given, items=items)


def bound(given: PlacementProblem) -> float:
    relaxation = relax(given)
    return along_lines(relaxation.problem, relaxation.gap)


# Side by side on the fold, 300 and 500 of it; the triangle is that long at its base only.
def test_each_piece_on_a_fold_needs_its_length_of_it() -> None:
    given = on_the_near_edge(problem([rectangle(300.0, 100.0), TRIANGLE], 1500.0))
    narrower = 500.0 * EDGE_MM / 400.0
    assert bound(given) == pytest.approx(800.0 - narrower, abs=1e-6)
    assert simple(given) >= 800.0 - narrower - 1e-6


# Two discs of radius 200 on 600 of cloth: the middle line cuts each at 100 from its centre at
# most, where its chord is 2 √(200² - 100²) = 346.41. The optimum is 400 + 346.41.
def test_pieces_too_wide_to_lie_side_by_side() -> None:
    angles = np.linspace(0.0, 2 * np.pi, 240, endpoint=False)
    disc = 200.0 * np.column_stack((np.cos(angles), np.sin(angles)))
    found = bound(problem([disc, disc], 600.0))
    assert 2 * 346.41 - 1.0 <= found <= 746.41


def test_a_piece_that_may_turn_covers_what_it_covers_in_every_turn() -> None:
    upright = rectangle(50.0, 400.0)
    assert bound(problem([upright] * 3, 500.0)) == pytest.approx(150.0)
    assert bound(problem([upright] * 3, 500.0, (0.0, 90.0))) == 0.0


@pytest.mark.parametrize("seed", range(12))
def test_no_layout_is_shorter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    outlines: list[FloatArray] = [
        outline * rng.uniform(0.5, 2.0)
        for outline in rng.permutation(np.array(list(CAST.values()), dtype=object))[:5]
    ]
    tallest = max(float(np.ptp(outline[:, 1])) for outline in outlines)
    given = problem(outlines, tallest * rng.uniform(1.0, 1.8), (0.0, 180.0))
    assert bound(given) <= strip_length(given, greedy(given, rng, 1.0)) + 1e-6
