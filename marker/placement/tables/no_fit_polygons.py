"""No-fit polygons of all pairs of shapes, flat, so that kernels can read them.

How two shapes lie to one another depends on the turn and hand of one as seen from the other. So
pairs that are the same but for a quarter, half or three-quarter turn or a reflection of both share
one polygon. Of pieces in two directions two in place of four, of pieces in four turns four in place
of sixteen. Each pair has a code that says how to see it.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations_with_replacement
from typing import NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.geometry.minkowski import edges_of_sum, sliding, standing
from marker.placement.problem.statement import Arrangement, PlacementProblem, laid
from marker.placement.tables.hulls import NO_HULLS, Hulls, hulls_of
from marker.placement.tables.likeness import Look, Moves, looks, seen_as

CODE_BITS = 4
EXCHANGED, FLIPPED_X, FLIPPED_Y, TURNED, CODES = 1, 2, 4, 8, 1 << CODE_BITS
"""Bits of a code: the two are exchanged, then mirrored along, across, then x and y exchanged."""


_CHUNK = 100


class Abandoned(Exception):
    """Whoever waited no longer wants it."""


class NoFitPolygons(NamedTuple):
    """The polygons, and which of them each pair of shapes has.

    pair : (s, s) index of the polygon × CODES + code, for any two shapes in any order; -1 for two
    that have none. edge : (e, 4) x1, y1, x2, y2, mm, the inside to the left, of all polygons.
    start : (p + 1,) polygon p owns start[p] to start[p + 1]. extent : (s, 2) bounding boxes.
    hulls : of shapes that lie apart by them, where pairs have no polygons.
    """

    pair: IntArray
    start: IntArray
    edge: FloatArray
    extent: FloatArray
    hulls: Hulls = NO_HULLS

    def of(self, a: int, b: int) -> FloatArray:
        """Edges around the positions of b, less that of a, at which the two overlap, (k, 4)."""
        polygon, code = divmod(int(self.pair[a, b]), CODES)
        points = self.edge[self.start[polygon] : self.start[polygon + 1]].reshape(-1, 2, 2)
        back = 1.0
        if code & EXCHANGED:
            a, b, back = b, a, -1.0
        if code & TURNED:
            points = points[:, :, ::-1]
        flipped = np.array([bool(code & FLIPPED_X), bool(code & FLIPPED_Y)])
        points = back * np.where(flipped, self.extent[a] - self.extent[b] - points, points)
        if bool(code & TURNED) != bool(flipped.sum() == 1):
            points = points[:, ::-1]  # a reflection turns the inside to the right
        return np.asarray(points.reshape(-1, 4))


@kernel(inline=True)
def seen(
    code: int, at: tuple[float, float], a: tuple[float, float], b: tuple[float, float]
) -> tuple[float, float]:
    """A position of b, less that of a, as the polygon of their pair has it.

    at : mm. a, b : their bounding boxes.
    """
    x, y = at
    along, across = a[0] - b[0], a[1] - b[1]
    if code & EXCHANGED:
        x, y, along, across = -x, -y, -along, -across
    if code & FLIPPED_X:
        x = along - x
    if code & FLIPPED_Y:
        y = across - y
    if code & TURNED:
        x, y = y, x
    return x, y


def no_fit_polygons(
    problem: PlacementProblem, stopped: Callable[[], bool] = lambda: False
) -> NoFitPolygons:
    """Those of each pair of the problem's shapes, but not of two obstacles.

    stopped : asked now and then whether to give up, which raises Abandoned.
    """
    movable = movable_shapes(problem)
    shapes = problem.shapes
    pairs = [
        (a, b)
        for a, b in combinations_with_replacement(range(len(shapes)), 2)
        if a in movable or b in movable
    ]
    return _shared(shapes, looks(shapes), pairs, stopped)


def movable_shapes(problem: PlacementProblem) -> set[int]:
    """Those of items; the others are of obstacles alone."""
    return {each.shape for item in problem.items for each in item.orientations}


def polygons_near(
    problem: PlacementProblem,
    arrangement: Arrangement,
    distance: float,
    stopped: Callable[[], bool] = lambda: False,
) -> NoFitPolygons:
    """Those of shapes that lie no farther apart than this along and across, mm.

    stopped : as of `no_fit_polygons`.
    """
    shape, low = laid(problem, arrangement)
    high = low + np.array([problem.extent(each) for each in range(len(problem.shapes))])[shape]
    items = len(arrangement)
    near = {
        (min(shape[k], other), max(shape[k], other))
        for k in range(items)
        for other in shape[
            k + 1 + np.flatnonzero(
                ((low[k + 1 :] <= high[k] + distance) & (low[k] <= high[k + 1 :] + distance)).all(1)
            )
        ].tolist()
    }  # fmt: skip
    pairs = sorted((int(a), int(b)) for a, b in near)
    return _shared(problem.shapes, looks(problem.shapes), pairs, stopped)


def count_of_polygons(problem: PlacementProblem) -> int:
    """About how many polygons all pairs of shapes take, rather more."""
    every = looks(problem.shapes)
    moves = {each.moves for each in every}
    relative = {one.back().then(other) for one in moves for other in moves}
    bases = len({each.base for each in every})
    return bases * (bases + 1) // 2 * len(relative)


def hulls_alone(problem: PlacementProblem) -> NoFitPolygons:
    """No polygons, but the hulls that keep shapes apart without them."""
    extent = np.array([problem.extent(each) for each in range(len(problem.shapes))])
    return polygons_of({}, extent)._replace(hulls=hulls_of(problem.shapes))


def _shared(
    shapes: tuple[FloatArray, ...],
    all_looks: list[Look],
    pairs: list[tuple[int, int]],
    stopped: Callable[[], bool],
) -> NoFitPolygons:
    fixed: dict[int, IntArray] = {}
    moving: dict[tuple[int, Moves], IntArray] = {}
    index: dict[tuple[int, int, Moves], int] = {}
    edges: list[FloatArray] = []
    pair = np.full((len(shapes), len(shapes)), -1, dtype=np.int64)
    for a, b in pairs:
        first, second = all_looks[a], all_looks[b]
        key = first.base, second.base, first.moves.back().then(second.moves)
        code = _code(first.moves)
        exchanged = second.base, first.base, second.moves.back().then(first.moves)
        if exchanged < key:
            key, code = exchanged, _code(second.moves) | EXCHANGED
        if key not in index:
            still, other, moves = key
            if still not in fixed:
                fixed[still] = standing(shapes[still])
            if (other, moves) not in moving:
                moving[other, moves] = sliding(seen_as(shapes[other], moves))
            index[key] = len(edges)
            if len(edges) % _CHUNK == 0 and stopped():
                raise Abandoned
            edges.append(edges_of_sum(fixed[still], moving[other, moves]))
        pair[a, b] = index[key] * CODES + code
        pair[b, a] = index[key] * CODES + (code ^ EXCHANGED)
    return _flat(pair, edges, np.array([shape.max(axis=0) for shape in shapes]))


def polygons_of(edges_of: dict[tuple[int, int], FloatArray], extent: FloatArray) -> NoFitPolygons:
    """Those that are given, each for one pair a < b of things with these bounding boxes."""
    pair = np.full((len(extent), len(extent)), -1, dtype=np.int64)
    for index, (a, b) in enumerate(edges_of):
        pair[a, b], pair[b, a] = index * CODES, index * CODES + EXCHANGED
    return _flat(pair, list(edges_of.values()), extent)


def _flat(pair: IntArray, edges: list[FloatArray], extent: FloatArray) -> NoFitPolygons:
    counts = [len(each) for each in edges]
    return NoFitPolygons(
        pair,
        np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        np.concatenate([np.empty((0, 4)), *edges]),
        np.asarray(extent, dtype=np.float64),
    )


def _code(moves: Moves) -> int:
    return FLIPPED_X * moves.flipped_x + FLIPPED_Y * moves.flipped_y + TURNED * moves.turned


def moves_of(code: int) -> Moves:
    """What makes the shapes of a pair with this code of those that its polygon is of."""
    return Moves(bool(code & TURNED), bool(code & FLIPPED_X), bool(code & FLIPPED_Y))
