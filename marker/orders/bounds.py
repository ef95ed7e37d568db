"""What no plan can do better than, by counting alone."""

from __future__ import annotations

from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Limits


def fullest(order: CutOrder, limits: Limits, lengths: Lengths | None) -> int:
    """Garments that the fullest marker could hold."""
    if limits.table_mm is None or lengths is None:
        return limits.max_garments
    room = limits.table_mm - lengths.end_loss_mm
    smallest = min(lengths.garment_mm[size] for size in order.sizes)
    estimated = (room - lengths.base_mm) // max(smallest, 1)
    laid = [sum(n for _, n in mix) for mix, length in lengths.known.items() if length <= room]
    return min(limits.max_garments, max([estimated, *laid]))


def fewest_plies(order: CutOrder, holds: int) -> int:
    """A ply of the fullest marker cuts `holds` garments of one colour."""
    return sum(-(-order.garments_of(colour) // holds) for colour in order.colours)


def fewest_lays(order: CutOrder, limits: Limits, holds: int) -> int:
    """Every size lies in some marker, and lays hold no more than their plies."""
    heights = 1 if limits.max_plies is None else -(-fewest_plies(order, holds) // limits.max_plies)
    return max(1, heights, -(-len(order.sizes) // holds))


def least_cloth_mm(order: CutOrder, lengths: Lengths, holds: int) -> int:
    """Every garment takes its own length, every ply the rest; no mix saves more than the best. Nor
    does any ply take less, for what its garments take, than the best known or estimated."""
    own = sum(
        order.least(colour, size) * lengths.garment_mm[size]
        for colour in order.colours
        for size in order.sizes
    )
    saved = [lengths.estimate(dict(mix)) - laid for mix, laid in lengths.known.items()]
    a_ply = lengths.base_mm + lengths.end_loss_mm - max([0, *saved])
    rest = a_ply * fewest_plies(order, holds) if a_ply >= 0 else -own
    return max(0, own + rest, int(own * _least_share(order, lengths)))


def _least_share(order: CutOrder, lengths: Lengths) -> float:
    """The least that a ply takes, of what its garments take by the estimate."""
    fixed = lengths.base_mm + lengths.end_loss_mm
    least = min(lengths.garment_mm[size] for size in order.sizes)
    shares = [1.0 if fixed >= 0 or least <= 0 else 1.0 + fixed / least]
    for mix, laid in lengths.known.items():
        own = sum(count * lengths.garment_mm.get(size, 0) for size, count in mix)
        if own > 0:
            shares.append((laid + lengths.end_loss_mm) / own)
    return min(shares)


def most_plies(order: CutOrder, limits: Limits, colour: str) -> int:
    """More plies of a colour in one lay would cut too many, or more than help."""
    demands = [order.least(colour, size) for size in order.sizes]
    caps = [order.most(colour, size) for size in order.sizes]
    useful = max(demands) if None in caps else max(cap for cap in caps if cap is not None)
    return useful if limits.max_plies is None else min(useful, limits.max_plies)
