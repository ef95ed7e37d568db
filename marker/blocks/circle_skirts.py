"""Full, half and quarter circle skirts: sectors of a ring (geometry).

The waist is an arc of radius waist ÷ angle; the hem lies the skirt's length outside it, so the
skirt is as long all around before the bias drops.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import IntEnum

from marker.blocks import options
from marker.blocks.body import Body, down_to_hem
from marker.blocks.curve import CannotBeDrafted, arc, backwards, line, toward
from marker.blocks.garment import SEAM_MM, Block, Draft, Garment, seam
from marker.blocks.materials import FUSIBLE, fusible, waist_opening, waistband, woven
from marker.pattern.edge import Hem, HemKind, Notch
from marker.units import cut_length

_METHOD = "geometry: the waist is an arc of radius waist ÷ angle, the hem lies the length outside"
_HALF_TURN = 180.0
_MOST_PANELS = 12
_TO_KNEE = 0.62  # of the way from waist to floor, a little below it: common practice, no source
_SEAT_MM = 20.0  # least ease over the hips: common practice, no source


class Circle(IntEnum):
    """How much of a circle a skirt is, in degrees."""

    FULL = 360
    HALF = 180
    QUARTER = 90


@dataclass(frozen=True)
class CircleOptions:
    """Options of a skirt that is a circle or a part of one."""

    length: float | None = options.length(None, 200, 1200, "from the waist seam to the hem")
    ease: float = options.length(10, 0, 100, "of the waist seam beyond the body")
    panels: int = options.number(2, 1, 8, "how many; more where the cloth is narrow")
    band: float = options.length(35, 15, 80, "finished depth of the waistband")
    zip: float = options.length(200, 0, 300, "length left open below the waist for the zip")
    cloth_width: float = options.length(1500, 600, 3300, "from edge to edge")


def _block(circle: Circle, body: Body, chosen: CircleOptions) -> Block:
    waist = body.waist + chosen.ease
    radius = waist / math.radians(circle)
    cloth = woven("twill", chosen.cloth_width)
    length = chosen.length or down_to_hem(body, _TO_KNEE)
    panels, along_edge = _laid_out(circle, radius + length, chosen, cloth.usable_width_mm)
    at_hip = waist + math.radians(circle) * body.waist_to_hip
    if length > body.waist_to_hip and at_hip < body.hip + _SEAT_MM:
        raise CannotBeDrafted(
            f"over the hips it would be {cut_length(at_hip)} around, where the body is "
            f"{cut_length(body.hip)}",
            "Take more of a circle, more ease at the waist, or an A-line skirt",
        )
    zip_mm = min(chosen.zip, length / 2)
    skirt = _panel(radius, length, zip_mm, circle / panels, panels)
    if along_edge:
        skirt = replace(skirt, grain_deg=90 - circle / panels / 2)
    return Block(
        pieces=(skirt,),
        cloths=(cloth, fusible()),
        strips=(waistband(chosen.band, FUSIBLE),),
        openings=(waist_opening(*("skirt.waist",) * panels),),
        seams=(seam("between panels", "skirt.left", "skirt.right reversed"),),
    )


def _laid_out(
    circle: Circle, outer: float, chosen: CircleOptions, usable: float
) -> tuple[int, bool]:
    """How many panels of what outer radius lie on the cloth, and whether their grain runs along a
    straight edge. Else it runs along their middle, and they are wider across it (geometry)."""
    room = usable - 4 * SEAM_MM
    for panels in range(max(chosen.panels, math.ceil(circle / _HALF_TURN)), _MOST_PANELS + 1):
        angle = circle / panels
        if angle < _HALF_TURN and 2 * outer * math.sin(math.radians(angle / 2)) <= room:
            return panels, False
        if outer <= room:
            return panels, True
    raise CannotBeDrafted(
        f"a skirt of {cut_length(outer)} from the circle's centre to the hem does not lie on cloth "
        f"{cut_length(usable)} wide between the selvages",
        "Take a wider cloth, or a shorter skirt",
    )


def _panel(radius: float, length: float, open_mm: float, angle: float, panels: int) -> Draft:
    """One panel, its middle and the grain down the sheet. open_mm : what the zip leaves open."""
    low, high = 90 - angle / 2, 90 + angle / 2
    outer = radius + length
    ends = {
        side: (radius * toward(deg), outer * toward(deg))
        for side, deg in (("right", low), ("left", high))
    }
    zip_notches = (Notch("left", length - open_mm), Notch("right", open_mm)) if open_mm else ()
    edges = {
        "hem": arc(outer, low, high),
        "left": (line(*reversed(ends["left"])),),
        "waist": backwards(arc(radius, low, high)),
        "right": (line(*ends["right"]),),
    }
    return Draft(
        "skirt",
        edges,
        cut=panels,
        note=f"{angle:g}° of a circle; notches end the zip, in one seam",
        hems={"hem": Hem(HemKind.ROLLED, 5, 5)},
        notches=zip_notches,
    )


def _garment(circle: Circle) -> Garment:
    name = f"{circle.name.lower()} circle skirt"
    return Garment(
        name=name,
        says=f"A skirt cut as a {circle.name.lower()} circle, with a straight waistband and a zip.",
        method=_METHOD,
        measures=("waist", "hip", "waist_to_hip", "waist_to_floor"),
        options=CircleOptions,
        block=lambda body, chosen: _block(circle, body, chosen),
    )


FULL_CIRCLE, HALF_CIRCLE, QUARTER_CIRCLE = map(_garment, Circle)
