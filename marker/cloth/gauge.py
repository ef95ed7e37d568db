"""How far a cloth stretches, read on a gauge.

The cloth is folded, a length of it marked and stretched easily along a ruler: 4 in that reach 5 in
stretch by 25 % (Utah State University Extension, sewing with knits; laboratories measure 'fabric
stretch' by ASTM D2594 or EN 14704-1).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

GAUGE_MM = 4 * 25.4


class Direction(StrEnum):
    """A direction of the cloth, along which a strip may be cut or a gauge read."""

    CROSSGRAIN = "crossgrain"
    LENGTHGRAIN = "lengthgrain"
    BIAS = "bias"


@dataclass(frozen=True)
class Gauge:
    """Gauge readings of one cloth.

    readings_mm : what `gauge_mm` of cloth stretched to, in each direction that was measured.
    """

    readings_mm: Mapping[Direction, float]
    gauge_mm: float = GAUGE_MM

    def stretch(self, direction: Direction) -> float | None:
        """Share by which the cloth stretches, 0.25 for 25 %; None where it was not measured."""
        reading = self.readings_mm.get(direction)
        return None if reading is None else reading / self.gauge_mm - 1

    @property
    def greatest(self) -> Direction:
        """Along or across the cloth, whichever stretches more; across when neither does."""
        along = self.stretch(Direction.LENGTHGRAIN) or 0.0
        across = self.stretch(Direction.CROSSGRAIN) or 0.0
        return Direction.LENGTHGRAIN if along > across else Direction.CROSSGRAIN
