"""Where plies of a marker can change from one roll to another, and lays shared out among rolls."""

from __future__ import annotations

import math
from collections.abc import Mapping

from marker.layout import CheckedLayout
from marker.orders.budget import Budget
from marker.orders.rolls import RollPlan, Splice, Spread, share_out
from marker.planning.order import LaidPlan

MOST_SPLICES = 12
"""Marks offered in one marker, those of the shortest laps."""


def splices(marker: CheckedLayout, end_mm: float) -> tuple[Splice, ...]:
    """Splice marks of a marker, from its start.

    At a mark the first cloth must hold each piece that begins before it, and the second each that
    begins later (common practice, no source); either goes on by an end allowance.
    end_mm : the end allowance, also before the first piece. None where the second cloth would have
    to go on with the first one's repeat, or where a ply's own ends lie on one another.
    """
    if marker.layout.cloth.repeat.along or marker.layout.spread.spreading.ends_meet:
        return ()
    extents = sorted(
        (float(place.outline_mm[:, 0].min()), float(place.outline_mm[:, 0].max()))
        for place in (*marker.layout.placements, *marker.layout.spares)
    )
    found: dict[float, float] = {}  # reach -> latest place from which that is enough
    reach = 0.0
    for number, (begins, ends) in enumerate(extents):
        if begins > extents[number - 1][0]:
            found[reach] = begins
        reach = max(reach, ends)
    marks = [
        Splice(math.ceil(max(far, near) + 2 * end_mm), math.floor(near))
        for far, near in found.items()
        if 0 < far < reach
    ]
    return tuple(sorted(sorted(marks, key=lambda mark: mark.lap_mm)[:MOST_SPLICES]))


def on_rolls(plan: LaidPlan, budget: Budget) -> Mapping[str, RollPlan]:
    """Colour -> its plies on its rolls."""
    end = plan.lengths.end_loss_mm / 2
    marks = [splices(marker, end) for marker in plan.markers]
    plies_mm = [plan.ply_mm(marker) for marker in plan.markers]
    colours = plan.order.colours
    shared = {}
    for number, colour in enumerate(colours):
        rolls = plan.cloth.rolls_in(colour)
        heights = [lay.plies.get(colour, 0) for lay in plan.plan.lays]
        spreads = [Spread(*each) for each in zip(heights, plies_mm, marks, strict=True)]
        with budget.part(1 / (len(colours) - number)) as part:
            shared[colour] = share_out(spreads, [math.floor(roll) for roll in rolls], part)
    return shared
