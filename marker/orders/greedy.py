"""First plans, built in a moment, for the search to better."""

from __future__ import annotations

from collections.abc import Mapping

from marker.orders.bounds import fullest, most_plies
from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Lay, Limits, Plan


def first_plans(order: CutOrder, limits: Limits, lengths: Lengths | None) -> list[Plan]:
    """Those that keep all limits. Every garment must fit the table by itself."""
    plans = [exact_plan(order, limits, lengths)]
    if limits.max_markers is not None:
        plans.append(even_plan(order, limits, lengths, limits.max_markers))
    return [plan for plan in plans if _keeps(plan, order, limits)]


def exact_plan(order: CutOrder, limits: Limits, lengths: Lengths | None) -> Plan:
    """A plan that cuts the order exactly and keeps all limits but the number of markers.

    One marker after another is filled from what is still to be cut. Each lay is of one colour; of
    all heights that fit some size it takes the one that cuts most.
    """
    lays = []
    for colour in order.colours:
        left = {size: order.least(colour, size) for size in order.sizes}
        highest = most_plies(order, limits, colour)
        while any(left.values()):
            heights = {min(number, highest) for number in left.values() if number}
            options = [_lay(colour, height, left, limits, lengths) for height in sorted(heights)]
            lay = max(options, key=lambda option: option.cut)
            lays.append(lay)
            for size, count in lay.garments.items():
                left[size] -= lay.height * count
    return tuple(sorted(lays, key=lambda lay: -lay.height))


def _lay(
    colour: str, height: int, left: Mapping[str, int], limits: Limits, lengths: Lengths | None
) -> Lay:
    """A lay of this height, its marker filled garment by garment with what is wanted most."""
    garments: dict[str, int] = {}
    while sum(garments.values()) < limits.max_garments:
        wanted = [
            size for size, number in left.items() if number >= height * (garments.get(size, 0) + 1)
        ]
        wanted.sort(key=lambda size: height * garments.get(size, 0) - left[size])
        fuller = [garments | {size: garments.get(size, 0) + 1} for size in wanted]
        fitting = next((mix for mix in fuller if on_table(mix, limits, lengths)), None)
        if fitting is None:
            break
        garments = fitting
    return Lay({colour: height}, garments)


def even_plan(order: CutOrder, limits: Limits, lengths: Lengths | None, markers: int) -> Plan:
    """A plan that cuts at least the order, in so many markers if they hold it at all.

    The places in all markers go one by one to the size that still takes most plies. Those that
    take most then lie together, in lays of all colours.
    """
    places = _places(order, markers * fullest(order, limits, lengths))
    by_plies = sorted(order.sizes, key=lambda size: -sum(_plies(order, size, places).values()))
    mixes: list[dict[str, int]] = [{}]
    for size in [each for each in by_plies for _ in range(places[each])]:
        fuller = mixes[-1] | {size: mixes[-1].get(size, 0) + 1}
        if sum(fuller.values()) <= limits.max_garments and on_table(fuller, limits, lengths):
            mixes[-1] = fuller
        else:
            mixes.append({size: 1})
    return tuple(_high_enough(order, garments, places) for garments in mixes)


def _places(order: CutOrder, most: int) -> dict[str, int]:
    """Size -> how often it lies in the markers, at least once."""
    places = dict.fromkeys(order.sizes, 1)
    for _ in range(most - len(places)):
        size = max(places, key=lambda size: sum(_plies(order, size, places).values()))
        if places[size] == max(order.least(colour, size) for colour in order.colours):
            break
        places[size] += 1
    return places


def _plies(order: CutOrder, size: str, places: Mapping[str, int]) -> dict[str, int]:
    """Colour -> plies of each marker, shared evenly by the places of the size."""
    return {colour: -(-order.least(colour, size) // places[size]) for colour in order.colours}


def _high_enough(order: CutOrder, garments: Mapping[str, int], places: Mapping[str, int]) -> Lay:
    """The lay that cuts what the places of each size in it have to."""
    asked = [_plies(order, size, places) for size in garments]
    highest = {colour: max(plies[colour] for plies in asked) for colour in order.colours}
    return Lay({colour: plies for colour, plies in highest.items() if plies}, garments)


def _keeps(plan: Plan, order: CutOrder, limits: Limits) -> bool:
    """Whether it has no more markers, plies and garments than allowed."""
    if limits.max_markers is not None and len(plan) > limits.max_markers:
        return False
    if limits.max_plies is not None and any(lay.height > limits.max_plies for lay in plan):
        return False
    for colour in order.colours:
        for size in order.sizes:
            cut = sum(lay.plies.get(colour, 0) * lay.garments.get(size, 0) for lay in plan)
            most = order.most(colour, size)
            if most is not None and cut > most:
                return False
    return True


def on_table(garments: Mapping[str, int], limits: Limits, lengths: Lengths | None) -> bool:
    """Whether a marker is no longer than the table."""
    if limits.table_mm is None or lengths is None:
        return True
    return lengths.of(garments) + lengths.end_loss_mm <= limits.table_mm
