"""A cushion cover whose back is lapped, so that it needs no zip (geometry)."""

from __future__ import annotations

from dataclasses import dataclass

from marker.blocks import options
from marker.blocks.body import Body
from marker.blocks.cloths import woven
from marker.blocks.draft import Block, eased, rectangle, seam
from marker.blocks.garment import Garment
from marker.pattern.edge import Hem, HemKind, Notch


@dataclass(frozen=True)
class CushionOptions:
    """Options of the cushion."""

    width: float = options.length(450, 150, 1200, "of the cover")
    height: float = options.length(450, 150, 1200, "of the cover")
    lap: float = options.length(120, 50, 400, "by which the halves of the back lie on each other")


def _block(_: Body, chosen: CushionOptions) -> Block:
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
    block=_block,
)
