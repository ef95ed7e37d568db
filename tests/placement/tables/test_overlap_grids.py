"""The overlap grids: cells tell the truth, nodes the penalty that shapely's measures give."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from marker.placement.search.overlaps import pair_penalty, rough_penalty
from marker.placement.tables.no_fit_polygons import CODES, Abandoned, no_fit_polygons
from marker.placement.tables.overlap_grids import (
    BOUNDARY,
    INSIDE,
    OUTSIDE,
    GridParams,
    hull_size,
    overlap_grids,
    overlap_penalty,
)
from tests.placement.arrangements import cast_problem
from tests.placement.tables.polygons import solid_of

NAMES = ("cup", "star", "ell")
GIVEN = cast_problem(NAMES, 600.0)
POLYGONS = no_fit_polygons(GIVEN)


def plain_pairs() -> list[tuple[int, int]]:
    """Pairs of shapes whose polygon is seen as it is stored."""
    count = len(GIVEN.shapes)
    return [(a, b) for a in range(count) for b in range(count) if POLYGONS.pair[a, b] % CODES == 0]


@pytest.mark.parametrize("pair", plain_pairs()[:5])
def test_cells_and_rows_agree_with_the_polygon(pair: tuple[int, int]) -> None:
    grids = overlap_grids(POLYGONS, GIVEN.shapes)
    solid = solid_of(POLYGONS.of(*pair))
    p = POLYGONS.pair[pair] // CODES
    x0, y0, per_mm, nx, first, row_first = grids.grid[p]
    cell = 1 / per_mm
    rows = round((solid.bounds[3] - y0) / cell)
    kinds = set()
    for row in range(0, rows, 3):
        up = row + 0.5
        y = y0 + up * cell
        for column in range(0, int(nx) - 1, 3):
            node = int(first) + row * int(nx) + column
            x = x0 + column * cell
            square = box(x, y - cell / 2, x + cell, y + cell / 2)
            kind = grids.kind[node]
            kinds.add(int(kind))
            if kind == OUTSIDE:
                assert not solid.intersects(square)
            elif kind == INSIDE:
                assert solid.covers(square)
        r = int(row_first) + row
        edges = grids.edge[grids.row_edges[r] : grids.row_edges[r + 1]]
        met = [x0 + cell * (x + (up - low) * t) for low, high, x, t in edges if low <= up < high]
        for x in np.linspace(solid.bounds[0] - 1.1, solid.bounds[2] + 1.3, 40):
            assert (sum(x < at for at in met) % 2 == 1) == solid.covers(Point(x, y))
    assert kinds == {OUTSIDE, INSIDE, BOUNDARY}


@pytest.mark.parametrize("pair", plain_pairs()[:5])
def test_nodes_hold_the_penalty_of_depth_and_common_area(pair: tuple[int, int]) -> None:
    grids = overlap_grids(POLYGONS, GIVEN.shapes)
    solid = solid_of(POLYGONS.of(*pair))
    x0, y0, per_mm, nx, first, _ = grids.grid[POLYGONS.pair[pair] // CODES]
    a, b = (GIVEN.shapes[k] for k in pair)
    weight = hull_size(a) * hull_size(b)
    for row in range(3, 40, 5):
        for column in range(2, int(nx) - 1, 7):
            at = x0 + column / per_mm, y0 + row / per_mm
            off = solid.boundary.distance(Point(at))
            depth = np.array([off if solid.covers(Point(at)) else -off])
            moved = affinity.translate(Polygon(b), *at)
            common = np.array([Polygon(a).intersection(moved).area])
            expected = overlap_penalty(depth, common, 1 / per_mm)[0] * weight
            found = grids.value[int(first) + row * int(nx) + column]
            assert found == pytest.approx(expected, rel=0.05)


def test_a_rough_look_up_is_that_of_the_nearest_node() -> None:
    grids, count = overlap_grids(POLYGONS, GIVEN.shapes), 0
    for a, b in plain_pairs():
        x0, y0, per_mm, nx, _, _ = grids.grid[POLYGONS.pair[a, b] // CODES]
        for node in ((int(nx) // 2, 20), (int(nx) // 3, 30)):
            x, y = x0 + node[0] / per_mm, y0 + node[1] / per_mm
            exact = pair_penalty(grids, a, b, x + 1e-9, y + 1e-9)
            if exact > 0:
                count += 1
                beside = x + 0.4 / per_mm, y - 0.4 / per_mm
                assert rough_penalty(grids, a, b, *beside) == pytest.approx(exact, rel=1e-4)
    assert count > 5


def test_the_memory_allowed_decides_how_fine_they_are() -> None:
    fine, coarse = (
        overlap_grids(POLYGONS, GIVEN.shapes, GridParams(memory_mb=mb)) for mb in (600.0, 0.2)
    )
    assert len(coarse.value) * 5 <= 0.2e6 < len(fine.value) * 5


def test_threads_share_the_work_and_change_nothing() -> None:
    one, two = (overlap_grids(POLYGONS, GIVEN.shapes, workers=workers) for workers in (1, 2))
    for name in ("value", "kind", "row_edges", "edge"):
        assert np.array_equal(getattr(one, name), getattr(two, name))


def test_it_gives_up_when_nobody_waits() -> None:
    with pytest.raises(Abandoned):
        overlap_grids(POLYGONS, GIVEN.shapes, stopped=lambda: True)


def test_the_penalty_grows_smoothly_with_depth_and_with_the_common_area() -> None:
    soft = 2.0
    depth = np.linspace(-30, 30, 601)
    found = overlap_penalty(depth, np.full(601, 25.0), soft)
    assert (found > 0).all()
    assert (np.diff(found) > 0).all()
    beyond = np.sqrt(depth[depth > soft] * np.sqrt(25.0 + soft**2))
    assert found[depth > soft] == pytest.approx(beyond)
    area = np.linspace(0, 100, 201)
    assert (np.diff(overlap_penalty(np.full(201, 3.0), area, soft)) > 0).all()
