"""The no-fit table: every pair is there, and its cells tell the truth."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Point, Polygon, box

from marker.geometry.arrays import FloatArray
from marker.placement.tables.no_fit_polygons import boundaries
from marker.placement.tables.overlap_grids import (
    BOUNDARY,
    INSIDE,
    OUTSIDE,
    no_fit_table,
    overlap_penalty,
    signed_depth,
)
from tests.placement.arrangements import cast_problem

NAMES = ("cup", "star", "ell")
GIVEN = cast_problem(NAMES, 600.0)


def _solid(edges: FloatArray) -> Polygon:
    """The no-fit polygon by its rings, chained from end to start."""
    onward = {tuple(edge[:2]): tuple(edge[2:]) for edge in edges}
    rings = []
    while onward:
        start, at = onward.popitem()
        ring = [start]
        while at != start:
            ring.append(at)
            at = onward.pop(at)
        rings.append(ring)
    rings.sort(key=lambda ring: -Polygon(ring).area)
    return Polygon(rings[0], rings[1:])


def test_every_pair_has_its_edges() -> None:
    edges_of = boundaries(GIVEN)
    count = len(GIVEN.shapes)
    assert set(edges_of) == {(a, b) for a in range(count) for b in range(a, count)}
    table = no_fit_table(GIVEN, edges_of)
    assert (table.pair == table.pair.T).all()
    assert sorted(table.pair[np.triu_indices(count)]) == list(range(len(edges_of)))
    assert table.extent == pytest.approx(np.array([GIVEN.extent(k) for k in range(count)]))


@pytest.mark.parametrize("pair", [(2, 3), (0, 2), (1, 4)])
def test_cells_and_rows_agree_with_the_polygon(pair: tuple[int, int]) -> None:
    edges_of = boundaries(GIVEN)
    table = no_fit_table(GIVEN, edges_of)
    solid = _solid(edges_of[pair])
    p = table.pair[pair]
    x0, y0, per_mm, nx, first, row_first = table.grid[p]
    cell = 1 / per_mm
    rows = round((solid.bounds[3] - y0) / cell)
    kinds = set()
    for row in range(0, rows, 3):
        y = y0 + (row + 0.5) * cell
        for column in range(0, int(nx) - 1, 3):
            node = int(first) + row * int(nx) + column
            x = x0 + column * cell
            square = box(x, y - cell / 2, x + cell, y + cell / 2)
            kind = table.kind[node]
            kinds.add(int(kind))
            if kind == OUTSIDE:
                assert not solid.intersects(square)
            elif kind == INSIDE:
                assert solid.covers(square)
        r = int(row_first) + row
        edges = table.edge[table.row_edges[r] : table.row_edges[r + 1]]
        met = [x + (y - low) * slope for low, high, x, slope in edges if low <= y < high]
        for x in np.linspace(solid.bounds[0] - 1.1, solid.bounds[2] + 1.3, 40):
            assert (sum(x < at for at in met) % 2 == 1) == solid.covers(Point(x, y))
    assert kinds == {OUTSIDE, INSIDE, BOUNDARY}


def test_depth_is_the_distance_to_the_boundary() -> None:
    edges = boundaries(GIVEN)[0, 1]
    solid = _solid(edges)
    origin, cell = np.array([-150.0, -150.0]), 17.0
    found = signed_depth(edges, origin, cell, 12, 15)
    for row, column in np.ndindex(15, 12):
        at = Point(*(origin + cell * np.array([column, row])))
        sign = 1 if solid.covers(at) else -1
        assert found[row, column] == pytest.approx(sign * solid.boundary.distance(at), rel=1e-6)


def test_severity_grows_smoothly_with_depth_and_with_the_common_area() -> None:
    soft = 2.0
    depth = np.linspace(-30, 30, 601)
    found = overlap_penalty(depth, np.full(601, 25.0), soft)
    assert (found > 0).all()
    assert (np.diff(found) > 0).all()
    beyond = np.sqrt(depth[depth > soft] * np.sqrt(25.0 + soft**2))
    assert found[depth > soft] == pytest.approx(beyond)
    area = np.linspace(0, 100, 201)
    assert (np.diff(overlap_penalty(np.full(201, 3.0), area, soft)) > 0).all()
