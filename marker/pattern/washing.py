"""Pieces and strips cut before washing: grown by what it will take from them."""

from __future__ import annotations

import math

import numpy as np

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, Part
from marker.pattern.piece import CutPiece
from marker.units import percent


def grown(piece: CutPiece, cloth: Cloth) -> CutPiece:
    """The piece as cut: each axis longer by what the cloth loses along it, finished ÷ (1 - share)
    (arithmetic). The piece itself where it is cut after washing.

    Raises CannotBeDone for a piece that the cloth shrinks by another amount in each way it may lie.
    """
    if not cloth.shrinkage.grows:
        return piece
    if not cloth.shrinkage.keeps_shape:
        _refuse_turning(piece, cloth)
    return piece.mapped(lambda points: points * np.array(cloth.shrinkage.growth))


def as_cut(
    direction: Direction, length_mm: float, width_mm: float, cloth: Cloth
) -> tuple[float, float]:
    """Length and width of a strip when it is cut, mm.

    On the bias its length has equal parts along and across the cloth, and its area grows by both
    factors (geometry); where these differ its ends are no longer square.
    """
    along, across = cloth.shrinkage.growth
    if direction is Direction.LENGTHGRAIN:
        return length_mm * along, width_mm * across
    if direction is Direction.CROSSGRAIN:
        return length_mm * across, width_mm * along
    longer = math.hypot(along, across) / math.sqrt(2)
    return length_mm * longer, width_mm * along * across / longer


def _refuse_turning(piece: CutPiece, cloth: Cloth) -> None:
    crosswise = [turn for turn in piece.turns if turn % 180]
    if not crosswise and not piece.grain_tolerance_deg:
        return
    lies = f"be turned by {crosswise[0]:g}°" if crosswise else "tilt within its grain tolerance"
    shrinkage = cloth.shrinkage
    raise CannotBeDone(
        f"{piece.name} may {lies}, but {cloth.name} shrinks by {percent(shrinkage.along)} along "
        f"and {percent(shrinkage.across)} across: cut before washing, it would need another size "
        f"for each way it may lie. Let it turn by 0 and 180 only, without a grain tolerance, or "
        f"wash the cloth before cutting.",
        [(Part.PIECE, piece.name)],
    )
