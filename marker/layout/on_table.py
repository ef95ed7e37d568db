"""What lies on the table of a layout, seen from above: what the shears follow.

The table's frame is that of the flat cloth, but that x starts where the two plies do. That is at
the fold of a cloth folded crosswise, and without the lower length of one that was cut and turned.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import count

import numpy as np

from marker.cloth.folding import Image, Lane, image, lanes
from marker.cloth.spread import Spreading
from marker.geometry.arrays import FloatArray
from marker.layout import CheckedLayout, Layout, PieceKey, Placement

_NEAR_MM = 0.1


@dataclass(frozen=True)
class OnTable:
    """One outline to cut.

    upper : what is seen, where it lies on the flat cloth. lower : what is cut below it, if
    anything. unwanted : the one of the two that is a spare. fold : y of the fold that it lies on,
    half of it on either ply; above_fold : the half that is seen lies above it. along_mm : what x
    of the flat cloth is more than on the table. number : by which the diagram and the commands
    name it.
    """

    upper: Placement
    lower: Placement | None = None
    unwanted: Placement | None = None
    fold: float | None = None
    above_fold: bool = False
    along_mm: float = 0.0
    number: int = 0

    @property
    def wanted(self) -> tuple[Placement, ...]:
        """The copies that come of it, one or two."""
        both = (self.upper, self.lower)
        return tuple(each for each in both if each is not None and each is not self.unwanted)


def on_table(checked: CheckedLayout) -> tuple[OnTable, ...]:
    """All outlines to cut from a checked layout, each once, in the order of their numbers.

    They are numbered along the cloth when it is laid. Who moves pieces afterwards has the printed
    diagram in hand, so an outline that has a number keeps it.
    """
    return _outlines(checked.layout)


def numbers(layout: Layout) -> dict[PieceKey, int]:
    """The number of each piece of a layout that has been checked."""
    return {each.key: cut.number for cut in _outlines(layout) for each in cut.wanted}


def _outlines(layout: Layout) -> tuple[OnTable, ...]:
    if layout.spread.spreading.plies == 1:
        return _numbered(OnTable(placement) for placement in layout.placements)
    return _numbered(_on_two_plies(layout))


def _numbered(outlines: Iterable[OnTable]) -> tuple[OnTable, ...]:
    """Those without a number count on from the last, along the cloth. So does one of two that
    have the same."""
    kept: dict[int, OnTable] = {}
    others = []
    for each in sorted(outlines, key=_along_the_cloth):
        number = max(piece.number for piece in each.wanted)
        if number and number not in kept:
            kept[number] = each
        else:
            others.append(each)
    every = kept | dict(zip(count(max(kept, default=0) + 1), others, strict=False))
    return tuple(replace(every[number], number=number) for number in sorted(every))


def _along_the_cloth(each: OnTable) -> tuple[int, int, str, int, int]:
    """Where an outline begins, to a whole mm: pieces lie a hair apart in a layout that is stored
    and taken up again. Of a piece on the fold the half that is seen counts."""
    upper = each.upper
    low_x, low_y = upper.outline_mm.min(axis=0)
    low_y = max(low_y, each.fold) if each.fold is not None and each.above_fold else low_y
    start, across = round(float(low_x) - each.along_mm), round(float(low_y))
    return start, across, upper.piece, upper.garment, upper.copy


def _on_two_plies(layout: Layout) -> Iterator[OnTable]:
    spread = layout.spread
    crosswise = spread.two_ply_mm if spread.spreading is Spreading.FOLDED_CROSSWISE else 0.0
    beyond = spread.two_ply_mm if spread.spreading.ends_meet else 0.0
    below = []
    upper: list[tuple[Placement, Lane]] = []
    for placement in (*layout.placements, *layout.spares):
        x, y = _middle(placement, layout)
        if placement.outline_mm[:, 0].min() >= spread.one_ply_from_mm - _NEAR_MM:
            yield OnTable(placement, along_mm=beyond)
            continue
        fold, lane = _where(x, y, layout)
        if fold is not None:
            yield OnTable(placement, fold=fold, above_fold=lane is not None and fold == lane.low)
        elif lane is not None:
            upper.append((placement, lane))
        else:
            below.append(placement)
    for placement, lane in upper:
        mirror = image(spread, layout.cloth, lane)
        lower = next(each for each in below if _is_image(each, placement, mirror, layout))
        unwanted = [each for each in (placement, lower) if any(each is s for s in layout.spares)]
        yield OnTable(placement, lower, unwanted[0] if unwanted else None, along_mm=crosswise)


def _middle(placement: Placement, layout: Layout) -> FloatArray:
    """(2,) middle of the bounding box, on a tube within its first turn."""
    outline = placement.outline_mm
    middle: FloatArray = (outline.min(axis=0) + outline.max(axis=0)) / 2
    if layout.spread.spreading is Spreading.TUBE:
        middle[1] = (middle[1] + _NEAR_MM) % layout.cloth.usable_width_mm - _NEAR_MM
    return middle


def _where(x: float, y: float, layout: Layout) -> tuple[float | None, Lane | None]:
    """The fold that the middle of a piece lies on, and the lane of the upper ply; neither below."""
    spread, end = layout.spread, layout.spread.two_ply_mm
    seen = {Spreading.FOLDED_CROSSWISE: x > end, Spreading.CUT_AND_TURNED: x < end}
    for lane in lanes(spread.spreading, layout.cloth):
        for fold in lane.folds:
            if abs(y - fold) < _NEAR_MM:
                return fold, lane
        if lane.low < y < lane.high and seen.get(spread.spreading, True):
            return None, lane
    return None, None


def _is_image(lower: Placement, upper: Placement, mirror: Image, layout: Layout) -> bool:
    if (lower.piece, lower.size) != (upper.piece, upper.size):
        return False
    x, y = _middle(upper, layout)
    at = np.array([mirror.along * x + mirror.dx, mirror.across * y + mirror.dy])
    return bool(np.abs(_middle(lower, layout) - at).max() < _NEAR_MM)
