"""A bib apron in one piece, with a pocket and ties (common practice, no source)."""

from __future__ import annotations

from dataclasses import dataclass

from marker.blocks import options
from marker.blocks.body import Body
from marker.blocks.curve import chain, curve, line, toward
from marker.blocks.garment import FOLD, Block, Draft, Garment, rectangle
from marker.blocks.materials import strip, woven
from marker.blocks.torso import neck_width
from marker.cloth.behaviour import Direction
from marker.pattern.bands.strip import CutLength, Fold, Strip
from marker.pattern.edge import Hem, HemKind, Notch

_NARROW = Hem(HemKind.TURNED_TWICE, 10, 10)
_CORDS = "on a child's apron, cords at the neck have rules of their own: EN 14682, ASTM F1816"


@dataclass(frozen=True)
class ApronOptions:
    """Options of the apron."""

    length: float | None = options.length(None, 200, 900, "from the waist to the hem")
    bib: float | None = options.length(None, 120, 400, "height of the bib above the waist")
    tie: float | None = options.length(None, 300, 1500, "length of each tie at the waist")
    pocket: float = options.length(200, 0, 300, "width of the pocket; 0 for none")


def _block(body: Body, chosen: ApronOptions) -> Block:
    bib = chosen.bib or 0.62 * body.back_length
    side, top = 0.31 * body.hip, neck_width(body) + 0.35 * body.shoulder
    length = chosen.length or 0.6 * body.waist_to_floor
    low = bib + length
    armhole = curve(complex(side, bib), toward(-176), complex(top, 0), toward(-96),
                    (0.55 * (side - top), 0.6 * bib))  # fmt: skip
    apron = Draft(
        "apron",
        {
            "hem": chain(1j * low, complex(side, low)),
            "side": chain(complex(side, low), complex(side, bib)),
            "armhole": (armhole,),
            "top": (line(armhole.end, 0j),),
            FOLD: chain(0j, 1j * low),
        },
        note="the notch shows the top of the pocket, at the centre",
        hems={
            "hem": Hem(HemKind.TURNED_TWICE, 20, 10),
            "side": _NARROW,
            "armhole": Hem(HemKind.TURNED_TWICE, 7, 7),
            "top": Hem(HemKind.TURNED_TWICE, 30, 10),
        },
        notches=(Notch("side", length - 60),),
    )
    pocket = rectangle(
        "pocket", chosen.pocket or 1, 0.85 * chosen.pocket or 1,
        hems={"top": Hem(HemKind.TURNED_TWICE, 20, 10)},
    )  # fmt: skip
    return Block(
        pieces=(apron, pocket) if chosen.pocket else (apron,),
        cloths=(woven("drill"),),
        strips=_cords(body, chosen),
        notes={"neck strap": _CORDS, "tie": "at the head of either side"},
    )


def _cords(body: Body, chosen: ApronOptions) -> tuple[Strip, ...]:
    grain = Direction.LENGTHGRAIN
    neck = CutLength(body.head + 40)
    tie = CutLength(chosen.tie or 0.9 * body.waist)
    return (
        strip("neck strap", 25, Fold.DOUBLE, neck, direction=grain),
        strip("tie", 20, Fold.DOUBLE, tie, direction=grain, cut=2),
    )


APRON = Garment(
    name="apron",
    says="An apron with a bib, a pocket, a strap around the neck and two ties.",
    method="common practice, no source: it covers six tenths of the hips, and the neck",
    measures=("hip", "waist", "neck", "head", "shoulder", "back_length", "waist_to_floor"),
    options=ApronOptions,
    block=_block,
)
