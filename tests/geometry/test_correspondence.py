"""Outlines of several sizes, point by point."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from marker.geometry.arrays import FloatArray
from marker.geometry.correspondence import (
    NoCorrespondenceError,
    corresponding,
    enough,
    first_shift,
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


def test_other_corners_do_not_correspond() -> None:
    triangle = np.array([[0.0, 0], [9, 0], [0, 9]])
    with pytest.raises(NoCorrespondenceError, match="3, 4"):
        corresponding([triangle, np.array([[0.0, 0], [9, 0], [9, 9], [0, 9]])], WITHIN_MM)


def test_the_first_corner_is_found_again() -> None:
    corners = np.array([[0.0, 0], [300, 0], [310, 200], [0, 180]])
    for shift in range(4):
        assert first_shift(corners, np.roll(corners * 1.1 + 50, shift, axis=0)) == shift


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
