"""Shapes without a no-fit polygon are kept apart by their hulls."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import MultiPoint, Polygon

from marker.placement.lp.compaction import compact
from marker.placement.problem.statement import strip_length
from marker.placement.search.first_layouts import FirstLayouts
from marker.placement.search.state import choices
from marker.placement.tables.hulls import blocked_by_hull, hulls_of
from marker.placement.tables.no_fit_polygons import (
    Abandoned,
    count_of_polygons,
    hulls_alone,
    no_fit_polygons,
    polygons_near,
)
from tests.placement.arrangements import cast_problem, faults
from tests.shapes import CAST

NAMES = ("cup", "star", "ell", "notched", "triangle")


@pytest.mark.parametrize("a", NAMES)
@pytest.mark.parametrize("b", NAMES)
def test_two_hulls_block_each_other_where_they_overlap(a: str, b: str) -> None:
    """Just inside the interval they overlap, at its ends they touch, by shapely."""
    shapes = [CAST[name] * 20.0 - (CAST[name] * 20.0).min(axis=0) for name in (a, b)]
    one, other = (MultiPoint(shape).convex_hull for shape in shapes)
    hulls = hulls_of(shapes)
    heights = shapes[0][:, 1].max(), shapes[1][:, 1].max()
    for dy in np.linspace(-heights[1], heights[0], 13)[1:-1]:
        least, greatest = blocked_by_hull(hulls, 0, 1, float(dy))
        for x, laps in ((least, False), (greatest, False), (least + 0.1, True)):
            area = one.intersection(affinity.translate(other, x, dy)).area
            assert (area > 1e-6) == laps, (dy, x, area)
        assert least < greatest


def test_hulls_are_those_of_shapely() -> None:
    shape = CAST["cup"] * 20.0
    hulls = hulls_of([shape])
    right, left = hulls.point[: hulls.start[1]], hulls.point[hulls.start[1] :]
    made = Polygon(np.concatenate([right, left[::-1]]))
    assert made.equals(MultiPoint(shape).convex_hull)
    assert (np.diff(right[:, 1]) > 0).all()
    assert (np.diff(left[:, 1]) > 0).all()


def test_a_layout_by_hulls_is_drawn_together_by_the_polygons_of_neighbours() -> None:
    """Two that lie far from each other have none: then their bounding boxes keep them apart."""
    given = cast_problem(NAMES * 4, 250.0, scale=10.0)
    layouts = FirstLayouts(given, hulls_alone(given), choices(given), np.random.default_rng(0))
    laid = layouts.laid(layouts.batch()[0])
    assert not faults(given, laid)
    near = polygons_near(given, laid, 1.0)
    assert (near.pair < 0).any()
    drawn = compact(given, near, laid)
    assert drawn is not None
    assert not faults(given, drawn)
    assert strip_length(given, drawn) < strip_length(given, laid)


def test_polygons_are_counted_before_they_are_made() -> None:
    given = cast_problem(NAMES, 250.0, (0.0, 90.0, 180.0, 270.0))
    made = len(no_fit_polygons(given).start) - 1
    assert made <= count_of_polygons(given) <= 1.5 * made


def test_polygons_are_given_up_when_nobody_waits() -> None:
    given = cast_problem(NAMES * 3, 250.0, (0.0, 11.0, 23.0, 37.0))
    with pytest.raises(Abandoned):
        no_fit_polygons(given, lambda: True)
