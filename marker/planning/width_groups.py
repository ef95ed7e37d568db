"""Which garments share markers of one width, where the rolls of a cloth differ in width.

A marker for the narrowest roll lies on all of them, and wastes the edge of the wider ones. Markers
for each width waste nothing, and take more lays. So ways to group are proposed here, those first
that promise to cost least; the flow lays a few of them and compares.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

from marker.cloth.fabric import Cloth
from marker.cloth.stock import Roll
from marker.orders.bounds import fewest_lays, fewest_plies, fullest, least_cost_mm
from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Limits
from marker.orders.planning import Aim

MOST_CLASSES = 4
"""Widths told apart; those nearest to one another count as the narrower one of them."""

MOST_TRIED = 3
"""Ways to group that are laid and compared."""

FILLED = (1.0, 0.9)
"""Shares of the rolls' length that may become plies, where a colour is split among widths: all that
is cut from ends of rolls, too, and what is likely without."""


@dataclass(frozen=True)
class WidthGroup:
    """Garments that are cut from markers of one width.

    width_mm : of the narrowest of its rolls. rolls : colour -> those that its plies come from.
    """

    width_mm: float
    order: CutOrder
    rolls: Mapping[str, tuple[Roll, ...]]


Grouping = tuple[WidthGroup, ...]
"""All that is ordered, the narrowest markers first."""


@dataclass(frozen=True)
class Grouper:
    """Groups the garments of an order by the rolls of a cloth.

    estimate : the lengths of markers for rolls of a width. limits, aim : of the plans to be.
    """

    cloth: Cloth
    order: CutOrder
    limits: Limits
    aim: Aim
    estimate: Callable[[float], Lengths]

    def one_width(self) -> Grouping:
        """All garments from markers that lie on every roll."""
        return self._grouping([0.0], None)

    def groupings(self) -> list[Grouping]:
        """Ways to group, the most promising first, and among them that of one width."""
        one = self.one_width()
        found = [one]
        for floors in self._floors():
            for filled in (None, *FILLED):
                grouping = self._grouping(floors, filled)
                if grouping not in found and self._within_markers(grouping):
                    found.append(grouping)
        found.sort(key=self._promise)
        return [each for each in found if each in found[:MOST_TRIED] or each is one]

    def _within_markers(self, grouping: Grouping) -> bool:
        most = self.limits.max_markers
        return most is None or len(grouping) <= most

    def _floors(self) -> Iterator[list[float]]:
        """Widths at which groups may begin: each choice of them, with the least."""
        widths = {self.cloth.width_of(roll) for c in self.order.colours for roll in self._rolls(c)}
        least, *others = _told_apart(sorted(widths))
        for count in range(len(others) + 1):
            for chosen in combinations(others, count):
                yield [least, *chosen]

    def _rolls(self, colour: str) -> tuple[Roll, ...]:
        return self.cloth.rolls_in(colour)

    def _grouping(self, floors: Sequence[float], filled: float | None) -> Grouping:
        """Groups of rolls as wide as a floor, and narrower than the next one.

        filled : a colour's garments come from its widest rolls until this share of them is used;
        None for markers that lie on all its rolls.
        """
        bands = [(low, high) for low, high in pairwise([*floors, float("inf")])]
        wanted: dict[float, dict[str, dict[str, int]]] = {low: {} for low, _ in bands}
        rolls: dict[float, dict[str, tuple[Roll, ...]]] = {low: {} for low, _ in bands}
        for colour in self.order.colours:
            by_floor = {
                low: tuple(r for r in self._rolls(colour) if low <= self.cloth.width_of(r) < high)
                for low, high in bands
            }
            shared = self._shared(colour, by_floor, filled)
            for low, (sizes, there) in shared.items():
                wanted[low][colour], rolls[low][colour] = sizes, there
        return tuple(
            WidthGroup(
                min(self.cloth.width_of(roll) for there in rolls[low].values() for roll in there),
                replace(self.order, wanted=wanted[low]),
                rolls[low],
            )
            for low, _ in bands
            if any(any(sizes.values()) for sizes in wanted[low].values())
        )

    def _shared(
        self, colour: str, rolls: Mapping[float, tuple[Roll, ...]], filled: float | None
    ) -> dict[float, tuple[dict[str, int], tuple[Roll, ...]]]:
        """Floor -> the garments of a colour, and the rolls that they come from."""
        left = dict(self.order.wanted[colour])
        there = [low for low, each in rolls.items() if each]
        if filled is None:
            return {there[0]: (left, self._rolls(colour))}
        found = {}
        for low in reversed(there):
            taken = left if low == there[0] else self._held(left, rolls[low], filled)
            if any(taken.values()):
                found[low] = taken, rolls[low]
            left = {size: number - taken[size] for size, number in left.items()}
        return found

    def _held(
        self, garments: Mapping[str, int], rolls: Sequence[Roll], filled: float
    ) -> dict[str, int]:
        """Those of the garments that a share of the rolls holds, of each size as large a part."""
        width = min(self.cloth.width_of(roll) for roll in rolls)
        held, needed = filled * _length(rolls), self._needed(garments, width)
        share = 1.0 if needed <= held else held / needed
        return {size: int(number * share) for size, number in garments.items()}

    def _needed(self, garments: Mapping[str, int], width_mm: float) -> float:
        """Cloth that garments take, in full markers."""
        lengths = self.estimate(width_mm)
        a_ply = (lengths.base_mm + lengths.end_loss_mm) / self.limits.max_garments
        return sum(n * (lengths.garment_mm[size] + a_ply) for size, n in garments.items() if n)

    def _promise(self, grouping: Grouping) -> list[float]:
        """Cloth that is likely to be wanting, then what the aim counts, by counting alone."""
        lays = plies = cost = 0
        wanting = 0.0
        for group in grouping:
            lengths = self.estimate(group.width_mm)
            holds = max(1, fullest(group.order, self.limits, lengths))
            lays += fewest_lays(group.order, self.limits, holds)
            plies += fewest_plies(group.order, holds)
            cost += least_cost_mm(group.order, lengths, holds)
            for colour, sizes in group.order.wanted.items():
                needed = self._needed(sizes, group.width_mm)
                wanting += max(0.0, needed - _length(group.rolls[colour]))
        match self.aim:
            case Aim.FEWEST_LAYS:
                return [wanting, lays, cost]
            case Aim.FEWEST_PLIES:
                return [wanting, plies, lays]
        lay_cost = self.estimate(grouping[0].width_mm).lay_cost_mm
        return [wanting, cost + lay_cost * lays, lays]


def _length(rolls: Iterable[Roll]) -> float:
    return sum(roll.length_mm for roll in rolls)


def _told_apart(widths: Sequence[float]) -> list[float]:
    """At most MOST_CLASSES of the widths, the least of them among these."""
    kept = list(widths)
    while len(kept) > MOST_CLASSES:
        nearest = min(range(1, len(kept)), key=lambda k: kept[k] - kept[k - 1])
        del kept[nearest]
    return kept
