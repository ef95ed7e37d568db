"""Curtains: each as many widths of cloth as its fullness needs, joined (geometry)."""

from __future__ import annotations

import math
from dataclasses import dataclass

from marker.blocks import options
from marker.blocks.body import Body
from marker.blocks.cloths import woven
from marker.blocks.draft import Block, Draft, rectangle, seam
from marker.blocks.garment import Garment
from marker.pattern.edge import Hem, HemKind
from marker.pattern.seams.sewing import Seam

_BOTTOM = Hem(HemKind.TURNED_TWICE, 80, 80)  # double, for its weight: common practice, no source
_SIDE = Hem(HemKind.TURNED_TWICE, 25, 25)
_HEADING = Hem(HemKind.TURNED_ONCE, 60, 0)
_JOIN_MM = 15.0


@dataclass(frozen=True)
class CurtainOptions:
    """Options of the curtains."""

    rail: float = options.length(1800, 300, 10_000, "that the curtains hang along")
    drop: float = options.length(2200, 300, 6000, "from the heading to the bottom")
    fullness: float = options.number(2.0, 1.0, 4.0, "cloth, as a multiple of the rail")
    curtains: int = options.number(2, 1, 8, "that share the rail")
    cloth_width: float = options.length(1400, 600, 3300, "from edge to edge")


def _block(_: Body, chosen: CurtainOptions) -> Block:
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
    block=_block,
)
