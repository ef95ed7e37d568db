"""What to buy for a checked layout, and what is left of the cloth beside it."""

from __future__ import annotations

import numpy as np
import shapely

from marker.cloth.buying import Purchase, purchase, room_mm
from marker.cloth.leftover import Remaining, remaining
from marker.layout import CheckedLayout
from marker.pattern.repeats.match import tied_along


def is_tied_along(checked: CheckedLayout) -> bool:
    """Whether it must start in a certain place of the cloth's repeat along it."""
    return any(tied_along(piece.matches) for piece in checked.cut_pieces)


def purchase_for(checked: CheckedLayout, length_mm: float | None = None) -> Purchase:
    """What to buy for it, or for another length of the same pieces."""
    layout = checked.layout
    length = layout.length_mm if length_mm is None else length_mm
    return purchase(length, layout.cloth, is_tied_along(checked))


def leftovers(checked: CheckedLayout, purchase: Purchase) -> tuple[Remaining, ...]:
    """The remnants worth keeping of the cloth bought, or of all that there is; without the end
    allowances, the selvages and the flaws. What lies inside a piece's cut-outs counts as used."""
    layout, cloth = checked.layout, checked.layout.cloth
    end = room_mm(cloth)
    if cloth.have_mm is None:
        bought = purchase.buy_mm * cloth.shrinkage.of_cloth[0]
        end = bought - purchase.end_allowance_mm
    whole = shapely.box(0.0, 0.0, max(end, layout.length_mm), cloth.usable_width_mm)
    laid = [*layout.placements, *layout.spares]
    turns = (-1, 0, 1) if cloth.tube else (0,)  # around a tube, a piece lies a whole turn on, too
    covered = [
        shapely.Polygon(placement.outline_mm + np.array([0.0, turn * cloth.usable_width_mm]))
        for placement in laid
        for turn in turns
    ]
    spoiled = [shapely.Polygon(flaw.outline) for flaw in cloth.flaws]
    lacking = cloth.remnant.lacking if cloth.remnant else ()
    return remaining(whole, [*covered, *spoiled, *map(shapely.Polygon, lacking)])
