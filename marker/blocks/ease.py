"""Ease: how much larger than the body a garment is, by its kind and by how far its cloth stretches.

Common practice, no source, but for the stretch: what a cloth gives it need not have as ease.
"""

from __future__ import annotations

from dataclasses import dataclass

from marker.blocks.body import Body

_STEP_MM = 5.0  # pattern makers give ease in whole steps
_GIVEN = 0.136  # of a girth, the ease that a knit saves which stretches to twice its length


@dataclass(frozen=True)
class Ease:
    """Ease in mm around bust, waist and hip, in cloth that does not stretch."""

    bust: float
    waist: float
    hip: float

    def girths(self, body: Body, stretch: float = 0.0) -> tuple[float, float, float]:
        """Bust, waist and hip of the garment, mm. stretch : of its cloth, 0.5 for 50 %."""
        bare = (body.bust, body.waist, body.hip)
        ease = (self.bust, self.waist, self.hip)
        bust, waist, hip = (
            girth + _STEP_MM * round((own - _GIVEN * stretch * girth) / _STEP_MM)
            for girth, own in zip(bare, ease, strict=True)
        )
        return bust, waist, hip


CLOSE = Ease(60, 70, 105)
EASY = Ease(120, 200, 120)
LOOSE = Ease(180, 280, 160)
