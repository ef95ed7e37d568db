"""A woven tunic, loose and pulled on over the head: set-in sleeves, a bound neck, side slits."""

from __future__ import annotations

from dataclasses import dataclass

from marker.blocks import options
from marker.blocks.body import LOOSE, Body
from marker.blocks.garment import Block, Draft, Garment, eased
from marker.blocks.materials import strip, woven
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
from marker.cloth.behaviour import Direction
from marker.pattern.bands.strip import Fold, Join, LiesFlat
from marker.pattern.edge import Hem, HemKind

_HEM = Hem(HemKind.TURNED_TWICE, 20, 10)
_NARROW = Hem(HemKind.TURNED_TWICE, 7, 7)
_BACK_NECK_MM = 30.0
_BINDING_MM = 8.0
_HEAD_EASE_MM = 15.0  # a woven neck passes the head with this much to spare
_CAP_EASE_MM = 10.0
_NECK_DEPTH = 0.301  # of the neck's girth, in front: common practice, no source
_SLEEVE_EASE_MM = 125.0  # around the upper arm: the same


@dataclass(frozen=True)
class TunicOptions:
    """Options of the tunic."""

    length: float | None = options.length(None, 400, 1300, "from neck and shoulder to the hem")
    sleeve_length: float | None = options.length(None, 150, 800, "from the shoulder to its hem")
    neck_depth: float | None = options.length(
        None, 70, 250, "of the front neck; more to pass the head"
    )
    slit: float = options.length(150, 0, 500, "of each side, above the hem; 0 for none")


def _torso(body: Body, wider: float) -> Torso:
    bust, _, _ = LOOSE.girths(body)
    return Torso(
        neck_width=neck_width(body) + 20 + wider,
        shoulder=body.shoulder + 5 - wider,
        underarm=complex(bust / 4, armhole_depth(body) + 25),
        slope_deg=18,
    )


def _neck_depth(body: Body, chosen: TunicOptions) -> float:
    return chosen.neck_depth or float(round(_NECK_DEPTH * body.neck))


def _wider(body: Body, chosen: TunicOptions) -> float:
    """How much wider the neck must be for the head to pass."""

    def around(wider: float) -> float:
        torso = _torso(body, wider)
        front, back = torso.neck(_neck_depth(body, chosen) + wider), torso.neck(_BACK_NECK_MM)
        return 2 * (front.length + back.length)

    # the binding's inner edge is the shorter one
    return opened(around, body.head + _HEAD_EASE_MM + 6.3 * _BINDING_MM)


def _sleeve(body: Body, chosen: TunicOptions, front: float, back: float) -> Draft:
    length = chosen.sleeve_length or 0.8 * body.arm
    cap = cap_height(front, back, body.upper_arm + _SLEEVE_EASE_MM, 0.26)
    wrist = max(body.wrist + 130, 0.75 * body.upper_arm + 80)
    sleeve = Sleeve(front, back, cap, _CAP_EASE_MM, max(length, cap + 50), wrist)
    notches = sleeve.notches(ARMHOLE_NOTCH * front, ARMHOLE_NOTCH * back)
    return sleeve.draft(hems={"wrist": _HEM}, notches=notches)


def _block(body: Body, chosen: TunicOptions) -> Block:
    wider = _wider(body, chosen)
    torso = _torso(body, wider)
    bust, _, hip = LOOSE.girths(body)
    length = chosen.length or body.back_length + body.waist_to_hip + 180
    hem_side = complex(max(hip, bust) / 4 + 15, length)
    slit = min(chosen.slit, (length - torso.underarm.imag) / 2)
    hems = {"hem": _HEM} | ({"slit": _NARROW} if slit else {})
    front, back = (
        straight_half(name, torso, hem_side, depth, slit, hems=hems)
        for name, depth in (("front", _neck_depth(body, chosen) + wider), ("back", _BACK_NECK_MM))
    )
    sleeve = _sleeve(body, chosen, front.length("armhole"), back.length("armhole"))
    binding = strip(
        "neck binding",
        _BINDING_MM,
        Fold.DOUBLE,
        LiesFlat(),
        finishes="neckline",
        direction=Direction.BIAS,
        join=Join.DIAGONAL,
    )
    return Block(
        pieces=(front, back, sleeve),
        cloths=(woven("linen"),),
        strips=(binding,),
        openings=(neckline(body.head),),
        seams=sleeved_seams(eased(_CAP_EASE_MM, "sleeve.front cap", "sleeve.back cap")),
    )


TUNIC = Garment(
    name="tunic",
    says="A loose woven tunic with set-in sleeves, a bound neck and side slits.",
    method=METHOD,
    measures=(
        "bust", "hip", "neck", "head", "shoulder", "back_length", "waist_to_hip", "upper_arm",
        "arm", "wrist",
    ),
    options=TunicOptions,
    block=_block,
)  # fmt: skip
