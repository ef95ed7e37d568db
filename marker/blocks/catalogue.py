"""Every garment that can be drafted, by name, and the picture of a drafted one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from marker.blocks.apron import APRON
from marker.blocks.circle_skirts import FULL_CIRCLE, HALF_CIRCLE, QUARTER_CIRCLE
from marker.blocks.curve import points_on
from marker.blocks.garment import FOLD, Block, Draft, Garment
from marker.blocks.household import CURTAIN, CUSHION, TOTE
from marker.blocks.pinafore import PINAFORE
from marker.blocks.pyjama_trousers import PYJAMA_TROUSERS
from marker.blocks.robe import ROBE
from marker.blocks.shirt import SHIRT
from marker.blocks.skirts import A_LINE_SKIRT, GATHERED_SKIRT
from marker.blocks.t_shirt import T_SHIRT
from marker.blocks.tank_dress import TANK_DRESS
from marker.blocks.tunic import TUNIC
from marker.geometry.arrays import FloatArray

_ALL = (
    FULL_CIRCLE, HALF_CIRCLE, QUARTER_CIRCLE, A_LINE_SKIRT, GATHERED_SKIRT, T_SHIRT, TANK_DRESS,
    TUNIC, SHIRT, PINAFORE, ROBE, PYJAMA_TROUSERS, APRON, TOTE, CUSHION, CURTAIN,
)  # fmt: skip
GARMENTS: dict[str, Garment] = {garment.name: garment for garment in _ALL}

_APART_MM = 60.0
_SHAPE = 2.0  # width of a picture by its height


@dataclass(frozen=True, eq=False)
class PictureOutline:
    """One piece of a picture. outline : (n, 2) mm, x right and y down, first point not repeated."""

    name: str
    outline: FloatArray


def picture_outlines(block: Block) -> tuple[PictureOutline, ...]:
    """Every drafted piece on its stitching line, whole, in rows from left to right, tops level.

    A row ends where the picture then comes nearest to twice as wide as it is high.
    """
    wholes = [_whole(piece) for piece in block.pieces]
    extents = [np.ptp(whole, axis=0) for whole in wholes]
    ends = np.cumsum([extent[0] + _APART_MM for extent in extents])
    widest = max(extent[0] for extent in extents) + _APART_MM
    tried = [_in_rows(extents, float(end)) for end in ends if end >= widest]
    places = min(tried, key=lambda corners: _size(corners, extents))
    return tuple(
        PictureOutline(piece.name, whole - whole.min(axis=0) + corner)
        for piece, whole, corner in zip(block.pieces, wholes, places, strict=True)
    )


def _in_rows(extents: Sequence[FloatArray], width: float) -> list[FloatArray]:
    """Upper left corner of each piece, (2,) mm, in rows no wider than `width`."""
    corners, corner, depth = [], np.zeros(2), 0.0
    for across, down in extents:
        if corner[0] > 0 and corner[0] + across + _APART_MM > width:
            corner, depth = np.array([0.0, corner[1] + depth + _APART_MM]), 0.0
        corners.append(corner)
        corner, depth = corner + np.array([across + _APART_MM, 0.0]), max(depth, down)
    return corners


def _size(corners: Sequence[FloatArray], extents: Sequence[FloatArray]) -> float:
    """Height of the smallest frame of the picture's shape that holds all, mm."""
    across, down = np.max(np.add(corners, extents), axis=0)
    return float(max(across / _SHAPE, down))


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
