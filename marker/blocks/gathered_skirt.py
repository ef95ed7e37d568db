"""A gathered skirt: two rectangles gathered onto a straight waistband (geometry)."""

from __future__ import annotations

from dataclasses import dataclass

from marker.blocks import options
from marker.blocks.bands import waist_opening, waistband
from marker.blocks.body import Body, down_to_hem
from marker.blocks.cloths import FUSIBLE, fusible, woven
from marker.blocks.draft import Block, half_rectangle, seam
from marker.blocks.garment import Garment
from marker.pattern.edge import Hem, HemKind, Notch
from marker.pattern.fullness import Gather

_TO_KNEE = 0.575  # of the way from waist to floor: common practice, no source


@dataclass(frozen=True)
class GatheredOptions:
    """Options of the gathered skirt."""

    length: float | None = options.length(None, 200, 1200, "from the waist seam to the hem")
    fullness: float = options.number(1.8, 1.2, 4.0, "skirt, as a multiple of the waist")
    ease: float = options.length(15, 0, 100, "of the waist seam beyond the body")
    band: float = options.length(35, 15, 80, "finished depth of the waistband")
    zip: float = options.length(200, 0, 300, "length left open below the waist, at the left side")


def _block(body: Body, chosen: GatheredOptions) -> Block:
    waist = body.waist + chosen.ease
    around = max(chosen.fullness * waist, body.hip + 80)
    length = chosen.length or down_to_hem(body, _TO_KNEE)
    open_mm = min(chosen.zip, length / 2)
    front, back = (
        half_rectangle(
            f"skirt {side}",
            around / 2,
            length,
            hems={"bottom": Hem(HemKind.TURNED_TWICE, 40, 10)},
            notches=(Notch("right", length - open_mm),) if open_mm else (),
            fullness=(Gather("top", 0.0, around / 4, into_mm=waist / 4),),
        )
        for side in ("front", "back")
    )
    return Block(
        pieces=(front, back),
        cloths=(woven("cotton lawn"), fusible()),
        strips=(waistband(chosen.band, FUSIBLE),),
        openings=(waist_opening("skirt front.top", "skirt back.top"),),
        seams=(seam("side", "skirt front.right", "skirt back.right"),),
        notes={"side": "notches end the zip at the left side"},
    )


GATHERED_SKIRT = Garment(
    name="gathered skirt",
    says="Two rectangles gathered onto a straight waistband, with a zip at the left side.",
    method="geometry: the skirt is so many times the waist wide, and wider than the hips",
    measures=("waist", "hip", "waist_to_floor"),
    options=GatheredOptions,
    block=_block,
)
