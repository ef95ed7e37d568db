"""Cloth that is there: its flaws, its rolls, and odd-shaped remnants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from marker.geometry import polygons
from marker.geometry.arrays import FloatArray


@dataclass(frozen=True, eq=False)
class Flaw:
    """A stain, a hole, a thick thread: no piece may lie on it.

    outline : (n, 2) float64, mm, counter-clockwise, simple; x along the cloth from the end where
        the layout starts, y across it from the near selvage's inner edge. It may reach onto the
        selvages.
    """

    name: str
    outline: FloatArray


@dataclass(frozen=True)
class Roll:
    """A roll that plies are cut from, mm. width_mm : None for that of its cloth. shade : garments
    keep to one; "" is one, too."""

    length_mm: float
    width_mm: float | None = None
    shade: str = ""


@dataclass(frozen=True, eq=False)
class Remnant:
    """One remnant as it lies on the table, its warp along x and its nap running along +x.

    outline : (n, 2) float64, mm, counter-clockwise, simple; its bounding box starts at 0, 0.
    holes : the same, inside it.
    """

    name: str
    outline: FloatArray
    holes: tuple[FloatArray, ...] = ()

    @property
    def along_mm(self) -> float:
        """How far it reaches along the warp."""
        return float(np.ptp(self.outline[:, 0]))

    @property
    def across_mm(self) -> float:
        """How far it reaches across the warp."""
        return float(np.ptp(self.outline[:, 1]))

    @property
    def area_mm2(self) -> float:
        """Without its holes."""
        return float(Polygon(self.outline, self.holes).area)

    @property
    def lacking(self) -> tuple[FloatArray, ...]:
        """Outlines of what it lacks of its bounding box: corners, bays and holes."""
        return polygons.lacking(self.outline, self.holes)


BETWEEN_MM = 80.0
"""How far apart remnants lie that are spread on one table, besides the gap between pieces."""


def side_by_side(remnants: Sequence[Remnant], gap_mm: float) -> tuple[float, ...]:
    """Where each remnant begins across a table on which all lie, mm. The last lies nearest, so that
    the first is on top where y is drawn upwards. gap_mm : between pieces."""
    starts: list[float] = []
    reached = 0.0
    for remnant in reversed(remnants):
        starts.append(reached)
        reached += remnant.across_mm + gap_mm + BETWEEN_MM
    return tuple(reversed(starts))
