"""What a layout leaves of the cloth: remnants worth keeping, and the largest rectangle in each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from marker.geometry.arrays import FloatArray
from marker.geometry.rectangles import largest_rectangle

LEAST_MM = 100.0
"""A remnant counts where it is this wide both ways: common practice, no source."""

CELL_MM = 10.0
MOST = 8
"""No more remnants and rectangles are listed."""


@dataclass(frozen=True)
class Remaining:
    """One part of the cloth that is left in one piece, mm and mm².

    outline : (n, 2) counter-clockwise, holes : (m, 2) each, where they lay on the cloth; narrower
        stretches are left off. rectangles : low and high corner, (2, 2) each, of the largest
        rectangle along the grain in it, then of the largest in the rest of it, and so on.
    """

    outline: FloatArray
    holes: tuple[FloatArray, ...]
    area_mm2: float
    rectangles: tuple[FloatArray, ...]


def remaining(cloth: BaseGeometry, covered: Sequence[BaseGeometry]) -> tuple[Remaining, ...]:
    """What is worth keeping of a cloth after the covered parts are cut out or spoiled, largest
    rectangle first.

    What is narrower than `LEAST_MM` is taken off by opening: shrunk by half of that and grown back
    (Serra 1982, 'Image analysis and mathematical morphology').
    """
    free = cloth.difference(shapely.unary_union([*covered]))
    half = LEAST_MM / 2
    opened = free.buffer(-half, join_style="mitre").buffer(half, join_style="mitre")
    kept = opened.intersection(free)
    parts = [part for part in shapely.get_parts(kept) if isinstance(part, shapely.Polygon)]
    found = [_remaining(part, boxes) for part in parts if (boxes := tuple(_rectangles(part)))]
    return tuple(sorted(found, key=_size, reverse=True)[:MOST])


def _rectangles(part: BaseGeometry) -> Iterator[FloatArray]:
    """Disjoint rectangles in a part, the largest of what is left each time."""
    for _ in range(MOST):
        box = largest_rectangle(part, CELL_MM, LEAST_MM)
        if box is None:
            return
        yield box
        part = part.difference(shapely.box(*box.ravel()))


def _remaining(part: shapely.Polygon, boxes: tuple[FloatArray, ...]) -> Remaining:
    turned = orient(part)
    return Remaining(
        outline=shapely.get_coordinates(turned.exterior)[:-1],
        holes=tuple(shapely.get_coordinates(hole)[:-1] for hole in turned.interiors),
        area_mm2=float(part.area),
        rectangles=boxes,
    )


def _size(one: Remaining) -> float:
    largest = one.rectangles[0]
    return float(np.prod(largest[1] - largest[0]))
