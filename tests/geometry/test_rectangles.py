"""Largest empty rectangles against geometry and a slow search over all grid lines."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely

from marker.geometry.rectangles import largest_rectangle
from tests.shapes import CUP, ELL, TRIANGLE, rectangle


def area(box: np.ndarray | None) -> float:
    return 0.0 if box is None else float(np.prod(box[1] - box[0]))


def slow(blocked: list[tuple[int, int, int, int]], size: int, least: int) -> int:
    """Largest free rectangle of whole cells, every pair of lines tried."""
    taken = np.zeros((size, size), dtype=bool)
    for x, y, along, across in blocked:
        taken[x : x + along, y : y + across] = True
    lines = list(combinations(range(size + 1), 2))
    return max(
        (
            (far - x) * (top - y)
            for x, far in lines
            for y, top in lines
            if min(far - x, top - y) >= least and not taken[x:far, y:top].any()
        ),
        default=0,
    )


@pytest.mark.parametrize("seed", range(8))
def test_rectangles_among_boxes_match_the_slow_search(seed: int) -> None:
    rng = np.random.default_rng(seed)
    least, size = int(rng.integers(1, 4)), 9
    at, long = rng.integers(0, 8, (5, 2)).tolist(), rng.integers(1, 4, (5, 2)).tolist()
    boxes = [(x, y, along, across) for (x, y), (along, across) in zip(at, long, strict=True)]
    covered = [shapely.box(10 * x, 10 * y, 10 * (x + a), 10 * (y + b)) for x, y, a, b in boxes]
    region = shapely.box(0, 0, 10 * size, 10 * size).difference(shapely.unary_union(covered))
    found = largest_rectangle(region, 5.0, 10.0 * least)
    assert area(found) == pytest.approx(100 * slow(boxes, size, least), abs=0.5)


@pytest.mark.parametrize(
    ("outline", "largest"),
    [
        (rectangle(70, 30), 2100.0),
        (ELL * 10, 3600.0),  # 40 × 90 beats 100 × 30
        (CUP * 10, 3000.0),  # the floor, 100 × 30
        (TRIANGLE * 10, 2000.0),  # half of a triangle's area (geometry), side along its base
    ],
)
def test_largest_rectangle_of_a_shape(outline: np.ndarray, largest: float) -> None:
    region = shapely.Polygon(outline)
    found = largest_rectangle(region, 1.0, 1.0)
    assert found is not None
    assert region.buffer(0.01).contains(shapely.box(*found.ravel()))
    assert 0.97 * largest <= area(found) <= largest * 1.001


def test_none_where_nothing_is_wide_enough() -> None:
    assert largest_rectangle(shapely.box(0, 0, 500, 90), 10.0, 100.0) is None
    assert largest_rectangle(shapely.Polygon(), 10.0, 100.0) is None
    exactly = largest_rectangle(shapely.box(0, 0, 500, 100), 10.0, 100.0)
    assert area(exactly) == pytest.approx(50_000)
