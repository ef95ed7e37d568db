"""Front or back of a garment that hangs straight from the underarm."""

from __future__ import annotations

from typing import Any

from marker.blocks.curve import ACROSS, CLOCKWISE, Curve, curve, line
from marker.blocks.draft import FOLD, Draft, back_notch, front_notch
from marker.blocks.torso import Torso

ARMHOLE_NOTCH = 0.35  # of an armhole, from the underarm: common practice, no source


def straight_half(
    name: str, torso: Torso, hem_side: complex, neck_depth: float, slit: float = 0.0, **more: Any
) -> Draft:
    """The half on the fold, a front where its name says so: hem, side, armhole, shoulder, neck.

    hem_side : where the straight side meets the hem, which is square to it. slit : of the side, the
    length above the hem that is an edge 'slit' of its own. `more` are fields of Draft.
    """
    front = "front" in name
    side = line(hem_side, torso.underarm)
    up = side.end - side.start
    armhole = torso.front_armhole(up) if front else torso.back_armhole(up)
    neck = torso.neck(neck_depth)
    third = hem_side.real / 3
    hem = curve(1j * hem_side.imag, ACROSS, hem_side, up * CLOCKWISE, (third, third))
    edges: dict[str, tuple[Curve, ...]] = {"hem": (hem,)}
    if slit:
        low, side = side.split_at(slit)
        edges["slit"] = (low,)
    edges |= {
        "side": (side,),
        "armhole": (armhole,),
        "shoulder": (torso.shoulder_seam,),
        "neck": (neck,),
        FOLD: (line(neck.end, hem.start),),
    }
    notch = front_notch if front else back_notch
    return Draft(name, edges, notches=notch("armhole", ARMHOLE_NOTCH * armhole.length), **more)
