"""Do pieces lie clear of one another and of flaws, on the cloth or remnant?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from marker.cloth.stock import Flaw, Remnant
from marker.judge.finding import Code, Finding
from marker.judge.laid_pieces import LaidPiece
from marker.tolerances import JUDGED_MM
from marker.units import cut_length, fine_area, fine_length

_SHAPES_AT_ONCE, _PAIRS_AT_ONCE = 32, 1_000
_Shapes = NDArray[np.object_]
_Indices = NDArray[np.intp]


def pair_findings(laid: Sequence[LaidPiece], gap_mm: float, count: int) -> Iterator[Finding]:
    """An OVERLAP for each pair that lies over each other, a GAP for each that lies too close.

    Two pieces overlap when a point that both cover lies deeper than the tolerance in either. That
    is when one piece, shrunk by the tolerance, still meets the other.
    If a move of at most the tolerance would part them, every such point is that close to both
    edges: pieces that touch or lap by rounding are never reported. Shrinking each in turn finds
    a point of one deep in the other and a thin strip across another, however short or narrow
    the lap. A piece thinner than twice the tolerance is seen through the other one.
    Cloth inside a cut-out is free: a piece may lie there.
    count : only the first so many are pieces; what follows are these again, one turn around a
        tube, of which no two are compared.
    """
    shapes = np.array([item.shape for item in laid], dtype=object)
    for first, second in _near(shapes, gap_mm, count):
        lapped = _lapped(shapes, first, second)
        distances = shapely.distance(shapes[first], shapes[second])
        for i, j, laps, distance in zip(first, second, lapped, distances, strict=True):
            who = (laid[i].label, laid[j].label)
            if laps:
                yield _overlap(who, shapely.intersection(shapes[i], shapes[j]))
            elif distance < gap_mm - JUDGED_MM:
                said = f"{fine_length(distance)} apart, the gap is {cut_length(gap_mm)}"
                near = shapely.get_point(shapely.shortest_line(shapes[i], shapes[j]), 0)
                yield Finding(Code.GAP, who, said, (near.x, near.y))


def _near(shapes: _Shapes, gap_mm: float, count: int) -> Iterator[tuple[_Indices, _Indices]]:
    """The pairs that touch or lie nearer than the gap, a few at a time: in a heap all pairs do."""
    tree = STRtree(shapes)
    for start in range(0, count, _SHAPES_AT_ONCE):
        some = shapes[start : min(start + _SHAPES_AT_ONCE, count)]
        first, second = tree.query(some, predicate="dwithin", distance=gap_mm)
        once = first + start < second
        first, second = first[once] + start, second[once]
        for k in range(0, len(first), _PAIRS_AT_ONCE):
            yield first[k : k + _PAIRS_AT_ONCE], second[k : k + _PAIRS_AT_ONCE]


def _lapped(shapes: _Shapes, first: _Indices, second: _Indices) -> NDArray[np.bool_]:
    """Whether each pair lies over each other."""
    shrunk = shapely.buffer(shapes, -JUDGED_MM)
    deep = shapely.area(shapely.intersection(shrunk[first], shapes[second]))
    deep += shapely.area(shapely.intersection(shapes[first], shrunk[second]))
    return np.asarray(deep > 0)


def _overlap(who: tuple[str, str], shared: BaseGeometry) -> Finding:
    """Measured by the widest circle that fits the largest patch both cover."""
    largest = max(shapely.get_parts(shared), key=lambda part: part.area)
    widest = shapely.maximum_inscribed_circle(largest, tolerance=JUDGED_MM / 10)
    centre = shapely.get_point(widest, 0)
    said = (
        f"lie over each other, {fine_area(shared.area)} in all, "
        f"{fine_length(2 * widest.length)} across at the widest"
    )
    return Finding(Code.OVERLAP, who, said, (centre.x, centre.y))


def flaw_findings(laid: Sequence[LaidPiece], flaws: Sequence[Flaw]) -> Iterator[Finding]:
    """A FLAW for each piece that covers some of a flaw, deeper than the tolerance inside either of
    them. A flaw inside a cut-out is cut away."""
    for flaw in flaws:
        spoiled = Polygon(flaw.outline)
        for item in laid:
            if _covers(item.shape, spoiled):
                shared = shapely.intersection(item.shape, spoiled)
                said = f"{fine_area(shared.area)} of {flaw.name!r} lie in it"
                at = shared.representative_point()
                yield Finding(Code.FLAW, (item.label,), said, (at.x, at.y))


def _covers(piece: Polygon, flaw: Polygon) -> bool:
    """Whether they share a point that lies deep in one of them; neither is wider than the other
    everywhere, so each is shrunk in turn."""
    if not piece.intersects(flaw):
        return False
    deep = piece.buffer(-JUDGED_MM).intersection(flaw).area
    return bool(deep + piece.intersection(flaw.buffer(-JUDGED_MM)).area > 0)


def remnant_findings(laid: Sequence[LaidPiece], remnant: Remnant | None) -> Iterator[Finding]:
    """An OFF_CLOTH for each piece that reaches over an edge or a hole of the remnant by more than
    the tolerance. A hole inside a cut-out does no harm."""
    if remnant is None:
        return
    cloth = Polygon(remnant.outline, remnant.holes)
    within = cloth.buffer(JUDGED_MM)
    for item in laid:
        beyond = shapely.difference(item.shape, within)
        if beyond.area > 0:
            at = beyond.representative_point()
            said = f"{fine_area(item.shape.difference(cloth).area)} of it lie off {remnant.name!r}"
            yield Finding(Code.OFF_CLOTH, (item.label,), said, (at.x, at.y))
