"""The slow twin of the planner: every plan of a tiny order, lay by lay."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from marker.orders.lengths import Lengths, Mix, mix
from marker.orders.order import CutOrder, Lay, Limits

State = tuple[int, ...]
Made = frozenset[Mix]
"""The markers made; left empty where they cost nothing."""


def least_by_lays(
    order: CutOrder, limits: Limits, lengths: Lengths | None, most_lays: int
) -> list[int | None]:
    """The fewest plies (least cost, mm, if lengths are given) of any plan of 1, 2, ... lays."""
    lays = [
        (_yields(order, lay), _cost(lay, lengths), mix(lay.garments))
        for lay in _lays(order, limits, lengths)
    ]
    a_marker = lengths.marker_cost_mm if lengths else 0
    nothing = (0,) * (len(order.colours) * len(order.sizes))
    reached: dict[tuple[State, Made], int] = {(nothing, frozenset()): 0}
    answers = []
    for _ in range(most_lays):
        further: dict[tuple[State, Made], int] = {}
        for (state, made), spent in reached.items():
            for yields, cost, marker in lays:
                after = _after(order, state, yields)
                if after is not None:
                    key = after, made | {marker} if a_marker else made
                    spends = spent + cost + a_marker * (marker not in made)
                    further[key] = min(further.get(key, spends), spends)
        reached = further
        answers.append(min((s for (at, _), s in reached.items() if _met(order, at)), default=None))
    return answers


def _lays(order: CutOrder, limits: Limits, lengths: Lengths | None) -> Iterator[Lay]:
    wanted = [order.least(colour, size) for colour in order.colours for size in order.sizes]
    highest = min(limits.max_plies or 99, 2 * max(wanted))
    heights = itertools.product(range(highest + 1), repeat=len(order.colours))
    mixes = itertools.product(range(limits.max_garments + 1), repeat=len(order.sizes))
    for plies, counts in itertools.product(list(heights), list(mixes)):
        lay = Lay(
            dict(zip(order.colours, plies, strict=True)),
            dict(zip(order.sizes, counts, strict=True)),
        )
        if not (1 <= lay.height <= highest and 1 <= sum(counts) <= limits.max_garments):
            continue
        table = limits.table_mm
        if table and lengths and lengths.on_table_mm(lay.garments) > table:
            continue
        yield lay


def _cost(lay: Lay, lengths: Lengths | None) -> int:
    if lengths is None:
        return lay.height
    return lengths.cloth_mm(lay) + lay.height * lengths.ply_cost_mm


def _yields(order: CutOrder, lay: Lay) -> State:
    return tuple(lay.plies[c] * lay.garments[s] for c in order.colours for s in order.sizes)


def _after(order: CutOrder, state: State, yields: State) -> State | None:
    """Garments cut after a lay; where any number may be cut, more than wanted is as wanted."""
    after = []
    pairs = [(colour, size) for colour in order.colours for size in order.sizes]
    for (colour, size), before, more in zip(pairs, state, yields, strict=True):
        most = order.most(colour, size)
        cut = before + more
        if most is not None and cut > most:
            return None
        after.append(cut if most is not None else min(cut, order.least(colour, size)))
    return tuple(after)


def _met(order: CutOrder, state: State) -> bool:
    wanted = [order.least(colour, size) for colour in order.colours for size in order.sizes]
    return all(cut >= least for cut, least in zip(state, wanted, strict=True))
