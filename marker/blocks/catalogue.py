"""Every garment that can be drafted, by name."""

from __future__ import annotations

from marker.blocks.circle_skirts import FULL_CIRCLE, HALF_CIRCLE, QUARTER_CIRCLE
from marker.blocks.garment import Garment
from marker.blocks.tote import TOTE

GARMENTS: dict[str, Garment] = {
    garment.name: garment for garment in (FULL_CIRCLE, HALF_CIRCLE, QUARTER_CIRCLE, TOTE)
}
