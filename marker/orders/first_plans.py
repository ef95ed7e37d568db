"""First plans, built in a moment: at random, or, for few markers, filled evenly.

At random, lay follows lay, each cutting much of what is still wanted. A marker grows garment by
garment, in the size that raises what its lay would cut by most. Each guess is blurred a little.
Every colour gets the plies that it can use. A randomised greedy construction (Feo & Resende 1995,
"Greedy randomized adaptive search procedures", from memory).
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from marker.orders.bounds import fullest
from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Lay, Limits, Plan
from marker.orders.table import CutTable, IntArray, on_table

BLUR = 0.07
"""Share by which the value of a size may be guessed too low."""


def random_plan(
    table: CutTable, rng: np.random.Generator, tries: int
) -> tuple[list[IntArray], list[IntArray]]:
    """Mixes and plies of lays that cut what is wanted within all limits but that on markers.

    tries : markers grown for each lay, of which the best is taken.
    """
    wanted, room = table.least.copy(), table.most.copy()
    mixes, plies = [], []
    while (wanted > 0).any():
        options = [_grown(table, wanted, room, rng) for _ in range(tries)]
        _, mix, of = max(options, key=lambda option: option[0])
        cut = of[:, np.newaxis] * mix
        wanted, room = np.maximum(wanted - cut, 0), room - cut
        mixes.append(mix)
        plies.append(of)
    return mixes, plies


def _grown(
    table: CutTable, wanted: IntArray, room: IntArray, rng: np.random.Generator
) -> tuple[float, IntArray, IntArray]:
    """What a lay cuts of what is wanted, its mix, and its plies."""
    mix = np.zeros(wanted.shape[1], dtype=np.int64)
    best = (0.0, mix, np.zeros(wanted.shape[0], dtype=np.int64))
    by_size = wanted.sum(axis=0)
    first = int(rng.choice(len(by_size), p=by_size / by_size.sum()))
    for count in range(table.holds):
        values, plies = _values(table, mix, wanted, room)
        blurred = values * rng.uniform(1 - BLUR, 1, len(values))
        size = int(blurred.argmax()) if count else first
        larger = mix.copy()
        larger[size] += 1
        if values[size] <= best[0] or not table.allows(larger):
            break
        mix = larger
        best = (float(values[size]), mix, plies[:, size])
    return best


def _values(
    table: CutTable, mix: IntArray, wanted: IntArray, room: IntArray
) -> tuple[npt.NDArray[np.float64], IntArray]:
    """For one garment more of each size: what the lay then cuts of what is wanted, and its plies.

    Plies are (colours, sizes). Colours that cut most a ply come first where the lay is too high.
    """
    sizes = len(mix)
    mixes = mix + np.eye(sizes, dtype=np.int64)  # [size added, size]
    in_mix = np.maximum(mixes, 1)
    fits = np.where(mixes > 0, room[:, np.newaxis] // in_mix, table.height).min(axis=2)
    useful = np.where(mixes > 0, -(-wanted[:, np.newaxis] // in_mix), 0).max(axis=2)
    plies = np.minimum(fits, useful)
    cut = np.minimum(plies[:, :, np.newaxis] * mixes, wanted[:, np.newaxis]).sum(axis=2)
    rate = cut / np.maximum(plies, 1)
    order = np.argsort(-rate, axis=0, kind="stable")
    sorted_plies = np.take_along_axis(plies, order, axis=0)
    before = np.cumsum(sorted_plies, axis=0) - sorted_plies
    kept = np.clip(table.height - before, 0, sorted_plies)
    np.put_along_axis(plies, order, kept, axis=0)
    return (rate * plies).sum(axis=0), plies


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
