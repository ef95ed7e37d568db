"""Where plies of a marker can change from one roll to another, and lays shared out among rolls."""

from __future__ import annotations

import math
from collections.abc import Sequence

from marker.cloth.fabric import Cloth
from marker.layout import CheckedLayout
from marker.orders.budget import Budget
from marker.orders.rolls import RollPlan, Splice, Spread, Stock, share_out

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
    first, last = _reach_of_garments(marker)
    reach = 0.0
    for number, (begins, ends) in enumerate(extents):
        if begins > extents[number - 1][0]:
            found[reach] = begins
        reach = max(reach, ends)
    marks = [
        Splice(
            math.ceil(max(far, near) + 2 * end_mm),
            math.floor(near),
            in_garment=any(first[each] < near <= last[each] for each in first),
        )
        for far, near in found.items()
        if 0 < far < reach
    ]
    return tuple(sorted(sorted(marks, key=lambda mark: mark.lap_mm)[:MOST_SPLICES]))


def _reach_of_garments(marker: CheckedLayout) -> tuple[dict[int, float], dict[int, float]]:
    """Garment -> where the first of its pieces begins, and where the last of them does."""
    first: dict[int, float] = {}
    last: dict[int, float] = {}
    for place in marker.layout.placements:
        begins = float(place.outline_mm[:, 0].min())
        first[place.garment] = min(begins, first.get(place.garment, begins))
        last[place.garment] = max(begins, last.get(place.garment, begins))
    return first, last


def on_rolls(
    cloth: Cloth,
    colour: str,
    lays: Sequence[tuple[int, int, CheckedLayout]],
    end_mm: float,
    budget: Budget,
) -> RollPlan:
    """The plies of one colour on the rolls of a cloth.

    lays : of each its plies in this colour, the length of a ply in whole mm, its marker. end_mm :
    the end allowance.
    """
    spreads = [
        Spread(plies, ply_mm, splices(marker, end_mm), math.floor(marker.layout.cloth.width_mm))
        for plies, ply_mm, marker in lays
    ]
    rolls = [
        Stock(math.floor(roll.length_mm), math.floor(cloth.width_of(roll)), roll.shade)
        for roll in cloth.rolls_in(colour)
    ]
    return share_out(spreads, rolls, budget)
