"""A plan of three lays worked out by hand: two markers, two colours, a spliced ply, one short."""

from __future__ import annotations

from dataclasses import replace

from marker import judge
from marker.cloth.fabric import Cloth, Price
from marker.cloth.spread import Spread, Spreading
from marker.cloth.stock import Roll
from marker.layout import CheckedLayout
from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Lay
from marker.orders.planning import CutPlan, Tier
from marker.orders.rolls import Part, RollPlan, Splice
from marker.planning.laid_plan import LaidLay, LaidPlan
from tests.helpers import cut_piece, layout, place
from tests.shapes import rectangle

CLOTH = Cloth(
    "jersey",
    300.0,
    end_allowance_mm=10.0,
    price=Price(10.0, 1000.0, "EUR"),
    thickness_mm=0.5,
    rolls={
        "red": tuple(map(Roll, (1150.0, 1100.0, 500.0))),
        "blue": tuple(map(Roll, (800.0, 720.0))),
    },
)
SPLICE = Splice(reach_mm=420, from_mm=400, in_garment=False)
"""Of the first marker, whose bands lie end to end at 400 mm (geometry)."""


def _marker(cloth: Cloth, *sizes: str) -> CheckedLayout:
    """Bands of 400 mm for S and of 300 for M, end to end, each with a cuff beside it."""
    lengths = {"S": 400.0, "M": 300.0}
    pieces, placements, at = [], [], 0.0
    for number, size in enumerate(sizes, start=1):
        band = replace(cut_piece("band", rectangle(lengths[size], 100)), size=size)
        cuff = replace(cut_piece("cuff", rectangle(200, 50), copies=2), size=size)
        pieces += [band, cuff]
        placements.append(place(band, at, 0, garment=number))
        placements += [
            place(cuff, at, 110 + 60 * copy, garment=number, copy=copy + 1) for copy in range(2)
        ]
        at += lengths[size]
    spread = Spread(Spreading.SLIT_OPEN) if cloth.tube else Spread()
    return judge.check(replace(layout(placements, cloth), spread=spread), pieces, sizes)


def _lay(number: int, marker: CheckedLayout, plies: dict[str, int], ply_mm: int) -> LaidLay:
    garments = {size: marker.garments.count(size) for size in dict.fromkeys(marker.garments)}
    return LaidLay(number, Lay(plies, garments), marker, ply_mm)


def hand_made(cloth: Cloth = CLOTH) -> LaidPlan:
    """Lay 1: S and M, 3 red plies and 2 blue; lay 2: the same, 1 blue; lay 3: S alone, 1 red.

    A ply of the first marker is 720 mm, of the second 420. Red roll 1 gives a ply and the first
    part of one that roll 2 ends; roll 2 a ply more. Roll 4, blue, gives one; the other finds none.
    """
    both, small = _marker(cloth, "S", "M"), _marker(cloth, "S")
    lays = (
        _lay(1, both, {"red": 3, "blue": 2}, 720),
        _lay(2, both, {"blue": 1}, 720),
        _lay(3, small, {"red": 1}, 420),
    )
    order = CutOrder({"red": {"S": 4, "M": 3}, "blue": {"S": 3, "M": 3}})
    plan = CutPlan(order, tuple(each.lay for each in lays), (Tier("cloth_mm", 4740, 4740),))
    red = RollPlan(
        parts=(
            (Part(0, 1, 720), Part(0, 1, 420, SPLICE, first=True)),
            (Part(0, 1, 720), Part(0, 1, 320, SPLICE, first=False)),
            (Part(2, 1, 420),),
        ),
        left_mm=(10, 60, 80),
        missing=(0, 0, 0),
        splices=1,
        optimal=True,
    )
    blue = RollPlan(((Part(0, 1, 720),), (Part(1, 1, 720),)), (80, 0), (1, 0, 0), 0, True)
    rolls = {"red": red, "blue": blue} if cloth.rolls else {}
    return LaidPlan(cloth, plan, lays, rounds=1, stable=True, costs=Lengths(0, {}), rolls=rolls)
