"""Packing instances as their files give them, in the instance's own units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from marker.files.faults import FaultList, Unusable
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import signed_area


@dataclass(frozen=True)
class InstancePiece:
    """One outline of an instance.

    turns : allowed rotations, degrees counter-clockwise about the outline's origin.
    outline : (n, 2) float64, counter-clockwise, first point not repeated.
    """

    id: str
    quantity: int
    turns: tuple[float, ...]
    outline: FloatArray


@dataclass(frozen=True)
class Instance:
    """Pieces for a strip of fixed `width` (y) and open length (x).

    name : the file's name without its ending.
    """

    name: str
    width: float
    pieces: tuple[InstancePiece, ...]

    @property
    def area(self) -> float:
        """Area of all pieces."""
        return sum(piece.quantity * signed_area(piece.outline) for piece in self.pieces)

    def density(self, length: float) -> float:
        """Area of all pieces ÷ (length × width), in per cent as the literature gives it."""
        return 100.0 * self.area / (length * self.width)


def instance_outline(points: Sequence[tuple[float, float]]) -> FloatArray:
    """A file's polygon as an outline: repeated points dropped, counter-clockwise.

    Raises Unusable if what is left encloses nothing or crosses itself.
    """
    given = np.array(points, dtype=np.float64)
    outline: FloatArray = given[(given != np.roll(given, 1, axis=0)).any(axis=1)]
    if len(outline) < 3 or signed_area(outline) == 0.0:
        raise Unusable("the polygon encloses no area", "Give it three corners or more")
    if not Polygon(outline).is_valid:
        raise Unusable("the polygon crosses or touches itself", "Mend its corners")
    return outline if signed_area(outline) > 0.0 else np.flipud(outline)


def restricted(instance: Instance, turns: Sequence[float], faults: FaultList) -> Instance:
    """The instance with only those of its own turns that `turns` names."""
    pieces = []
    for piece in instance.pieces:
        kept = tuple(turn for turn in piece.turns if turn in turns)
        if not kept:
            allowed = ", ".join(f"{turn:g}" for turn in piece.turns)
            faults.add(
                f"piece {piece.id}",
                "none of its turns is among those of --turns",
                f"It may be turned by {allowed}",
            )
        pieces.append(replace(piece, turns=kept))
    faults.raise_any()
    return replace(instance, pieces=tuple(pieces))
