"""A layout carried over to another cloth, or to fewer pieces or garments, and judged again.

Search may find less on a wider cloth than on a narrower one. Where two layouts of one job are
compared, the better is therefore carried over, so that wider cloth, a freer nap or a piece less
never seem to need more.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from marker import judge
from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Side
from marker.cloth.spread import Spreading
from marker.judge import JudgeRefused
from marker.layout import CheckedLayout, Layout, Placement

_ON_FOLD = 1e-3
"""A piece whose middle is this near to a fold, in half turns of a tube, lies on it."""


def carried_over(
    checked: CheckedLayout, cloth: Cloth, pieces: Collection[str] | None = None
) -> CheckedLayout | None:
    """The layout on a cloth as wide or wider; None where the judge finds that it is none there.
    Nothing is proven of it: its lower bound is 0.

    pieces : names of those that are still wanted, None for all.
    """
    layout = checked.layout
    if cloth.start_is_free and layout.cloth.repeat.along:
        cloth = replace(cloth, repeat=replace(cloth.repeat, along=layout.cloth.repeat.along))
    wanted = tuple(p for p in checked.cut_pieces if pieces is None or p.name in pieces)
    names = {piece.name for piece in wanted}
    placements, spares = (
        tuple(_moved(each, layout, cloth) for each in every if each.piece in names)
        for every in (layout.placements, layout.spares)
    )
    length, unmatched = layout.length_mm, layout.unmatched_mm
    if len(wanted) < len(checked.cut_pieces):
        unmatched = None
        length = max(float(each.outline_mm[:, 0].max()) for each in (*placements, *spares))
    carried = replace(
        layout,
        cloth=cloth,
        placements=placements,
        spares=spares,
        length_mm=length,
        length_lower_bound_mm=0.0,
        unmatched_mm=unmatched,
    )
    try:
        return judge.check(carried, wanted, checked.garments)
    except JudgeRefused:
        return None


def of_fewer_garments(
    checked: CheckedLayout, garments: Sequence[str], bound_mm: float
) -> CheckedLayout | None:
    """What is left of a layout when only garments of these sizes stay, of each size those that
    reach least far. None where it has not as many, or the judge refuses what is left.

    bound_mm : a proven lower bound on the length of these garments.
    """
    layout = checked.layout
    reach = [0.0] * len(checked.garments)
    for each in layout.placements:
        furthest = float(each.outline_mm[:, 0].max())
        reach[each.garment - 1] = max(reach[each.garment - 1], furthest)
    numbers: dict[int, int] = {}  # garment there -> garment here
    for here, size in enumerate(garments, 1):
        there = [
            number
            for number, other in enumerate(checked.garments, 1)
            if other == size and number not in numbers
        ]
        if not there:
            return None
        numbers[min(there, key=lambda number: reach[number - 1])] = here
    placements, spares = (
        tuple(replace(p, garment=numbers[p.garment]) for p in every if p.garment in numbers)
        for every in (layout.placements, layout.spares)
    )
    left = replace(
        layout,
        placements=placements,
        spares=spares,
        length_mm=max(float(p.outline_mm[:, 0].max()) for p in (*placements, *spares)),
        length_lower_bound_mm=bound_mm,
        unmatched_mm=None,
    )
    pieces = tuple(piece for piece in checked.cut_pieces if piece.size in garments)
    try:
        return judge.check(left, pieces, tuple(garments))
    except JudgeRefused:
        return None


def _moved(placement: Placement, layout: Layout, cloth: Cloth) -> Placement:
    """The placement on the other cloth, as far from its fold or border as it was."""
    dy = _shift(placement, layout, cloth.usable_width_mm - layout.cloth.usable_width_mm)
    outline = placement.outline_mm + np.array([0.0, dy])
    return replace(placement, y_mm=placement.y_mm + dy, outline_mm=outline)


def _shift(placement: Placement, layout: Layout, wider_mm: float) -> float:
    """How far across the fold, or a border along the far selvage, has moved on cloth that is wider
    by so much."""
    spread, width, border = layout.spread, layout.cloth.usable_width_mm, layout.cloth.border
    x, y = (placement.outline_mm.min(axis=0) + placement.outline_mm.max(axis=0)) / 2
    if layout.cloth.tube and layout.cloth.tube.crease_mm:
        return _shift_between_creases(y / (width / 2), spread.spreading, wider_mm)
    if not spread.two_ply_mm or x > spread.one_ply_from_mm:
        return wider_mm if border and border.side is Side.FAR else 0.0
    match spread.spreading:
        case Spreading.FOLDED_LENGTHWISE:
            return wider_mm / 2
        case Spreading.DOUBLE_FOLD:
            return wider_mm / 4 if y < width / 2 else 3 * wider_mm / 4
        case Spreading.CUT_AND_TURNED:
            return wider_mm if x > spread.two_ply_mm else 0.0
        case Spreading.TUBE:
            return _shift_on_tube(y / (width / 2), wider_mm)
        case _:
            return 0.0


def _shift_on_tube(halves: float, wider_mm: float) -> float:
    """The same around a tube, for a piece whose middle lies so many half turns around it. What is
    on the upper ply keeps to the fold before it, its image on the lower to the fold behind it."""
    if abs(halves - round(halves)) < _ON_FOLD:
        return wider_mm / 2 * round(halves)
    return wider_mm * math.ceil(math.floor(halves) / 2)


def _shift_between_creases(halves: float, spreading: Spreading, wider_mm: float) -> float:
    """The same on a tube with creases, which no piece lies across, so that all between two of them
    moves together. Slit along one of them, or with its folds halfway between them."""
    slit = spreading is Spreading.SLIT_OPEN
    return wider_mm / 2 * (math.floor(halves) if slit else round(halves))
