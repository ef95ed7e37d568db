"""A picture of a drafted garment: its pieces opened from the fold, side by side, as outlines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.blocks.curve import points_on
from marker.blocks.draft import FOLD, Block, Draft
from marker.geometry.arrays import FloatArray

_APART_MM = 60.0


@dataclass(frozen=True, eq=False)
class PictureOutline:
    """One piece of a picture. outline : (n, 2) mm, x right and y down, first point not repeated."""

    name: str
    outline: FloatArray


def picture_outlines(block: Block) -> tuple[PictureOutline, ...]:
    """Every drafted piece on its stitching line, whole, from left to right, tops level."""
    found: list[PictureOutline] = []
    right = 0.0
    for piece in block.pieces:
        whole = _whole(piece)
        whole = whole - whole.min(axis=0) + [right, 0.0]
        found.append(PictureOutline(piece.name, whole))
        right = float(whole[:, 0].max()) + _APART_MM
    return tuple(found)


def _whole(piece: Draft) -> FloatArray:
    """The outline, a half opened to both sides of its fold, which ends both walks around it."""
    if FOLD not in piece.edges:
        return points_on(piece.outline)
    sewn = [line for name, lines in piece.edges.items() if name != FOLD for line in lines]
    end = sewn[-1].end
    half = np.vstack([points_on(sewn), [(end.real, end.imag)]])
    fold = piece.edges[FOLD][0].start.real
    mirrored = (half * [-1.0, 1.0] + [2 * fold, 0.0])[::-1]
    return np.vstack([half, mirrored[1:-1]])
