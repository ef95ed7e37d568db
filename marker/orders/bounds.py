"""What no plan can do better than, by counting alone."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from marker.orders.lengths import Lengths
from marker.orders.order import EXACT, CutOrder, Limits

LARGE_PRIME = 1_000_003
"""The rank modulo any prime is at most the rank."""


def fullest(order: CutOrder, limits: Limits, lengths: Lengths | None) -> int:
    """Garments that the fullest marker could hold."""
    if limits.table_mm is None or lengths is None:
        return limits.max_garments
    room = limits.table_mm - lengths.ends_on_table_mm
    smallest = min(lengths.garment_mm[size] for size in order.sizes)
    estimated = (room * lengths.layers - lengths.base_mm) // max(smallest, 1)
    laid = [
        sum(n for _, n in mix)
        for mix in lengths.known
        if lengths.on_table_mm(dict(mix)) <= limits.table_mm
    ]
    return min(limits.max_garments, max([estimated, *laid]))


def fewest_plies(order: CutOrder, holds: int) -> int:
    """A ply of the fullest marker cuts `holds` garments of one colour."""
    return sum(-(-order.garments_of(colour) // holds) for colour in order.colours)


def fewest_markers(order: CutOrder, holds: int) -> int:
    """Of different mixes: every size lies in one; cut exactly, there are as many as the order's
    rank."""
    return max(_rank(order), -(-len(order.sizes) // holds))


def fewest_lays(order: CutOrder, limits: Limits, holds: int) -> int:
    """As many as markers, and as the plies need. And a garment's place in a marker cuts no more of
    its size than a lay has plies. So each size needs whole places."""
    markers, highest = fewest_markers(order, holds), limits.max_plies
    if highest is None:
        return markers
    places = sum(-(-wanted // highest) for wanted in order.by_size.values())
    return max(markers, -(-fewest_plies(order, holds) // highest), -(-places // holds))


def _rank(order: CutOrder) -> int:
    """Cut exactly, the order is the sum of one matrix of rank 1 a mix; else 1."""
    if order.over_cut != EXACT:
        return 1
    wanted = [[order.least(c, s) for s in order.sizes] for c in order.colours]
    return max(1, rank_modulo(np.array(wanted), LARGE_PRIME))


def least_cost_mm(order: CutOrder, lengths: Lengths, holds: int) -> int:
    """Of cloth, plies spread and markers made.

    Every garment takes its own length, every ply the rest; no mix saves more than the best. Nor
    does any ply take less, for what its garments take, than the best known or estimated.
    """
    own = sum(
        order.least(colour, size) * lengths.garment_mm[size]
        for colour in order.colours
        for size in order.sizes
    )
    saved = [lengths.estimate(dict(mix)) - laid for mix, laid in lengths.known.items()]
    a_ply = _fixed_mm(lengths) - max([0, *saved])
    rest = a_ply * fewest_plies(order, holds) if a_ply >= 0 else -own
    plies = max(0, own + rest, int(own * _least_share(order, lengths)))
    return plies + lengths.marker_cost_mm * fewest_markers(order, holds)


def _fixed_mm(lengths: Lengths) -> int:
    """What any ply costs beside what its garments take by the estimate."""
    return lengths.base_mm + lengths.end_loss_mm + lengths.ply_cost_mm


def _least_share(order: CutOrder, lengths: Lengths) -> float:
    """The least that a ply takes, of what its garments take by the estimate."""
    fixed = _fixed_mm(lengths)
    least = min(lengths.garment_mm[size] for size in order.sizes)
    shares = [1.0 if fixed >= 0 or least <= 0 else 1.0 + fixed / least]
    for mix, laid in lengths.known.items():
        own = sum(count * lengths.garment_mm.get(size, 0) for size, count in mix)
        if own > 0:
            shares.append((laid + lengths.end_loss_mm + lengths.ply_cost_mm) / own)
    return min(shares)


def most_plies(order: CutOrder, limits: Limits, colour: str) -> int:
    """More plies of a colour in one lay would cut too many, or more than help."""
    demands = [order.least(colour, size) for size in order.sizes]
    caps = [order.most(colour, size) for size in order.sizes]
    useful = max(demands) if None in caps else max(cap for cap in caps if cap is not None)
    return useful if limits.max_plies is None else min(useful, limits.max_plies)


def rank_modulo(matrix: npt.NDArray[np.int64], prime: int) -> int:
    """Rank of a matrix of whole numbers modulo a prime, by elimination."""
    left, rank = matrix % prime, 0
    for column in range(left.shape[1]):
        rows = np.flatnonzero(left[rank:, column])
        if not len(rows):
            continue
        pivot = rank + int(rows[0])
        left[[rank, pivot]] = left[[pivot, rank]]
        left[rank] = left[rank] * pow(int(left[rank, column]), -1, prime) % prime
        others = left[rank + 1 :]
        others -= others[:, column : column + 1] * left[rank]
        others %= prime
        rank += 1
    return rank
