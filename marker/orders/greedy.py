"""A first plan, by filling one marker after another from what is still to be cut."""

from __future__ import annotations

from collections.abc import Mapping

from marker.orders.bounds import most_plies
from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Lay, Limits


def first_plan(order: CutOrder, limits: Limits, lengths: Lengths | None) -> tuple[Lay, ...]:
    """A plan that cuts the order exactly and keeps all limits but the number of markers.

    Each lay is of one colour; of all heights that fit some size it takes the one that cuts most.
    Every garment must fit the table by itself.
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


def on_table(garments: Mapping[str, int], limits: Limits, lengths: Lengths | None) -> bool:
    """Whether a marker is no longer than the table."""
    if limits.table_mm is None or lengths is None:
        return True
    return lengths.of(garments) + lengths.end_loss_mm <= limits.table_mm
