"""Places for labels beside pieces, against a search of every place by itself."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from marker.geometry.beside import LabelPlaces, Reach

WITHIN = shapely.box(0.0, 0.0, 60.0, 40.0)
SIZE = (4.0, 3.0)
REACH = Reach(nearest=3.5, farthest=30.0, step=1.5, off_pieces=6.0, off_edges=9.0)


def slow_nearest(
    point: shapely.Point,
    pieces: Sequence[BaseGeometry],
    taken: Sequence[BaseGeometry],
    reach: Reach,
) -> float | None:
    """What the best place costs, by trying each."""
    costs = []
    for radius in np.arange(reach.nearest, reach.farthest, reach.step):
        for angle in np.radians(np.arange(0.0, 360.0, 15.0)):
            x, y = point.x + radius * np.cos(angle), point.y + radius * np.sin(angle)
            costs += _cost((x, y), point, pieces, taken, reach)
    return min(costs, default=None)


def _cost(
    at: tuple[float, float],
    point: shapely.Point,
    pieces: Sequence[BaseGeometry],
    taken: Sequence[BaseGeometry],
    reach: Reach,
) -> list[float]:
    """None where the place is not free."""
    (x, y), (wide, high) = at, SIZE
    box = shapely.box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
    leader = shapely.LineString([(point.x, point.y), at])
    if not WITHIN.contains(box) or abs(y - point.y) < reach.rise:
        return []
    if any(box.intersects(each) or leader.intersects(each) for each in taken):
        return []
    cost = float(np.hypot(x - point.x, y - point.y))
    cost += reach.off_pieces * any(box.intersects(piece) for piece in pieces)
    cost += reach.off_edges * any(box.intersects(piece.boundary) for piece in pieces)
    return [cost]


@pytest.mark.parametrize("seed", range(12))
def test_the_nearest_free_place_is_found(seed: int) -> None:
    rng = np.random.default_rng(seed)
    pieces = [shapely.box(x, 5.0, x + 7.0, 30.0) for x in (3.0, 12.0, 30.0, 41.0)]
    corners = rng.uniform((0, 0), (56, 36), (10 + 4 * seed, 2))
    point = shapely.Point(rng.uniform((5, 5), (55, 35)))
    taken = [shapely.box(x, y, x + 3.0, y + 2.0) for x, y in corners]
    taken = [each for each in taken if each.distance(point) > 0.5]
    reach = REACH if seed % 2 else Reach(3.5, 30.0, 1.5, 6.0, 9.0, rise=2.0)
    places = LabelPlaces(pieces, WITHIN, taken[: len(taken) // 2])
    places.take(*taken[len(taken) // 2 :])
    at = places.nearest(point, SIZE, reach)
    best = slow_nearest(point, pieces, taken, reach)
    if at is None:
        assert best is None
    else:
        assert _cost(at, point, pieces, taken, reach) == pytest.approx([best])


def test_no_place_where_the_point_is_shut_in() -> None:
    wall = shapely.Point(20.0, 20.0).buffer(3.0).exterior
    places = LabelPlaces([], WITHIN, [wall])
    assert places.nearest(shapely.Point(20.0, 20.0), SIZE, REACH) is None
    assert places.nearest(shapely.Point(40.0, 20.0), SIZE, REACH) is not None
