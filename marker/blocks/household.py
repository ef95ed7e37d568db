"""What nobody wears (geometry): a tote bag, a cushion cover and curtains.

The bag has two handles. The cover's back is lapped, so that it needs no zip. A curtain is as many
widths of cloth as its fullness needs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from marker.blocks import options
from marker.blocks.body import Body
from marker.blocks.garment import Block, Draft, Garment, eased, rectangle, seam
from marker.blocks.materials import woven
from marker.cloth.behaviour import Direction
from marker.pattern.bands.strip import CutLength, Fold, Strip, cut_width_mm
from marker.pattern.edge import Hem, HemKind, Notch
from marker.pattern.seams.sewing import Seam


@dataclass(frozen=True)
class ToteOptions:
    """Options of the tote."""

    width: float = options.length(380, 150, 800, "of the bag laid flat, without its depth")
    height: float = options.length(400, 150, 800, "from the bottom to the top edge")
    depth: float = options.length(80, 0, 300, "of the bottom, sewn across its two corners")
    handle: float = options.length(600, 200, 1500, "length of each handle between its ends")
    handle_width: float = options.length(30, 15, 80, "finished width of the handles")


def _tote(_: Body, chosen: ToteOptions) -> Block:
    width, hem = chosen.width + chosen.depth, Hem(HemKind.TURNED_TWICE, 30, 10)
    bag = rectangle(
        "bag",
        width,
        chosen.height + chosen.depth / 2,
        cut=2,
        note="front and back; notches at the top show the middle of each handle end",
        hems={"top": hem},
        notches=(Notch("top", width / 3), Notch("top", 2 * width / 3)),
    )
    handle = Strip(
        name="handle",
        cloth="",
        width_mm=cut_width_mm(chosen.handle_width, Fold.DOUBLE, 0),
        length=CutLength(chosen.handle + 2 * hem.depth_mm),
        fold=Fold.DOUBLE,
        finished_mm=chosen.handle_width,
        direction=Direction.LENGTHGRAIN,
        cut=2,
    )
    return Block(
        pieces=(bag,),
        strips=(handle,),
        cloths=(woven("canvas"),),
        seams=(
            seam("sides", "bag.left", "bag.right reversed"),
            seam("bottom", "bag.bottom", "bag.bottom"),
        ),
        notes={"handle": "its ends are caught in the hem"},
    )


TOTE = Garment(
    name="tote",
    says="A bag with two handles, its bottom squared by a seam across each corner.",
    method="geometry: the bag's depth is added to its width, and half of it to its height",
    measures=(),
    options=ToteOptions,
    block=_tote,
)


@dataclass(frozen=True)
class CushionOptions:
    """Options of the cushion."""

    width: float = options.length(450, 150, 1200, "of the cover")
    height: float = options.length(450, 150, 1200, "of the cover")
    lap: float = options.length(120, 50, 400, "by which the halves of the back lie on each other")


def _cushion(_: Body, chosen: CushionOptions) -> Block:
    half = (chosen.height + chosen.lap) / 2
    over = half - chosen.lap
    front = rectangle(
        "front",
        chosen.width,
        chosen.height,
        note="notches show where the halves of the back end",
        notches=tuple(Notch(side, at) for side in ("left", "right") for at in (over, half)),
    )
    back = rectangle(
        "back",
        chosen.width,
        half,
        cut=2,
        hems={"top": Hem(HemKind.TURNED_TWICE, 20, 10)},
        notches=(Notch("right", over), Notch("left", half - over)),
    )
    return Block(
        pieces=(front, back),
        cloths=(woven("furnishing cotton", 1400),),
        seams=(
            seam("top and bottom", "front.top", "front.bottom", "back.bottom"),
            seam("sides", "front.left", eased(chosen.lap, "back.left", "back.right")),
        ),
        notes={"sides": "the halves of the back lie on each other between the notches"},
    )


CUSHION = Garment(
    name="cushion",
    says="A cushion cover with a back in two halves, one lapped over the other.",
    method="geometry: each half of the back is half the height and half the lap",
    measures=(),
    options=CushionOptions,
    block=_cushion,
)


_BOTTOM = Hem(HemKind.TURNED_TWICE, 80, 80)  # double, for its weight: common practice, no source
_SIDE = Hem(HemKind.TURNED_TWICE, 25, 25)
_HEADING = Hem(HemKind.TURNED_ONCE, 60, 0)
_JOIN_MM = 15.0


@dataclass(frozen=True)
class CurtainOptions:
    """Options of the curtains."""

    rail: float = options.length(1800, 300, 10_000, "length that the curtains hang along")
    drop: float = options.length(2200, 300, 6000, "from the heading to the bottom")
    fullness: float = options.number(2.0, 1.0, 4.0, "cloth width, as a multiple of the rail")
    curtains: int = options.number(2, 1, 8, "how many share the rail")
    cloth_width: float = options.length(1400, 600, 3300, "from edge to edge")


def _curtain(_: Body, chosen: CurtainOptions) -> Block:
    cloth = woven("furnishing cotton", chosen.cloth_width)
    flat = chosen.fullness * chosen.rail / chosen.curtains
    usable = cloth.usable_width_mm - 2 * _SIDE.allowance_mm
    count = math.ceil(flat / usable - 1e-9)
    width = flat / count
    pieces = _widths(width, chosen.drop, count, chosen.curtains)
    return Block(pieces=pieces, cloths=(cloth,), seams=_joins(count))


def _widths(width: float, drop: float, count: int, curtains: int) -> tuple[Draft, ...]:
    """Hemmed on both sides where it is the only one; else the two outer ones, and those between."""
    hems = {"bottom": _BOTTOM, "top": _HEADING}
    if count == 1:
        both = {"left": _SIDE, "right": _SIDE}
        return (rectangle("curtain", width, drop, cut=curtains, hems=hems | both),)
    joined = {"right": _JOIN_MM}
    outer = rectangle(
        "outer width", width, drop, cut=2 * curtains, pair=True,
        hems=hems | {"left": _SIDE}, allowances=joined,
    )  # fmt: skip
    if count == 2:
        return (outer,)
    both_joined = joined | {"left": _JOIN_MM}
    inner = rectangle(
        "inner width", width, drop, cut=(count - 2) * curtains, hems=hems, allowances=both_joined
    )
    return outer, inner


def _joins(count: int) -> tuple[Seam, ...]:
    if count == 1:
        return ()
    if count == 2:
        return (seam("join", "outer width.right", "outer width.right"),)
    return (seam("join", "outer width.right", "inner width.right", "inner width.left reversed"),)


CURTAIN = Garment(
    name="curtain",
    says="Curtains hemmed all round, joined from as many widths of cloth as they need.",
    method="geometry: fullness × rail, in equal widths that the cloth yields",
    measures=(),
    options=CurtainOptions,
    block=_curtain,
)
