"""How a cloth stretches, read on a gauge, and what washing takes from it.

The cloth is folded, and a marked length of it is stretched easily along a ruler. 4 in that reach
5 in stretch by 25 % (Utah State University Extension, sewing with knits). Laboratories measure
'fabric stretch' by ASTM D2594 or EN 14704-1.

Dimensional change is (after - before) ÷ before, length and width apart (AATCC TM135; ISO 5077).
A test square is marked by ISO 3759 and washed by ISO 6330. Shrinkage is what is lost, so its
negative.
"""

from __future__ import annotations

import math
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


class Cut(StrEnum):
    """When the pieces are cut. Either the cloth shrinks before that or the pieces after it, so
    only one of the two is allowed for."""

    AFTER_WASHING = "after washing"
    BEFORE_WASHING = "before washing"


@dataclass(frozen=True)
class Shrinkage:
    """Shares lost in washing along and across the cloth, 0.05 for 5 %; below 0 it grows."""

    along: float = 0.0
    across: float = 0.0
    cut: Cut = Cut.AFTER_WASHING

    @property
    def of_cloth(self) -> tuple[float, float]:
        """What 1 mm of the cloth bought measures when the pieces are cut, (along, across)."""
        if self.cut is Cut.BEFORE_WASHING:
            return 1.0, 1.0
        return 1 - self.along, 1 - self.across

    @property
    def growth(self) -> tuple[float, float]:
        """What 1 mm of a piece is cut as, (along, across): cut length = finished ÷ (1 - share)."""
        if self.cut is Cut.AFTER_WASHING:
            return 1.0, 1.0
        return 1 / (1 - self.along), 1 / (1 - self.across)

    @property
    def grows(self) -> bool:
        """Whether pieces are cut in another size than drawn."""
        return self.growth != (1.0, 1.0)

    @property
    def keeps_shape(self) -> bool:
        """Whether a piece grows alike in all directions, so that it may lie in any."""
        return math.isclose(*self.growth)


NO_SHRINKAGE = Shrinkage()


def lost(before_mm: float, after_mm: float) -> float:
    """Share lost by what measured `before_mm` before washing and `after_mm` after it."""
    return (before_mm - after_mm) / before_mm
