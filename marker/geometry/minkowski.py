"""No-fit polygons: where one outline may not stand against another."""

from __future__ import annotations

import numpy as np
import pyclipper

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.convolution import convolution
from marker.tolerances import GRID_MM, PLAY_MM

SLIVER_MM2 = 1.0
"""Holes of a no-fit polygon smaller than this are closed: pieces could hide in one another."""


def no_fit_edges(fixed: FloatArray, moving: FloatArray) -> FloatArray:
    """Boundary of the no-fit polygon of two outlines, as edges.

    With reference points at their own origins, the outlines overlap exactly when
    (moving's position - fixed's position) lies inside the boundary.

    fixed, moving : (n, 2), (m, 2), mm, simple, counter-clockwise.
    Returns (k, 4) float64: x1, y1, x2, y2, mm; the inside lies to the left of each edge.
    """
    return edges_of_sum(standing(fixed), sliding(moving))


def no_fit_rings(fixed: FloatArray, moving: FloatArray) -> list[list[list[int]]]:
    """The no-fit polygon of `no_fit_edges` with all its holes: rings of points in grid units,
    counter-clockwise but for the holes."""
    return _union(standing(fixed), sliding(moving))


def standing(outline: FloatArray) -> IntArray:
    """The fixed outline's part in a no-fit polygon, (n, 2), grid units: points that fall together
    on the grid become one."""
    grid = np.rint(outline / GRID_MM).astype(np.int64)
    moves = (grid != np.roll(grid, -1, axis=0)).any(axis=1)
    return np.asarray(grid[moves])


def sliding(outline: FloatArray) -> IntArray:
    """The moving outline's part: less the play, and seen from its other side."""
    return -_shrunk(standing(outline))


def edges_of_sum(a: IntArray, b: IntArray) -> FloatArray:
    """`no_fit_edges` of what `standing` and `sliding` have made of the two outlines."""
    kept = [ring for ring in _union(a, b) if not _is_sliver(ring)]
    return np.concatenate([_edges(np.asarray(ring, dtype=np.float64) * GRID_MM) for ring in kept])


def _union(a: IntArray, b: IntArray) -> list[list[list[int]]]:
    clipper = pyclipper.Pyclipper()
    clipper.AddPaths(convolution(a, b), pyclipper.PT_SUBJECT, True)
    union: list[list[list[int]]] = clipper.Execute(
        pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO
    )
    return union


def _is_sliver(ring: list[list[int]]) -> bool:
    hole = not pyclipper.Orientation(ring)
    return hole and bool(-pyclipper.Area(ring) * GRID_MM**2 < SLIVER_MM2)


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
