"""Perturbations: what each keeps and what it changes."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from marker.placement.problem.statement import (
    Item,
    Orientation,
    PlacementProblem,
    Position,
    strip_length,
)
from marker.placement.search.perturbation import (
    PerturbationParams,
    perturbed,
    shifted,
    stretch_moved,
    stretch_shuffled,
    stretch_turned,
    two_exchanged,
    windows,
)
from tests.placement.problems import problem
from tests.shapes import rectangle

WIDTH = 100.0


def orientations(*shapes: int, directions: tuple[int, ...] = (0, 0)) -> tuple[Orientation, ...]:
    """Half a turn apart."""
    return tuple(
        Orientation(shape, 180.0 * k, False, directions[k], (0.0, 0.0))
        for k, shape in enumerate(shapes)
    )


TWO_WAYS = PlacementProblem(
    shapes=(rectangle(60, 30), rectangle(60, 30), rectangle(20, 50)),
    items=tuple(Item(orientations(0, 1)) for _ in range(3))
    + tuple(Item(orientations(2)) for _ in range(3)),
    width=WIDTH,
    margin=0.0,
    area=3 * 1800.0 + 3 * 1000.0,
    usable_width=WIDTH,
)
ROW = tuple(Position(70.0 * k, 5.0 * k, 0) for k in range(6))
SEEDS = range(20)
USUAL = PerturbationParams()


@pytest.mark.parametrize("seed", SEEDS)
def test_a_stretch_that_turns_keeps_the_distances_within_it(seed: int) -> None:
    found = stretch_turned(TWO_WAYS, ROW, np.random.default_rng(seed), USUAL)
    turned = [k for k in range(6) if found[k] != ROW[k]]
    for k in turned:
        assert found[k].orientation == (1 if k < 3 else 0)
    for one, other in itertools.pairwise(turned):
        along = [TWO_WAYS.extent(0 if k < 3 else 2) for k in (one, other)]
        corners = [
            np.array([found[k].x, found[k].y]) + size
            for k, size in zip((one, other), along, strict=True)
        ]
        before = [np.array([ROW[k].x, ROW[k].y]) for k in (one, other)]
        assert corners[0] - corners[1] == pytest.approx(before[1] - before[0])


@pytest.mark.parametrize("seed", SEEDS)
def test_a_stretch_that_moves_keeps_the_strip_as_long_and_every_piece_as_high(
    seed: int,
) -> None:
    found = stretch_moved(TWO_WAYS, ROW, np.random.default_rng(seed), USUAL)
    assert [(each.y, each.orientation) for each in found] == [(each.y, 0) for each in ROW]
    shifts = {round(b.x - a.x, 6) for a, b in zip(ROW, found, strict=True)}
    assert len(shifts) <= 3
    for k, each in enumerate(found):
        middle = each.x + TWO_WAYS.extent(0 if k < 3 else 2)[0] / 2
        assert 0.0 <= middle <= strip_length(TWO_WAYS, ROW)


@pytest.mark.parametrize("seed", SEEDS)
def test_pieces_take_each_others_places(seed: int) -> None:
    for perturbation in (stretch_shuffled, two_exchanged):
        found = perturbation(TWO_WAYS, ROW, np.random.default_rng(seed), USUAL)
        assert sorted((each.x, each.y) for each in found) == [(each.x, each.y) for each in ROW]
        assert all(each.orientation == 0 for each in found)


def test_two_of_the_same_shape_are_not_exchanged() -> None:
    alike = problem([rectangle(50, 20)] * 4, WIDTH)
    row = tuple(Position(50.0 * k, 0.0, 0) for k in range(4))
    assert two_exchanged(alike, row, np.random.default_rng(0), USUAL) == row


def test_what_lies_beyond_the_place_is_shifted() -> None:
    found = shifted(TWO_WAYS, ROW, 3.0, np.random.default_rng(1))
    shifts = [a.x - b.x for a, b in zip(ROW, found, strict=True)]
    assert sorted(shifts) == shifts
    assert set(shifts) == {0.0, 3.0}


def test_a_group_turns_as_a_whole_and_never_in_part() -> None:
    grouped = PlacementProblem(
        shapes=TWO_WAYS.shapes,
        items=tuple(Item(orientations(0, 1, directions=(0, 1)), group=k % 2) for k in range(6)),
        width=WIDTH,
        margin=0.0,
        area=6 * 1800.0,
        usable_width=WIDTH,
    )
    turned = set()
    for seed in range(60):
        found = perturbed(grouped, ROW, np.random.default_rng(seed))
        for group in (0, 1):
            lying = {found[k].orientation for k in range(6) if k % 2 == group}
            assert len(lying) == 1
            turned |= {(group, lying.pop())}
    assert turned == {(0, 0), (0, 1), (1, 0), (1, 1)}


def long_row(group: int = -1) -> tuple[PlacementProblem, tuple[Position, ...]]:
    """Forty pieces of 60, 70 apart: 2790 long, 11 windows of 2.5 × 100."""
    given = problem([rectangle(60 + k / 10, 30) for k in range(40)], WIDTH, (0.0, 180.0), group)
    return given, tuple(Position(70.0 * k, 0.0, 0) for k in range(40))


@pytest.mark.parametrize("group", [-1, 0])
def test_a_long_strip_is_perturbed_within_one_window(group: int) -> None:
    given, row = long_row(group)
    assert windows(given, strip_length(given, row)) == pytest.approx(11.2, abs=0.1)
    moved: set[int] = set()
    for seed in SEEDS:
        found = perturbed(given, row, np.random.default_rng(seed))
        changed = [k for k in range(40) if found[k] != pytest.approx(row[k])]
        reach = [row[k].x for k in changed]
        assert not changed or max(reach) - min(reach) <= 250.0
        assert group < 0 or all(position.orientation == 0 for position in found)
        moved.update(changed)
    assert len(moved) > 20


def test_a_strip_of_less_than_two_windows_is_perturbed_as_a_whole() -> None:
    given, _ = long_row()
    assert windows(given, 499.0) == 1.0
    assert windows(given, 500.0) == 2.0
