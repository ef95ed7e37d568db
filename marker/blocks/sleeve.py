"""A sleeve set into an armhole (common practice, no source)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from marker.blocks.curve import ACROSS, Curve, curve, line, solve, toward
from marker.blocks.garment import PAIR_OF_NOTCHES_MM, Draft
from marker.pattern.edge import Notch

_HIGHEST_CAP = 1 / 3
"""Of the armhole around, the height of a close sleeve's cap: common practice, no source."""

_CAP_IS_LONGER = 1.03
"""A half of a cap beside the straight line from its top to the underarm: as it is drawn below."""


def cap_height(front_armhole: float, back_armhole: float, width: float, least: float) -> float:
    """The height of a cap that makes a sleeve about so wide at the underarm, mm.

    least : of the armhole around, for ease of movement; a cap is never higher than a third of it.
    """
    around = front_armhole + back_armhole
    straight = around / 2 / _CAP_IS_LONGER
    wanted = math.sqrt(max(straight**2 - (width / 2) ** 2, 0.0))
    return min(max(wanted, least * around), _HIGHEST_CAP * around)


@dataclass(frozen=True)
class Sleeve:
    """Lengths in mm.

    front_armhole, back_armhole : what its cap is sewn into. cap : its height. cap_ease : what the
        cap is longer, shared by both. length : from the top of the cap to the wrist edge.
    wrist : width of that edge.
    """

    front_armhole: float
    back_armhole: float
    cap: float
    cap_ease: float
    length: float
    wrist: float

    def draft(self, name: str = "sleeve", **more: Any) -> Draft:
        """Wrist, front seam, front and back of the cap, back seam; seams as long as each other.

        `more` are fields of Draft.
        """
        to_front, to_back = self._front_cap(), self._back_cap()
        middle = complex((to_front.start + to_back.end).real / 2, self.length)
        wrist = line(middle - self.wrist / 2, middle + self.wrist / 2)
        edges = {
            "wrist": (wrist,),
            "front seam": (line(wrist.end, to_front.start),),
            "front cap": (to_front,),
            "back cap": (to_back,),
            "back seam": (line(to_back.end, wrist.start),),
        }
        return Draft(name, edges, cut=2, pair=True, **more)

    def notches(self, front_mm: float, back_mm: float) -> tuple[Notch, ...]:
        """Where its cap meets the notches of front and back, so far from the underarm: one in
        front, two at the back; and one at the shoulder."""
        back = self._back_cap().length - back_mm - PAIR_OF_NOTCHES_MM
        return (
            Notch("front cap", front_mm),
            Notch("back cap", 0.0),
            Notch("back cap", back),
            Notch("back cap", back + PAIR_OF_NOTCHES_MM),
        )

    def _front_cap(self) -> Curve:
        wanted = self.front_armhole + self.cap_ease / 2

        def to(width: float) -> Curve:
            start = complex(width, self.cap)
            return curve(start, toward(186), 0j, -ACROSS, (0.55 * width, 0.40 * width))

        return to(solve(lambda width: to(width).length, wanted, 0.1 * wanted, wanted))

    def _back_cap(self) -> Curve:
        wanted = self.back_armhole + self.cap_ease / 2

        def to(width: float) -> Curve:
            end = complex(-width, self.cap)
            return curve(0j, -ACROSS, end, toward(174), (0.45 * width, 0.45 * width))

        return to(solve(lambda width: to(width).length, wanted, 0.1 * wanted, wanted))
