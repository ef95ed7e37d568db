"""Do points that are sewn together show the same place of the repeat? Do borders meet?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np
import shapely
from shapely.affinity import rotate, scale, translate

from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Axis, Bars, Side
from marker.geometry.arrays import FloatArray
from marker.judge.finding import Code, Finding
from marker.judge.laid_pieces import LaidPiece
from marker.pattern.repeats.match import Match, MatchPoint, meets
from marker.tolerances import MATCHED_MM
from marker.units import fine_length

_Spot = tuple[LaidPiece, MatchPoint]


def match_findings(laid: Sequence[LaidPiece], cloth: Cloth) -> Iterator[Finding]:
    """A MATCH for each two points sewn together that show different places of the repeat, and for
    each first point that is not where its match says."""
    for match in _matches(laid):
        for axis in match.axes:
            bars = cloth.repeat.on(axis)
            if bars is None:
                yield Finding(Code.MATCH, (), f"{match.name}: {cloth.name} has no repeat {axis}")
                continue
            for first, second in _sewn_together(laid, match):
                yield from _apart(match, axis, bars, first, second)
            if axis in match.at_mm:
                for first in _spots(laid, match, 0):
                    yield from _misplaced(match, axis, bars, first)


def _matches(laid: Sequence[LaidPiece]) -> list[Match]:
    every = {each.match.number: each.match for item in laid for each in item.piece.match_points}
    return list(every.values())


def _spots(laid: Sequence[LaidPiece], match: Match, place: int) -> list[_Spot]:
    return [
        (item, each)
        for item in laid
        for each in item.piece.match_points
        if each.match.number == match.number and each.place == place
    ]


def _sewn_together(laid: Sequence[LaidPiece], match: Match) -> Iterator[tuple[_Spot, _Spot]]:
    for first, second in product(_spots(laid, match, 0), _spots(laid, match, 1)):
        sides = (point.laid_side(item.placement.mirrored) for item, point in (first, second))
        if first[0].placement.garment == second[0].placement.garment and meets(*sides):
            yield first, second


def _apart(match: Match, axis: Axis, bars: Bars, first: _Spot, second: _Spot) -> Iterator[Finding]:
    here, there = _on_cloth(first), _on_cloth(second)
    ways = _turned_back(first[0]), _turned_back(second[0])
    who = first[0].label, second[0].label
    if not bars.even and ways[0] != ways[1]:
        said = f"{match.name}: they point opposite ways on an uneven repeat"
        yield Finding(Code.MATCH, who, said, _xy(here))
        return
    seen, wanted = (
        _seen(axis, bars, at, back) for at, back in zip((here, there), ways, strict=True)
    )
    off = _round_off(seen - wanted, bars.every_mm)
    if abs(off) > MATCHED_MM:
        said = f"{match.name}: their points lie {fine_length(abs(off))} apart in the repeat {axis}"
        yield Finding(Code.MATCH, who, said, _xy(here))


def _misplaced(match: Match, axis: Axis, bars: Bars, first: _Spot) -> Iterator[Finding]:
    item, point = first
    if item.placement.mirrored or point.side < 0:
        return
    here = _on_cloth(first)
    off = _round_off(_seen(axis, bars, here, _turned_back(item)) - match.at_mm[axis], bars.every_mm)
    if abs(off) > MATCHED_MM:
        apart = fine_length(abs(off))
        said = f"{match.name}: its point lies {apart} from its place in the repeat {axis}"
        yield Finding(Code.MATCH, (item.label,), said, _xy(here))


def _seen(axis: Axis, bars: Bars, at: FloatArray, turned_back: bool) -> float:
    """From where a repeat begins to a point of the cloth, in the direction the piece is worn."""
    beyond = float(at[0 if axis is Axis.ALONG else 1]) - bars.begins_mm
    return -beyond if turned_back else beyond


def _round_off(mm: float, every_mm: float) -> float:
    """The distance to the nearest whole repeat."""
    return mm - every_mm * round(mm / every_mm)


def _turned_back(item: LaidPiece) -> bool:
    """Whether the allowed turn that the piece is nearest to points it back."""
    degrees = item.placement.rotation_deg
    return min(item.piece.turns, key=lambda turn: abs((degrees - turn + 180) % 360 - 180)) >= 180


def _on_cloth(spot: _Spot) -> FloatArray:
    x, y = _laid(spot[0], spot[1].point[np.newaxis])[0]
    return np.array([x, y])


def _laid(item: LaidPiece, points: FloatArray) -> FloatArray:
    """Points of the cut piece, (n, 2), where its placement lays them."""
    drawn = shapely.MultiPoint(points)
    if item.placement.mirrored:
        drawn = scale(drawn, 1.0, -1.0, origin=(0, 0))
    turned = rotate(drawn, item.placement.rotation_deg, origin=(0, 0))
    found: FloatArray = shapely.get_coordinates(
        translate(turned, item.placement.x_mm, item.placement.y_mm)
    )
    return found


def _xy(point: FloatArray) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def border_findings(laid: Sequence[LaidPiece], cloth: Cloth) -> Iterator[Finding]:
    """A BORDER for each edge that lies off its border, or has its piece on the wrong side of it."""
    border = cloth.border
    if border is None:
        return
    line = border.across_mm(cloth.usable_width_mm)
    for item in laid:
        if item.piece.border is None:
            continue
        ends = _laid(item, item.piece.border)
        off = float(np.abs(ends[:, 1] - line).max())
        if off > MATCHED_MM:
            said = f"its border edge lies {fine_length(off)} from the border"
            yield Finding(Code.BORDER, (item.label,), said, _xy(ends[0]))
        above = item.shape.centroid.y > float(ends[:, 1].mean())
        if above != (border.side is Side.NEAR):
            said = "it lies on the selvage's side of the border"
            yield Finding(Code.BORDER, (item.label,), said, _xy(ends[0]))
