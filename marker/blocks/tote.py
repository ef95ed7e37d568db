"""A tote bag with two handles (geometry)."""

from __future__ import annotations

from dataclasses import dataclass

from marker.blocks import options
from marker.blocks.body import Body
from marker.blocks.cloths import woven
from marker.blocks.draft import Block, rectangle, seam
from marker.blocks.garment import Garment
from marker.cloth.behaviour import Direction
from marker.pattern.bands.strip import CutLength, Fold, Strip, cut_width_mm
from marker.pattern.edge import Hem, HemKind, Notch


@dataclass(frozen=True)
class ToteOptions:
    """Options of the tote."""

    width: float = options.length(380, 150, 800, "of the bag laid flat, without its depth")
    height: float = options.length(400, 150, 800, "from the bottom to the top edge")
    depth: float = options.length(80, 0, 300, "of the bottom, sewn across its two corners")
    handle: float = options.length(600, 200, 1500, "length of each handle between its ends")
    handle_width: float = options.length(30, 15, 80, "finished width of the handles")


def _block(_: Body, chosen: ToteOptions) -> Block:
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
    block=_block,
)
