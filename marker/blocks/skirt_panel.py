"""A quarter of a skirt that is shaped over the hips and flares (common practice, no source)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from marker.blocks.curve import ACROSS, CLOCKWISE, Curve, curve, line, toward
from marker.blocks.draft import FOLD, Draft
from marker.blocks.torso import waistline

_WAIST_RISE = 0.44  # of what a straight side would need to meet the waist square


@dataclass(frozen=True)
class SkirtPanel:
    """Girths with their ease and lengths in mm, the flare of the side in degrees."""

    waist: float
    hip: float
    length: float
    hip_depth: float
    flare: float

    @property
    def at_waist_deg(self) -> float:
        """How far the side leans out where it leaves the waist."""
        lean = math.degrees(math.atan2((self.hip - self.waist) / 4, self.hip_depth))
        return min(lean, 30.0)

    def draft(self, name: str, **more: Any) -> Draft:
        """Hem, side, waist, fold at the centre; the side as long as the centre, so that it hangs
        level; the waist a quarter. `more` are fields of Draft."""
        up, at_waist = toward(-90 - self.flare), toward(-90 - self.at_waist_deg)
        rise = _WAIST_RISE * self.waist / 4 * math.tan(math.radians(self.at_waist_deg))
        middle = complex(0, rise)
        waist = waistline(middle, -rise, at_waist * CLOCKWISE, self.waist / 4)
        hip = complex(self.hip / 4, waist.end.imag + self.hip_depth)
        pull = 0.3 * self.hip_depth
        over_hip = curve(hip, up, waist.end, at_waist, (pull, pull))
        hem_side = hip - (self.length - over_hip.length) * up
        centre = line(middle, middle + self.length * 1j)
        third = hem_side.real / 3
        hem = curve(centre.end, ACROSS, hem_side, up * CLOCKWISE, (third, third))
        edges: dict[str, tuple[Curve, ...]] = {
            "hem": (hem,),
            "side": (line(hem_side, hip), over_hip),
            "waist": (waist.reversed,),
            FOLD: (centre,),
        }
        return Draft(name, edges, **more)

    def hip_at_mm(self, draft: Draft) -> float:
        """Where on its side, from the hem, the hip lies."""
        return draft.edges["side"][0].length
