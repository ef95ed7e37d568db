"""What is left of a cloth, against geometry."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from marker.cloth.leftover import remaining


def sizes(box: np.ndarray) -> list[float]:
    return [float(side) for side in box[1] - box[0]]


def test_two_remnants_beside_a_piece() -> None:
    """A piece across the middle of 1000 × 500 leaves 200 and 400; the strip of 50 is too narrow."""
    cloth = shapely.box(0, 0, 1000, 500)
    found = remaining(cloth, [shapely.box(200, 0, 600, 450)])
    assert [sizes(one.rectangles[0]) for one in found] == [
        pytest.approx([400, 500], abs=0.1), pytest.approx([200, 500], abs=0.1)
    ]  # fmt: skip
    assert sum(one.area_mm2 for one in found) == pytest.approx(300_000, rel=1e-3)


def test_rectangles_of_one_remnant_are_apart_and_largest_first() -> None:
    """An ell of cloth: 300 × 500 and 400 × 200 beside it, or 700 × 200 and 300 × 300 above it."""
    (one,) = remaining(shapely.box(0, 0, 700, 500), [shapely.box(300, 200, 700, 500)])
    first, second = one.rectangles
    assert sizes(first) == pytest.approx([300, 500], abs=0.1)
    assert sizes(second) == pytest.approx([400, 200], abs=0.1)
    assert not shapely.box(*first.ravel()).overlaps(shapely.box(*second.ravel()).buffer(-0.01))
    assert one.area_mm2 == pytest.approx(230_000, rel=1e-3)


def test_nothing_covered_is_in_a_remnant() -> None:
    rng = np.random.default_rng(3)
    for _ in range(2):
        points = rng.uniform(0, 900, (6, 2))
        covered = [shapely.Point(*point).buffer(rng.uniform(30, 200)) for point in points]
        used = shapely.unary_union(covered).buffer(-0.01)
        for one in remaining(shapely.box(0, 0, 1000, 1000), covered):
            assert not shapely.Polygon(one.outline, one.holes).intersects(used)
            assert not any(shapely.box(*box.ravel()).intersects(used) for box in one.rectangles)
            assert all(min(sizes(box)) >= 99.9 for box in one.rectangles)


def test_nothing_is_left_of_a_cloth_used_up() -> None:
    assert remaining(shapely.box(0, 0, 500, 500), [shapely.box(0, 0, 500, 410)]) == ()
