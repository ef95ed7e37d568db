"""Small cut pieces, placements and layouts for tests, in as few words as a test needs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from marker.cloth.fabric import Cloth, Nap
from marker.geometry.arrays import FloatArray
from marker.layout import Ending, Layout, Placement
from marker.pattern.piece import CutPiece

SIZE = "38"


def cloth(width_mm: float, nap: Nap = Nap.EITHER_WAY, gap_mm: float = 0.0) -> Cloth:
    """A cloth without selvages, so that the usable width is the width."""
    return Cloth("jersey", width_mm, nap=nap, gap_mm=gap_mm)


def cut_piece(
    name: str,
    outline: FloatArray,
    *,
    turns: tuple[float, ...] = (0.0, 180.0),
    grain_tolerance_deg: float = 0.0,
    copies: int = 1,
    mirrored_copies: int = 0,
    cutouts: tuple[FloatArray, ...] = (),
) -> CutPiece:
    """A cut piece of size 38 of the cloth `cloth` makes."""
    return CutPiece(
        name,
        SIZE,
        "jersey",
        outline,
        turns,
        grain_tolerance_deg,
        copies,
        mirrored_copies,
        cutouts=cutouts,
    )


def laid_outline(outline: FloatArray, rotation_deg: float, mirrored: bool) -> FloatArray:
    """(n, 2) outline reflected in the x axis, then turned about the origin, by complex numbers."""
    points = outline[:, 0] + 1j * outline[:, 1]
    turned = (points.conj() if mirrored else points) * np.exp(1j * np.radians(rotation_deg))
    return np.column_stack((turned.real, turned.imag))


def place(
    piece: CutPiece,
    x_mm: float,
    y_mm: float,
    *,
    rotation_deg: float = 0.0,
    mirrored: bool = False,
    garment: int = 1,
    copy: int = 1,
) -> Placement:
    """The piece with the lower left corner of its bounding box, as turned, at (x, y)."""
    turned = laid_outline(piece.outline, rotation_deg, mirrored)
    move = np.array([x_mm, y_mm]) - turned.min(axis=0)
    return Placement(
        piece.name,
        piece.size,
        garment,
        copy,
        rotation_deg,
        mirrored,
        float(move[0]),
        float(move[1]),
        turned + move,
    )


def layout(
    placements: Sequence[Placement],
    on: Cloth,
    *,
    length_mm: float | None = None,
    bound_mm: float = 0.0,
) -> Layout:
    """A layout of the placements, its length their last point unless given."""
    last = max((float(item.outline_mm[:, 0].max()) for item in placements), default=0.0)
    claimed = last if length_mm is None else length_mm
    return Layout(
        "concert dresses", on, tuple(placements), claimed, bound_mm, Ending.TIME_UP, 1, 0.0
    )
