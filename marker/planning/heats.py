"""Several searches of one marker at once, in heats.

A marker of several widths of the cloth is shortened in as many windows as there are searches, and
what they gain adds up. Of a shorter one the better layouts go on, each in several searches again
(successive halving: Jamieson & Talwalkar 2016, from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain
from typing import NamedTuple

import numpy as np

from marker import judge
from marker.judge import JudgeRefused
from marker.layout import CheckedLayout, Layout, PieceKey, Placement
from marker.placement.params import DEFAULT
from marker.placement.search.windows import ALONE, Share
from marker.tolerances import HAIR_MM, PROVEN_WITHIN_MM


class Start(NamedTuple):
    """Where a search begins. begun : what it goes on from. share : of the work on that."""

    begun: Layout | None
    share: Share


ANEW = Start(None, ALONE)


class Entrant(NamedTuple):
    """A search that takes part in a heat: of which marker, its number there, where it begins."""

    marker: int
    number: int
    start: Start


@dataclass
class Heats:
    """Several searches of each marker at once. best : its layouts, the shortest first."""

    markers: int
    best: list[list[CheckedLayout]] = field(init=False)

    def __post_init__(self) -> None:
        self.best = [[] for _ in range(self.markers)]

    def begin(self, heat: int, searches: int) -> list[Entrant]:
        """The searches of one heat, so many of each marker. What is proven rests."""
        return [
            Entrant(marker, number, self._start(heat, marker, number, searches))
            for number in range(searches)
            for marker, layouts in enumerate(self.best)
            if not layouts or not proven(layouts[0])
        ]

    def end(self, found_by: Sequence[tuple[Entrant, CheckedLayout]]) -> None:
        """What came of the searches of a heat that were done."""
        for marker in range(self.markers):
            found = [laid for search, laid in found_by if search.marker == marker]
            layouts = self.best[marker]
            if layouts and _is_long(layouts[0].layout):
                found.append(joined(layouts[0], found))
            layouts += found
            layouts.sort(key=lambda each: each.layout.length_mm)

    def _start(self, heat: int, marker: int, number: int, searches: int) -> Start:
        layouts = [each.layout for each in self.best[marker]]
        if not layouts:
            return ANEW
        if _is_long(layouts[0]):
            return Start(layouts[0], Share(number, searches))
        going_on = layouts[: max(1, searches >> heat)]
        return Start(going_on[number % len(going_on)], ALONE)


def proven(laid: CheckedLayout) -> bool:
    """Whether no layout of a marker is shorter by more than the usual tolerance."""
    layout = laid.layout
    return layout.length_mm <= layout.length_lower_bound_mm + PROVEN_WITHIN_MM


def joined(begun: CheckedLayout, found: Sequence[CheckedLayout]) -> CheckedLayout:
    """What all searches of one layout have gained together: the shortest layout, and the gain of
    each other search that moved different pieces, where the judge agrees."""
    every = sorted(found, key=lambda each: each.layout.length_mm)
    best = min((begun, *every[:1]), key=lambda each: each.layout.length_mm)
    gains = [gain for each in every if (gain := _Gain.of(begun.layout, each.layout))]
    bound = max(each.layout.length_lower_bound_mm for each in (begun, *found))
    apart: list[_Gain] = []
    for gain in gains:
        if not gain.meets(apart):
            apart.append(gain)
    if len(apart) < 2:
        return best
    whole = _judged(begun, apart, bound)
    if whole is not None:
        return whole
    kept = gains[:1]  # two that shared a window may have moved pieces into each other
    for gain in gains[1:]:
        together = None if gain.meets(kept) else _judged(begun, [*kept, gain], bound)
        if together is not None:
            best, kept = together, [*kept, gain]
    return best


def _judged(begun: CheckedLayout, gains: Sequence[_Gain], bound_mm: float) -> CheckedLayout | None:
    """The layout with all gains, or None where the judge refuses it."""
    together = replace(_together(begun.layout, gains), length_lower_bound_mm=bound_mm)
    try:
        return judge.check(together, begun.cut_pieces, begun.garments)
    except JudgeRefused:
        return None


class _Gain(NamedTuple):
    """What one search has gained.

    by : mm, so much nearer lies what follows the pieces that it moved. moved : where these are now.
    behind : the pieces that follow.
    """

    by: float
    moved: dict[PieceKey, Placement]
    behind: frozenset[PieceKey]

    @classmethod
    def of(cls, before: Layout, after: Layout) -> _Gain | None:
        """None where nothing is gained that could be put together with another gain."""
        by = before.length_mm - after.length_mm
        if by < HAIR_MM or before.spread != after.spread or before.unmatched_mm is not None:
            return None
        there = {each.key: each for each in _all(after)}
        moved, behind = {}, set()
        for each in _all(before):
            now = there[each.key]
            nearer, aside = each.x_mm - now.x_mm, each.y_mm - now.y_mm
            stays = each.rotation_deg == now.rotation_deg and abs(aside) < HAIR_MM
            if stays and abs(nearer - by) < HAIR_MM:
                behind.add(each.key)
            elif not stays or abs(nearer) > HAIR_MM:
                moved[each.key] = now
        return cls(by, moved, frozenset(behind))

    def meets(self, others: Sequence[_Gain]) -> bool:
        """Whether one of them moved a piece that this has moved."""
        return any(self.moved.keys() & other.moved.keys() for other in others)


def _together(layout: Layout, gains: Sequence[_Gain]) -> Layout:
    """The layout with all gains: each piece where the search that moved it has laid it, nearer by
    what was gained before it."""

    def placed(each: Placement) -> Placement:
        now = next((gain.moved[each.key] for gain in gains if each.key in gain.moved), each)
        by = sum(gain.by for gain in gains if each.key in gain.behind)
        outline = now.outline_mm - np.array([by, 0.0])
        return replace(now, x_mm=now.x_mm - by, outline_mm=outline)

    placements, spares = (
        tuple(placed(each) for each in every) for every in (layout.placements, layout.spares)
    )
    length = max(float(each.outline_mm[:, 0].max()) for each in (*placements, *spares))
    return replace(layout, placements=placements, spares=spares, length_mm=length)


def _all(layout: Layout) -> Iterator[Placement]:
    return chain(layout.placements, layout.spares)


def _is_long(layout: Layout) -> bool:
    """Whether it is searched by windows."""
    return layout.length_mm > DEFAULT.windows.long * layout.cloth.usable_width_mm
