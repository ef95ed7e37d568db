"""No-fit polygons: where one outline may not stand against another."""

from __future__ import annotations

import numpy as np
import pyclipper
from numpy.typing import NDArray

from marker.geometry.arrays import FloatArray, IntArray

GRID_MM = 0.001
"""Outlines are rounded to this grid once; every sum on it is exact (integer clipping)."""

PLAY_MM = 0.005
"""Each moving outline is shrunk by about this much, so that touching counts as free and a piece can
slide into a place of exactly its own size. The compaction takes it back: see `compact`."""

SLIVER_MM2 = 1.0
"""Holes of a no-fit polygon smaller than this are closed: pieces could hide in one another."""


def no_fit_edges(fixed: FloatArray, moving: FloatArray) -> FloatArray:
    """Boundary of the no-fit polygon of two outlines, as edges.

    With reference points at their own origins, the outlines overlap exactly when
    (moving's position - fixed's position) lies inside the boundary.

    fixed, moving : (n, 2), (m, 2), mm, simple, counter-clockwise.
    Returns (k, 4) float64: x1, y1, x2, y2, mm; the inside lies to the left of each edge.

    """
    kept = [ring for ring in no_fit_rings(fixed, moving) if not _is_sliver(ring)]
    return np.concatenate([_edges(np.asarray(ring, dtype=np.float64) * GRID_MM) for ring in kept])


def no_fit_rings(fixed: FloatArray, moving: FloatArray) -> list[list[list[int]]]:
    """The no-fit polygon of `no_fit_edges` with all its holes: rings of points in grid units,
    counter-clockwise but for the holes."""
    a = _to_grid(fixed)
    b = -_shrunk(_to_grid(moving))
    clipper = pyclipper.Pyclipper()
    clipper.AddPaths(convolution(a, b), pyclipper.PT_SUBJECT, True)
    union: list[list[list[int]]] = clipper.Execute(
        pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO
    )
    return union


def convolution(a: IntArray, b: IntArray) -> list[list[tuple[int, int]]]:
    """Closed walks whose winding number about a point z is positive exactly when z lies inside the
    Minkowski sum of the two filled outlines (Guibas, Ramshaw & Stolfi 1983).

    a, b : (n, 2), (m, 2) int64, simple, counter-clockwise.
    The winding number counts the connected parts of a ∩ (z - b), none of which has a hole.
    An edge of one outline is swept at each vertex of the other whose turn passes the edge's
    direction, backwards where the turn is clockwise. Equal directions count as if `a` were turned
    a hair further, so that each is passed exactly once.
    """
    edge_a, edge_b = np.roll(a, -1, axis=0) - a, np.roll(b, -1, axis=0) - b
    a_at_b = _passes(edge_a, edge_b, tie_to_start=True)
    b_at_a = _passes(edge_b, edge_a, tie_to_start=False)
    onward: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for i, j in np.argwhere(a_at_b).tolist():
        step = (i, j), ((i + 1) % len(a), j)
        _add_step(onward, step, forward=a_at_b[i, j] > 0)
    for j, i in np.argwhere(b_at_a).tolist():
        step = (i, j), (i, (j + 1) % len(b))
        _add_step(onward, step, forward=b_at_a[j, i] > 0)
    return [[tuple((a[i] + b[j]).tolist()) for i, j in walk] for walk in _closed_walks(onward)]


Node = tuple[int, int]


def _passes(edges: IntArray, others: IntArray, tie_to_start: bool) -> IntArray:
    """(n, m): 1 where the counter-clockwise turn at the start of others[j] passes the direction of
    edges[i], -1 where a clockwise turn does, else 0. A turn includes the direction it starts from
    (in the counter-clockwise sense) if `tie_to_start`, else the one it ends at."""
    before = np.roll(others, 1, axis=0)
    turn = _cross(before, others)
    low = np.where(turn[:, None] > 0, before, others)
    high = np.where(turn[:, None] > 0, others, before)
    from_low = _cross(low[None, :], edges[:, None])
    to_high = _cross(edges[:, None], high[None, :])
    between: NDArray[np.bool_] = (from_low > 0) & (to_high > 0)
    tie = low if tie_to_start else high
    on_tie = (from_low if tie_to_start else to_high) == 0
    between |= on_tie & ((edges[:, None] * tie[None, :]).sum(axis=2) > 0)
    return np.where(between, np.sign(turn)[None, :], 0)


def _cross(u: IntArray, v: IntArray) -> IntArray:
    product: IntArray = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    return product


def _add_step(onward: dict[Node, list[Node]], step: tuple[Node, Node], forward: bool) -> None:
    start, end = step if forward else step[::-1]
    onward.setdefault(start, []).append(end)


def _closed_walks(onward: dict[Node, list[Node]]) -> list[list[Node]]:
    """All steps chained into closed walks; as many steps arrive at each node as leave it."""
    walks = []
    for start in onward:
        while onward[start]:
            walk = [start]
            while (node := onward[walk[-1]].pop()) != start:
                walk.append(node)
            walks.append(walk)
    return walks


def _is_sliver(ring: list[list[int]]) -> bool:
    hole = not pyclipper.Orientation(ring)
    return hole and bool(-pyclipper.Area(ring) * GRID_MM**2 < SLIVER_MM2)


def _to_grid(outline: FloatArray) -> IntArray:
    """Rounded to the grid; points that fall together become one."""
    grid = np.rint(outline / GRID_MM).astype(np.int64)
    moves = (grid != np.roll(grid, -1, axis=0)).any(axis=1)
    return np.asarray(grid[moves])


def _shrunk(outline: IntArray) -> IntArray:
    """Outline moved inward by the play, each vertex by at most twice as much: a sharp tip whose
    edges all moved by the play would be drawn back much farther, and lie over its neighbour."""
    along = np.roll(outline, -1, axis=0) - outline
    after = np.column_stack([-along[:, 1], along[:, 0]]) / np.hypot(*along.T)[:, None]
    before = np.roll(after, 1, axis=0)
    mitre = (before + after) / np.maximum(1 + (before * after).sum(axis=1), 1e-6)[:, None]
    size = np.hypot(*mitre.T)[:, None]
    moved = outline + mitre * np.minimum(1, 2 / np.maximum(size, 1)) * PLAY_MM / GRID_MM
    whole = pyclipper.SimplifyPolygon(np.rint(moved).astype(np.int64).tolist())
    return np.asarray(max(whole, key=pyclipper.Area), dtype=np.int64)


def _edges(ring: FloatArray) -> FloatArray:
    return np.concatenate([ring, np.roll(ring, -1, axis=0)], axis=1)
