"""Each piece's shape on the cloth, rebuilt from the pattern and its placement."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from shapely import LineString, Polygon
from shapely.affinity import rotate, scale, translate

from marker.geometry.arrays import FloatArray
from marker.judge.finding import Code, Finding, label
from marker.layout import Layout, Placement
from marker.pattern.piece import CutPiece
from marker.tolerances import JUDGED_MM
from marker.units import fine_length

_Shape = TypeVar("_Shape", Polygon, LineString)


@dataclass(frozen=True)
class LaidPiece:
    """A placement, the piece it lays, and the shape it covers, cut-outs left out.

    spare : it is not wanted, but cut through the second ply.
    """

    placement: Placement
    piece: CutPiece
    shape: Polygon
    spare: bool = False

    @property
    def label(self) -> str:
        """'bodice front 38 #1/2', garment before copy."""
        return label(self.placement) + " (spare)" * self.spare


def laid_pieces(layout: Layout, pieces: Sequence[CutPiece]) -> list[LaidPiece]:
    """Every placement of a known piece with finite numbers, then every spare; the others are
    findings."""
    by_name = {(piece.name, piece.size): piece for piece in pieces}
    wanted = [(placement, False) for placement in layout.placements]
    return [
        LaidPiece(placement, piece, _shape(piece, placement), spare)
        for placement, spare in (*wanted, *((each, True) for each in layout.spares))
        if (piece := by_name.get((placement.piece, placement.size))) and _is_finite(placement)
    ]


def _is_finite(placement: Placement) -> bool:
    position = (placement.rotation_deg, placement.x_mm, placement.y_mm)
    return bool(np.isfinite(position).all() and np.isfinite(placement.outline_mm).all())


def _shape(piece: CutPiece, placement: Placement) -> Polygon:
    return _moved(Polygon(piece.outline, piece.cutouts), placement)


def laid_points(points: FloatArray, placement: Placement) -> FloatArray:
    """Points (n, 2) of a piece, two or more, where the placement lays them."""
    return np.asarray(_moved(LineString(points), placement).coords)


def _moved(drawn: _Shape, placement: Placement) -> _Shape:
    """Reflected, turned and moved, in that order, as `Placement` defines it."""
    if placement.mirrored:
        drawn = scale(drawn, 1.0, -1.0, origin=(0, 0))
    turned = rotate(drawn, placement.rotation_deg, origin=(0, 0))
    return translate(turned, placement.x_mm, placement.y_mm)


def number_findings(layout: Layout) -> Iterator[Finding]:
    """A NUMBER for the layout or a placement with a number that is not finite."""
    if not (math.isfinite(layout.length_mm) and math.isfinite(layout.length_lower_bound_mm)):
        yield Finding(Code.NUMBER, (), "the length or its lower bound is not a finite number")
    for placement in (*layout.placements, *layout.spares):
        if not _is_finite(placement):
            who = (label(placement),)
            yield Finding(Code.NUMBER, who, "its position or outline is not finite")


def outline_findings(laid: Sequence[LaidPiece]) -> Iterator[Finding]:
    """An OUTLINE where the stored outline is not the rebuilt one, point by point in order."""
    for item in laid:
        fault = _outline_fault(item)
        if fault:
            said, (x, y) = fault
            yield Finding(Code.OUTLINE, (item.label,), said, (float(x), float(y)))


def _outline_fault(item: LaidPiece) -> tuple[str, Iterable[float]] | None:
    """What is wrong with a piece's outline, and where."""
    stored = item.placement.outline_mm
    rebuilt = np.asarray(item.shape.exterior.coords)[:-1]
    if not item.shape.is_valid:
        return "the piece's cut outline crosses or touches itself", rebuilt[0]
    if rebuilt.shape != stored.shape:
        return f"{len(stored)} outline points are stored, the piece has {len(rebuilt)}", rebuilt[0]
    off = np.hypot(*(rebuilt - stored).T)
    if off.max() <= JUDGED_MM:
        return None
    worst = stored[off.argmax()]
    return f"the stored outline is {fine_length(off.max())} from the piece as placed", worst
