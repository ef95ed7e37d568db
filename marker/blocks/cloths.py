"""Cloths that garments are drafted for: a width that is sold, and what their nap and stretch are.

Widths, selvages and steps are common practice, no source; whoever sews puts in their own.
"""

from __future__ import annotations

from dataclasses import replace

from marker.cloth.behaviour import GAUGE_MM, Direction, Gauge
from marker.cloth.fabric import Cloth, Nap

FUSIBLE = "fusible interfacing"
TRIM_MM = 7.0
"""How much smaller than its piece interfacing is cut: it reaches 3 mm into an allowance of 10
(common practice, no source)."""

_SELVAGE_MM, _END_MM = 10.0, 20.0
_LENGTHWAYS = 0.25  # of the stretch across, a knit's stretch along: common practice, no source


def woven(name: str, width_mm: float = 1500.0, nap: Nap = Nap.EITHER_WAY) -> Cloth:
    """A woven cloth."""
    return Cloth(name, width_mm, _SELVAGE_MM, nap, end_allowance_mm=_END_MM)


def fusible() -> Cloth:
    """Interfacing that is ironed on."""
    return Cloth(FUSIBLE, 900.0, end_allowance_mm=_END_MM)


def knit(name: str, stretch: float) -> Cloth:
    """A knit that stretches by this share across; laid one way, as knits are (common practice, no
    source: its loops shade and ladder one way)."""
    readings = {
        Direction.CROSSGRAIN: GAUGE_MM * (1 + stretch),
        Direction.LENGTHGRAIN: GAUGE_MM * (1 + _LENGTHWAYS * stretch),
    }
    plain = woven(name, nap=Nap.ONE_WAY)
    return replace(plain, gauge=Gauge(readings))
