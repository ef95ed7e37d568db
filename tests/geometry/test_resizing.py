"""Outlines of several sizes correspond; an outline fitted again after its corners were moved."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.geometry.arrays import FloatArray
from marker.geometry.outline import polyline_length, sharp_vertices
from marker.geometry.resizing import (
    NoCorrespondenceError,
    corresponding,
    enough,
    first_shift,
    refitted,
    telling_moves,
)

WITHIN_MM = 0.02


def quarter(radius: float, steps: int) -> FloatArray:
    """A quarter disc whose arc has so many chords; corners at the centre and both ends."""
    angles = np.linspace(0, np.pi / 2, steps + 1)
    return np.vstack([[0.0, 0.0], radius * np.column_stack([np.cos(angles), np.sin(angles)])])


@given(st.integers(9, 40), st.integers(9, 40), st.integers(0, 60), st.floats(80, 500))
def test_each_outline_keeps_its_line(own: int, other: int, turn: int, radius: float) -> None:
    sizes = [quarter(300, own), np.roll(quarter(radius, other), turn, axis=0), quarter(310, own)]
    found = corresponding(sizes, WITHIN_MM)
    for size, points in zip(sizes, found, strict=True):
        rings = shapely.LinearRing(size), shapely.LinearRing(points)
        assert shapely.hausdorff_distance(*rings) <= WITHIN_MM + 1e-9
    apart = np.hypot(*(found[0][:, None] - sizes[0]).transpose(2, 0, 1))
    assert apart.min(axis=0).max() < 1e-9
    assert np.allclose(found[:, 0], 0)  # corner to corner


def test_as_many_points_are_matched_one_to_one() -> None:
    sizes = [quarter(300, 12), quarter(330, 12)]
    assert np.array_equal(corresponding(sizes, WITHIN_MM), sizes)


def test_a_corner_that_is_one_in_some_sizes_alone_keeps_its_place() -> None:
    """Of two points of the far side one makes a corner, in the other size the other."""
    one = np.array([[0.0, 0], [300, 0], [300, 300], [200, 320], [100, 380], [0, 300]])
    other = np.array([[0.0, 0], [300, 0], [300, 300], [200, 380], [100, 320], [0, 300]])
    bends = [len(sharp_vertices(each)) for each in (one, other)]
    assert bends == [5, 5]
    sizes = [one, np.roll(other, 2, axis=0)]
    assert np.array_equal(corresponding(sizes, WITHIN_MM), [one, other])
    straight = np.array([[0.0, 0], [300, 0], [300, 300], [200, 300], [100, 300], [0, 300]])
    assert np.array_equal(corresponding([one, straight], WITHIN_MM), [one, straight])


def test_other_corners_do_not_correspond() -> None:
    triangle = np.array([[0.0, 0], [9, 0], [0, 9]])
    with pytest.raises(NoCorrespondenceError, match="3, 4"):
        corresponding([triangle, np.array([[0.0, 0], [9, 0], [9, 9], [0, 9]])], WITHIN_MM)


def test_the_first_corner_is_found_again() -> None:
    corners = np.array([[0.0, 0], [300, 0], [310, 200], [0, 180]])
    for shift in range(4):
        assert first_shift(corners, np.roll(corners * 1.1 + 50, shift, axis=0)) == shift


@given(st.integers(3, 12), st.integers(0, 10**6))
def test_the_nearest_shift_is_that_of_least_squares(count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    own, theirs = rng.uniform(-300, 300, (2, count, 2))
    off = [
        (
            ((np.roll(theirs, -k, axis=0) - theirs.mean(axis=0)) - (own - own.mean(axis=0))) ** 2
        ).sum()
        for k in range(count)
    ]
    assert off[first_shift(own, theirs)] == pytest.approx(min(off))


@given(st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), min_size=2, max_size=30))
def test_what_is_left_out_lies_between_what_is_kept(rows: list[tuple[float, float]]) -> None:
    values = np.array([rows, rows[::-1]])
    at = np.cumsum(1.0 + np.arange(len(rows)) % 3)
    must = np.isin(np.arange(len(rows)), [0, len(rows) - 1])
    kept = enough(at, values, must, 0.5)
    for line in values:
        again = np.column_stack([np.interp(at, at[kept], line[kept, axis]) for axis in (0, 1)])
        assert np.hypot(*(again - line).T).max() <= 0.5 + 1e-9


def test_straight_moves_are_told_by_their_ends() -> None:
    """A square with points along its edges that grows evenly: its four corners say it all."""
    ring = shapely.box(0, 0, 100, 100).exterior.segmentize(10)
    square = shapely.get_coordinates(ring)[:-1]
    assert len(telling_moves(np.stack([square, square * 1.2]), 1e-6)) == 4


ARC = np.radians(np.linspace(0, 90, 60))
QUARTER = np.vstack([[[0, 0]], 100 * np.column_stack([np.cos(ARC), np.sin(ARC)])])
CORNERS = (0, 1, 60)  # centre, and both ends of the arc


def test_a_corner_lands_where_its_rule_moves_it() -> None:
    moves = {1: np.array([10.0, 2.0]), 60: np.array([0.0, 5.0]), 0: np.array([1.0, -1.0])}
    moved = refitted(QUARTER, CORNERS, moves)
    for corner, by in moves.items():
        assert moved[corner] == pytest.approx(QUARTER[corner] + by, abs=1e-9)


@given(st.floats(-0.3, 0.3), st.floats(0.7, 1.4), st.floats(-50, 50))
@settings(max_examples=25)
def test_corners_turned_scaled_and_moved_together_take_the_outline_along(
    turn: float, scale: float, along: float
) -> None:
    """A similarity keeps every curve (geometry)."""
    angle = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    wanted = scale * QUARTER @ angle + [along, -along]
    moves = {corner: wanted[corner] - QUARTER[corner] for corner in CORNERS}
    assert refitted(QUARTER, CORNERS, moves) == pytest.approx(wanted, abs=1e-6)


def test_straight_edges_stay_straight_and_share_their_unruled_corners() -> None:
    square = np.array([[0, 0], [50, 0], [100, 0], [100, 100], [0, 100.0]])
    moves = {0: np.zeros(2), 2: np.array([20.0, 0.0]), 3: np.array([20.0, 10.0]), 4: np.zeros(2)}
    moved = refitted(square, range(5), moves)
    assert moved == pytest.approx(np.array([[0, 0], [60, 0], [120, 0], [120, 110], [0, 100]]))


def angle_at(outline: FloatArray, vertex: int) -> float:
    """Angle inside at a vertex, degrees, from the chords on either side."""
    before, after = outline[vertex - 1], outline[(vertex + 1) % len(outline)]
    first, second = before - outline[vertex], after - outline[vertex]
    cosine = (first @ second) / (np.hypot(*first) * np.hypot(*second))
    return float(np.degrees(np.arccos(cosine)))


def test_a_curve_keeps_its_angle_to_the_straight_edges_it_meets() -> None:
    """One radius longer and turned by 3°, the other only longer: still square to both."""
    up = 110 * np.array([np.cos(np.radians(93)), np.sin(np.radians(93))])
    moves = {0: np.zeros(2), 1: np.array([5.0, 0.0]), 60: up - QUARTER[60]}
    moved = refitted(QUARTER, CORNERS, moves)
    for corner in (1, 60):
        assert angle_at(moved, corner) == pytest.approx(angle_at(QUARTER, corner), abs=0.1)


def test_curves_that_run_into_each_other_still_do() -> None:
    angles = np.radians(np.linspace(0, 180, 121))
    half = 100 * np.column_stack([np.cos(angles), np.sin(angles)])  # a half disc, its top a corner
    moves = {0: np.array([12.0, 0.0]), 60: np.array([0.0, 4.0]), 120: np.array([-3.0, 0.0])}
    moved = refitted(half, (0, 60, 120), moves)
    assert angle_at(moved, 60) == pytest.approx(angle_at(half, 60), abs=0.2)


def test_an_ellipse_for_a_circle() -> None:
    """Quarter circle stretched to a quarter ellipse of half axes 110 and 100: within 0.5 mm of it,
    and as long as Ramanujan's formula (1914) says, to 0.5 mm."""
    moves = {0: np.zeros(2), 1: np.array([10.0, 0.0]), 60: np.zeros(2)}
    moved = refitted(QUARTER, CORNERS, moves)
    assert np.abs(np.hypot(moved[1:, 0] / 110, moved[1:, 1] / 100) - 1).max() * 105 < 0.5
    a, b = 110.0, 100.0
    around = np.pi * (3 * (a + b) - np.sqrt((3 * a + b) * (a + 3 * b)))
    assert polyline_length(moved[1:]) == pytest.approx(around / 4, abs=0.5)


def test_an_edge_whose_ends_meet_is_stretched_by_its_length() -> None:
    """A keyhole: its ends lie 2 mm apart and move by 1 mm, so it must not grow by half."""
    angles = np.radians(np.linspace(-175, 175, 90))
    hole = np.column_stack([20 * np.cos(angles) + 20, 20 * np.sin(angles)])
    outline = np.vstack([hole[::-1], [[-100, -200], [-100, 200]]])
    moves = {0: np.array([0.0, 1.0]), 89: np.zeros(2), 90: np.zeros(2), 91: np.zeros(2)}
    moved = refitted(outline, (0, 89, 90, 91), moves)
    assert np.hypot(*(moved - outline).T).max() == pytest.approx(1.0)
