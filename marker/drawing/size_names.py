"""Where the lines of nested sizes are named: on leaders beside them, where they lie apart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.canvas.lettering import FIGURE_RISE
from marker.canvas.pen import BLACK, PAPER_WHITE, Pen
from marker.geometry.arrays import FloatArray

_PLACES = 72  # around the outermost line
_DOT, _LEADER = 0.05, 0.018  # of the size of the names, mm to the point
_BEYOND = (3.0, 6.0, 10.0)  # from the outermost line to the names
_CLEAR_MM = 0.5
_UNEVEN, _ENOUGH_MM, _FAR = 0.2, 2.5, 0.01


@dataclass(frozen=True)
class SizeName:
    """A size, the point of its line that it names, and the middle of its name; paper mm."""

    size: str
    point: FloatArray
    at: FloatArray


def named_sizes(
    lines: Mapping[str, FloatArray], room: BaseGeometry, size_pt: float, least_mm: float
) -> tuple[SizeName, ...]:
    """A name for each size, in a row beside the lines where they lie farthest apart; none where
    there is no room.

    lines : size -> closed outline (n, 2), paper mm. room : where names may stand. least_mm : nearer
    lines are not told apart.
    """
    rings = {size: shapely.LinearRing(line) for size, line in lines.items()}
    shapely.prepare(list(rings.values()))
    crossed = shapely.union_all(list(rings.values()))
    across = float(np.ptp(np.vstack(list(lines.values())), axis=0).max())
    step = max(text_width(size, size_pt, bold=True) for size in lines) + 1.0
    high = FIGURE_RISE * size_pt * MM_PER_PT
    best: tuple[SizeName, ...] = ()
    widest = least_mm
    for base, normal in _stations(crossed, room):
        row = _row(rings, base, normal, (step, high + 0.8), across / 2)
        if row is None or row[1] <= widest or _apart(rings, row[0]) <= widest:
            continue
        for beyond in _BEYOND:
            named = _placed(row[0], normal, beyond)
            boxes = [_box(each, size_pt) for each in named]
            leaders = [shapely.LineString([each.point, each.at]) for each in named]
            whole = shapely.union_all([*boxes, *leaders])
            words = shapely.union_all([box.buffer(_CLEAR_MM) for box in boxes])
            if room.contains(whole) and not words.intersects(crossed):
                best, widest = named, min(row[1], _apart(rings, row[0]))
                break
    return best


def draw_size_names(pen: Pen, names: tuple[SizeName, ...], size_pt: float) -> None:
    """Each name with its leader and a dot on its line."""
    for each in names:
        leader = np.array([each.point, each.at])
        pen.lines([leader], _LEADER * size_pt, BLACK, name="size leader")
        pen.fill(shapely.Point(each.point).buffer(_DOT * size_pt), BLACK)
        pen.fill(_box(each, size_pt), PAPER_WHITE)
        x, y = each.at
        drop = FIGURE_RISE * size_pt * MM_PER_PT / 2
        pen.text(x, y - drop, each.size, size_pt, bold=True, align="center")


def _stations(crossed: BaseGeometry, room: BaseGeometry) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Points around the outermost line, each with the direction square out of it, in the room."""
    hull = shapely.union_all(list(shapely.get_parts(shapely.polygonize([shapely.node(crossed)]))))
    for part in shapely.get_parts(hull):
        ring = part.exterior
        for share in np.arange(_PLACES) / _PLACES:
            at = ring.length * share
            near = shapely.get_coordinates(
                [ring.interpolate((at + by) % ring.length) for by in (-0.5, 0.0, 0.5)]
            )
            way = near[2] - near[0]
            length = float(np.hypot(*way))
            if length < 0.9 or not room.intersects(shapely.Point(near[1])):
                continue  # at a corner
            out = np.array([way[1], -way[0]]) / length
            yield near[1], out if ring.is_ccw else -out


def _row(
    rings: Mapping[str, shapely.LinearRing],
    base: FloatArray,
    normal: FloatArray,
    step: tuple[float, float],
    reach: float,
) -> tuple[list[tuple[str, FloatArray]], float] | None:
    """Where each size is met going square in from the outermost line, on a ray of its own, and how
    good the place is. None where one is not met.

    That is the least distance between two of them along the way, up to what is enough. It is less
    where some are met much later than others, on another edge, and where leaders are long.

    step : width and height that a name takes.
    """
    tangent = np.array([-normal[1], normal[0]])
    apart = min(step[k] / abs(tangent[k]) for k in (0, 1) if abs(tangent[k]) > 1e-9)
    depths, points = [], []
    order = sorted(rings, key=lambda size: rings[size].distance(shapely.Point(base)))
    for number, size in enumerate(order):
        start = base + (number - (len(order) - 1) / 2) * apart * tangent + 2.0 * normal
        ray = shapely.LineString([start, start - reach * normal])
        met = shapely.get_coordinates(rings[size].intersection(ray))
        if not len(met):
            return None
        depth = (start - met) @ normal
        nearest = int(np.argmin(depth))
        depths.append(float(depth[nearest]))
        points.append(met[nearest])
    gaps = np.diff(np.sort(depths))
    worth = float(gaps.min() - _UNEVEN * (gaps.max() - gaps.min()))
    return list(zip(order, points, strict=True)), min(worth, _ENOUGH_MM) - _FAR * float(gaps.sum())


def _apart(rings: Mapping[str, shapely.LinearRing], row: Sequence[tuple[str, FloatArray]]) -> float:
    """How near the line of another size comes to a point that is named, at the nearest."""
    return min(
        float(ring.distance(shapely.Point(point)))
        for size, point in row
        for other, ring in rings.items()
        if other != size
    )


def _placed(
    row: list[tuple[str, FloatArray]], normal: FloatArray, beyond: float
) -> tuple[SizeName, ...]:
    """The names in a line square to the leaders, beyond the outermost point."""
    outermost = max(float(point @ normal) for _, point in row)
    return tuple(
        SizeName(size, point, point + (outermost + beyond - float(point @ normal)) * normal)
        for size, point in row
    )


def _box(name: SizeName, size_pt: float) -> BaseGeometry:
    wide = text_width(name.size, size_pt, bold=True) / 2 + 0.3
    high = FIGURE_RISE * size_pt * MM_PER_PT / 2 + 0.3
    x, y = name.at
    box: BaseGeometry = shapely.box(x - wide, y - high, x + wide, y + high)
    return box
