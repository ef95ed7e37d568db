"""Full, half and quarter circle skirts: sectors of a ring (geometry).

The waist is an arc of radius waist ÷ angle; the hem lies the skirt's length outside it, so the
skirt is as long all around before the bias drops.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum

from marker.blocks import options
from marker.blocks.body import Body
from marker.blocks.cloths import woven
from marker.blocks.curve import CannotBeDrafted, arc, line, toward
from marker.blocks.draft import SEAM_MM, Block, Draft, seam
from marker.blocks.garment import Garment
from marker.blocks.rectangles import straight_waistband
from marker.pattern.edge import Hem, HemKind, Notch
from marker.units import metric

_METHOD = "geometry: the waist is an arc of radius waist ÷ angle, the hem lies the length outside"
_HALF_TURN = 180.0
_SEAT_MM = 20.0  # least ease over the hips: common practice, no source


class Circle(IntEnum):
    """How much of a circle a skirt is, in degrees."""

    FULL = 360
    HALF = 180
    QUARTER = 90


@dataclass(frozen=True)
class CircleOptions:
    """Options of a skirt that is a circle or a part of one."""

    length: float = options.length(650, 200, 1200, "from the waist seam to the hem")
    ease: float = options.length(10, 0, 100, "of the waist seam beyond the body")
    panels: int = options.number(2, 1, 8, "it is sewn from, or more where the cloth is too narrow")
    band: float = options.length(35, 15, 80, "finished depth of the waistband")
    zip: float = options.length(200, 0, 300, "length left open below the waist for the zip")


def _block(circle: Circle, body: Body, chosen: CircleOptions) -> Block:
    waist = body.waist + chosen.ease
    radius = waist / math.radians(circle)
    panels, cloth = chosen.panels, woven("twill")
    while _across(radius + chosen.length, circle / panels) > cloth.usable_width_mm:
        panels += 1
    at_hip = waist + math.radians(circle) * body.waist_to_hip
    if chosen.length > body.waist_to_hip and at_hip < body.hip + _SEAT_MM:
        raise CannotBeDrafted(
            f"over the hips it would be {metric(at_hip)} around, where the body is "
            f"{metric(body.hip)}",
            "Take more of a circle, more ease at the waist, or an A-line skirt",
        )
    skirt = _panel(radius, chosen, circle / panels, panels)
    band = straight_waistband(waist, chosen.band, overlap_mm=30)
    return Block(
        pieces=(skirt, band),
        cloths=(cloth,),
        seams=(
            seam("between panels", "skirt.left", "skirt.right reversed"),
            seam("waist", "waistband.waist", ("skirt.waist",) * panels),
        ),
    )


def _across(outer: float, angle: float) -> float:
    """How wide a panel is across its grain, with its allowances (geometry); a panel of more than a
    half turn is not drafted."""
    if angle > _HALF_TURN:
        return math.inf
    own = outer if angle == _HALF_TURN else 2 * outer * math.sin(math.radians(angle / 2))
    return own + 4 * SEAM_MM


def _panel(radius: float, chosen: CircleOptions, angle: float, panels: int) -> Draft:
    """One panel, its middle down the sheet; the grain lies along its middle, or along a straight
    edge where it is a half circle, which else would be too wide for most cloths."""
    low, high = 90 - angle / 2, 90 + angle / 2
    outer = radius + chosen.length
    ends = {
        side: (radius * toward(deg), outer * toward(deg))
        for side, deg in (("right", low), ("left", high))
    }
    open_mm = min(chosen.zip, chosen.length / 2)
    zip_notches = (
        (Notch("left", chosen.length - open_mm), Notch("right", open_mm)) if open_mm else ()
    )
    edges = {
        "hem": arc(0j, outer, low, high),
        "left": (line(*reversed(ends["left"])),),
        "waist": tuple(each.reversed for each in reversed(arc(0j, radius, low, high))),
        "right": (line(*ends["right"]),),
    }
    return Draft(
        "skirt",
        edges,
        cut=panels,
        note=f"{angle:g}° of a circle; notches end the zip, in one seam",
        grain_deg=0.0 if angle >= _HALF_TURN else 90.0,
        hems={"hem": Hem(HemKind.ROLLED, 5, 5)},
        notches=zip_notches,
    )


def _garment(circle: Circle) -> Garment:
    name = f"{circle.name.lower()} circle skirt"
    return Garment(
        name=name,
        says=f"A skirt cut as a {circle.name.lower()} circle, with a straight waistband and a zip.",
        method=_METHOD,
        measures=("waist", "hip", "waist_to_hip"),
        options=CircleOptions,
        block=lambda body, chosen: _block(circle, body, chosen),
    )


FULL_CIRCLE, HALF_CIRCLE, QUARTER_CIRCLE = map(_garment, Circle)
