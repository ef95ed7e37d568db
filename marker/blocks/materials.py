"""What garments are made of: cloths as they are sold, and strips cut from them.

Widths, selvages and steps are common practice, no source; whoever sews puts in their own.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from marker.blocks.garment import ref
from marker.cloth.behaviour import GAUGE_MM, Direction, Gauge
from marker.cloth.fabric import Cloth, Nap
from marker.pattern.bands.strip import (
    Fold,
    Interfacing,
    Lap,
    LapKind,
    Length,
    Lies,
    ShorterBy,
    Strip,
    cut_width_mm,
)
from marker.pattern.seams.sewing import Opening, Place, Spot

FUSIBLE = "fusible interfacing"
TRIM_MM = 7.0
"""How much smaller than its piece interfacing is cut: it reaches 3 mm into an allowance of 10
(common practice, no source)."""

_SELVAGE_MM, _END_MM, _SEAM_MM = 10.0, 20.0, 10.0
_LENGTHWAYS = 0.25  # of the stretch across, a knit's stretch along: common practice, no source
_UNDERLAP_MM = 30.0  # for a hook or a button: the same


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


def strip(name: str, finished_mm: float, fold: Fold, length: Length, **more: Any) -> Strip:
    """A strip that is so wide when finished, 10 mm of seam allowance at its edges; `more` are
    fields of Strip."""
    width = cut_width_mm(finished_mm, fold, _SEAM_MM)
    cloth = more.pop("cloth", "")
    return Strip(name, cloth, width, length, fold=fold, finished_mm=finished_mm, **more)


def waistband(finished_mm: float, interfacing: str) -> Strip:
    """A straight band that stands on the opening 'waist' and underlaps at its end; interfacing :
    name of that cloth."""
    return strip(
        "waistband",
        finished_mm,
        Fold.SINGLE,
        ShorterBy(0.0),
        finishes="waist",
        direction=Direction.LENGTHGRAIN,
        lies=Lies.STANDING,
        end_lap=Lap(LapKind.UNDER, _UNDERLAP_MM),
        interfacing=Interfacing(interfacing, TRIM_MM),
    )


def waist_opening(*edges: str) -> Opening:
    """The waist from one end of its zip to the other; a middle on the fold is a centre."""
    refs = tuple(map(ref, edges))
    centres = (each for each in refs if each.piece.startswith("skirt "))
    points = {f"centre {each.piece.split()[-1]}": Place(each, Spot.FOLD) for each in centres}
    return Opening("waist", refs, closed=False, points=points)
