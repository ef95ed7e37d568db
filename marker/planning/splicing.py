"""Where plies of a marker can change from one roll to another, and lays shared out among rolls."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from marker.cloth.fabric import Cloth
from marker.cloth.stock import Roll
from marker.layout import CheckedLayout
from marker.orders.budget import Budget
from marker.orders.order import Lay
from marker.orders.rolls import RollPlan, Splice, Spread, Stock, share_out

MOST_PLIES_A_ROLL = 7
"""Plies of a roll up to which their length is fitted to it."""

MOST_SPLICES = 12
"""Marks offered in one marker: in each of so many equal parts that of the shortest lap."""


def splices(marker: CheckedLayout, end_mm: float) -> tuple[Splice, ...]:
    """Splice marks of a marker, from its start.

    The first cloth must hold each piece that begins before the mark, the second each that begins
    later (common practice, no source). Either goes on by an end allowance.
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
    kept: dict[int, Splice] = {}
    for mark in sorted(marks, key=lambda mark: (mark.lap_mm, mark)):
        kept.setdefault(int(mark.from_mm * MOST_SPLICES / reach), mark)
    return tuple(sorted(kept.values()))


def _reach_of_garments(marker: CheckedLayout) -> tuple[dict[int, float], dict[int, float]]:
    """Garment -> where the first of its pieces begins, and where the last of them does."""
    first: dict[int, float] = {}
    last: dict[int, float] = {}
    for place in marker.layout.placements:
        begins = float(place.outline_mm[:, 0].min())
        first[place.garment] = min(begins, first.get(place.garment, begins))
        last[place.garment] = max(begins, last.get(place.garment, begins))
    return first, last


class SpreadLay(Protocol):
    """A lay as it is cut from rolls. ply_mm : whole mm, ends included."""

    @property
    def lay(self) -> Lay: ...
    @property
    def ply_mm(self) -> int: ...
    @property
    def marker(self) -> CheckedLayout: ...


@dataclass(frozen=True)
class RollStock:
    """The rolls of a cloth, in the colours ordered. end_mm : the end allowance of a ply."""

    cloth: Cloth
    colours: tuple[str, ...]
    end_mm: float

    @property
    def widths_mm(self) -> list[float]:
        """How wide they are, the narrowest first."""
        return sorted({self.cloth.width_of(roll) for each in self._by_colour for roll in each})

    @property
    def plies_mm(self) -> list[int]:
        """Plies that leave nothing of some roll, the longest first."""
        lengths = {math.floor(roll.length_mm) for each in self._by_colour for roll in each}
        return sorted(
            {mm // n for mm in lengths for n in range(1, MOST_PLIES_A_ROLL)}, reverse=True
        )

    @property
    def _by_colour(self) -> list[tuple[Roll, ...]]:
        return [self.cloth.rolls_in(colour) for colour in self.colours]

    def shared_out(self, lays: Sequence[SpreadLay], budget: Budget) -> dict[str, RollPlan]:
        """Colour -> which plies are cut from which of its rolls."""
        shared = {}
        for number, colour in enumerate(self.colours):
            with budget.part(1 / (len(self.colours) - number)) as part:
                shared[colour] = self._of_colour(colour, lays, part)
        return shared

    def _of_colour(self, colour: str, lays: Sequence[SpreadLay], budget: Budget) -> RollPlan:
        spreads = [
            Spread(
                each.lay.plies.get(colour, 0),
                each.ply_mm,
                splices(each.marker, self.end_mm),
                math.floor(each.marker.layout.cloth.width_mm),
            )
            for each in lays
        ]
        rolls = [
            Stock(math.floor(roll.length_mm), math.floor(self.cloth.width_of(roll)), roll.shade)
            for roll in self.cloth.rolls_in(colour)
        ]
        return share_out(spreads, rolls, budget)

    def narrowest_mm(self, lay: int, shared: Mapping[str, RollPlan]) -> float | None:
        """Width of the narrowest roll that a lay, counted from 0, is cut from; None of none."""
        return min(
            (
                self.cloth.width_of(self.cloth.rolls_in(colour)[number])
                for colour, plan in shared.items()
                for number in plan.rolls_of(lay)
            ),
            default=None,
        )


def missing_mm(lays: Sequence[SpreadLay], shared: Mapping[str, RollPlan]) -> int:
    """Cloth of the plies that find none."""
    return sum(
        plies * each.ply_mm
        for plan in shared.values()
        for plies, each in zip(plan.missing, lays, strict=True)
    )
