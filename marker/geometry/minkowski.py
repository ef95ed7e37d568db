"""No-fit polygons: where one outline may not stand against another."""

from __future__ import annotations

import numpy as np
import pyclipper

from marker.geometry.arrays import FloatArray, IntArray

GRID_MM = 0.001
"""Outlines are rounded to this grid once; every sum on it is exact (integer clipping)."""

PLAY_MM = 0.005
"""Each moving outline is shrunk by this much, so that touching counts as free and a piece can
slide into a place of exactly its own size. The compaction takes it back: see `compact`."""

SLIVER_MM2 = 1.0
"""Holes of a no-fit polygon smaller than this are closed: pieces could hide in one another."""


def no_fit_edges(fixed: FloatArray, moving: FloatArray) -> FloatArray:
    """Boundary of the no-fit polygon of two outlines, as edges.

    With reference points at their own origins, the outlines overlap exactly when
    (moving's position - fixed's position) lies inside the boundary.

    fixed, moving : (n, 2), (m, 2), mm, simple, counter-clockwise.
    Returns (k, 4) float64: x1, y1, x2, y2, mm; the inside lies to the left of each edge.

    The sum of two filled shapes A ⊕ (-B) is the sum of their boundaries together with one copy
    of each at any boundary point of the other: two shapes that meet either cross boundaries or
    one holds the other.
    """
    a = _to_grid(fixed)
    b = -_shrunk(_to_grid(moving))
    rings = pyclipper.MinkowskiSum(a.tolist(), b.tolist(), True)
    clipper = pyclipper.Pyclipper()
    clipper.AddPaths(rings, pyclipper.PT_SUBJECT, True)
    clipper.AddPath((a + b[0]).tolist(), pyclipper.PT_SUBJECT, True)
    clipper.AddPath((b + a[0]).tolist(), pyclipper.PT_SUBJECT, True)
    union = clipper.Execute(
        pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO
    )
    kept = [ring for ring in union if not _is_sliver(ring)]
    return np.concatenate([_edges(np.asarray(ring, dtype=np.float64) * GRID_MM) for ring in kept])


def _is_sliver(ring: list[list[int]]) -> bool:
    hole = not pyclipper.Orientation(ring)
    return hole and bool(-pyclipper.Area(ring) * GRID_MM**2 < SLIVER_MM2)


def _to_grid(outline: FloatArray) -> IntArray:
    return np.rint(outline / GRID_MM).astype(np.int64)


def _shrunk(outline: IntArray) -> IntArray:
    """Outline moved inward by the play; one too thin to shrink is an error of the caller."""
    offset = pyclipper.PyclipperOffset(4.0)
    offset.AddPath(outline.tolist(), pyclipper.JT_MITER, pyclipper.ET_CLOSEDPOLYGON)
    shrunk = offset.Execute(-PLAY_MM / GRID_MM)
    return np.asarray(max(shrunk, key=pyclipper.Area), dtype=np.int64)


def _edges(ring: FloatArray) -> FloatArray:
    return np.concatenate([ring, np.roll(ring, -1, axis=0)], axis=1)
