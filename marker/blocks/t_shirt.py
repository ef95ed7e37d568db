"""A knit T-shirt: front and back on the fold, set-in sleeves, a band around the neck."""

from __future__ import annotations

import math
from dataclasses import dataclass

from marker.blocks import options
from marker.blocks.body import EASY, Body
from marker.blocks.garment import Block, Draft, Garment
from marker.blocks.materials import knit, strip
from marker.blocks.sleeve import Sleeve, cap_height
from marker.blocks.torso import (
    ARMHOLE_NOTCH,
    METHOD,
    Torso,
    armhole_depth,
    neck_width,
    neckline,
    opened,
    sleeved_seams,
    straight_half,
)
from marker.pattern.bands.strip import Fold, LiesFlat
from marker.pattern.edge import Hem, HemKind

_HEM = Hem.usual(HemKind.COVER_STITCHED)
_BACK_NECK_MM = 25.0
_NECK_DEPTH = 0.274  # of the neck's girth, in front: common practice, no source
_SLEEVE_EASE_MM = 80.0  # around the upper arm, in cloth that may stretch: the same
_UNDERARM_MM = 60.0  # of a short sleeve at least, or it flares: common practice, no source


@dataclass(frozen=True)
class TShirtOptions:
    """Options of the T-shirt."""

    length: float | None = options.length(None, 300, 1000, "from neck and shoulder to the hem")
    sleeve_length: float | None = options.length(None, 80, 750, "from the shoulder to its hem")
    neck_depth: float | None = options.length(
        None, 60, 250, "of the front neck; more to pass the head"
    )
    band: float = options.length(15, 8, 30, "finished width of the neck band")
    stretch: float = options.number(50, 10, 150, "how far the knit stretches across, in percent")


def _torso(body: Body, chosen: TShirtOptions, wider: float) -> Torso:
    bust, _, _ = EASY.girths(body, chosen.stretch / 100)
    width = neck_width(body) + 15 + wider
    return Torso(
        neck_width=width,
        shoulder=body.shoulder - 10 - wider,
        underarm=complex(bust / 4, armhole_depth(body) + 10),
    )


def _neck_mm(body: Body, chosen: TShirtOptions, wider: float) -> float:
    torso = _torso(body, chosen, wider)
    front, back = torso.neck(_neck_depth(body, chosen) + wider), torso.neck(_BACK_NECK_MM)
    return 2 * (front.length + back.length)


def _neck_depth(body: Body, chosen: TShirtOptions) -> float:
    return chosen.neck_depth or float(round(_NECK_DEPTH * body.neck))


def _wider(body: Body, chosen: TShirtOptions) -> float:
    """How much wider the neck must be for the band, the shorter of the two, to pass the head."""
    band_mm = body.head / (1 + chosen.stretch / 100)
    turned = 2 * math.pi * chosen.band
    return opened(lambda wider: _neck_mm(body, chosen, wider), band_mm + turned + 5)


def _sleeve(body: Body, chosen: TShirtOptions, front: float, back: float) -> Draft:
    cap = cap_height(front, back, body.upper_arm + _SLEEVE_EASE_MM, 0.25)
    length = max(chosen.sleeve_length or body.arm / 3, cap + _UNDERARM_MM)
    # the arm is fullest below the underarm, and narrows from there to the wrist
    upper, below = body.upper_arm + 60, (length - cap) / max(body.arm - cap, 1.0)
    wrist = upper + min(below, 1.0) * (body.wrist + 50 - upper)
    sleeve = Sleeve(front, back, cap, 0.0, length, wrist)
    return sleeve.draft(
        hems={"wrist": _HEM}, notches=sleeve.notches(ARMHOLE_NOTCH * front, ARMHOLE_NOTCH * back)
    )


def _block(body: Body, chosen: TShirtOptions) -> Block:
    wider = _wider(body, chosen)
    torso = _torso(body, chosen, wider)
    _, _, hip = EASY.girths(body, chosen.stretch / 100)
    hem_side = complex(hip / 4, chosen.length or body.back_length + body.waist_to_hip + 25)
    hems = {"hem": _HEM}
    front = straight_half("front", torso, hem_side, _neck_depth(body, chosen) + wider, hems=hems)
    back = straight_half("back", torso, hem_side, _BACK_NECK_MM, hems=hems)
    sleeve = _sleeve(body, chosen, front.length("armhole"), back.length("armhole"))
    return Block(
        pieces=(front, back, sleeve),
        cloths=(knit("jersey", chosen.stretch / 100),),
        strips=(strip("neck band", chosen.band, Fold.SINGLE, LiesFlat(), finishes="neckline"),),
        openings=(neckline(body.head),),
        seams=sleeved_seams(("sleeve.front cap", "sleeve.back cap")),
    )


T_SHIRT = Garment(
    name="t-shirt",
    says="A knit T-shirt with set-in sleeves and a band around the neck.",
    method=METHOD,
    measures=(
        "bust",
        "hip",
        "neck",
        "head",
        "shoulder",
        "upper_arm",
        "arm",
        "wrist",
    ),
    options=TShirtOptions,
    block=_block,
)
