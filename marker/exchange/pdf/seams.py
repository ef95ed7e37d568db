"""Lines of joined pages carried on across the seams between them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from scipy.optimize import linear_sum_assignment

from marker.exchange.contours import chains, walked
from marker.exchange.pdf.pages import Drawn
from marker.exchange.pdf.places import SAME_MM, ring
from marker.geometry.arrays import FloatArray


def within(line: Drawn, low: FloatArray, high: FloatArray) -> Iterator[Drawn]:
    """What of a line lies between two corners (2,), which may be infinitely far."""
    points = ring(line)
    if (points >= low).all() and (points <= high).all():
        yield line
        return
    least, most = points.min(axis=0), points.max(axis=0)
    if len(points) < 2 or (most < low).any() or (least > high).any():
        return
    corners = np.clip([low, high], least - 1.0, most + 1.0)
    clipped = shapely.clip_by_rect(shapely.LineString(points), *corners.ravel())
    parts = [
        shapely.get_coordinates(part)
        for part in shapely.get_parts(clipped)
        if isinstance(part, shapely.LineString) and not part.is_empty
    ]
    if line.closed and len(parts) > 1 and np.array_equal(parts[0][0], parts[-1][-1]):
        parts[0] = np.concatenate([parts.pop(), parts[0][1:]])  # cut apart where it began
    for part in parts:
        yield replace(line, points=part, closed=False)


def paired(
    lines: Sequence[Drawn], one: range, other: range, axis: int, at: float
) -> dict[int, int]:
    """End 2k (start of line k) or 2k + 1 -> the end across the seam that it goes on at.

    Several may be cut at one place, as pieces that touch are. Then the direction says which goes on
    as which, then the looks. Of lines that lie on one another the order says it that they are drawn
    in.
    """
    here, there = (_ends_at(lines, part, axis, at) for part in (one, other))
    partner: dict[int, int] = {}
    if not here or not there:
        return partner
    places, ways = (np.array([end[k] for end in here]) for k in (1, 2))
    others, back = (np.array([end[k] for end in there]) for k in (1, 2))
    apart = np.abs(places[:, None, 1 - axis] - others[None, :, 1 - axis])
    turned = np.hypot(*(ways[:, None] + back[None]).transpose(2, 0, 1))
    looks, theirs = ([_look(lines[end[0] // 2]) for end in ends] for ends in (here, there))
    unlike = np.array([[look != their for their in theirs] for look in looks])
    order = np.abs(np.arange(len(here))[:, None] - np.arange(len(there))[None])
    cost = apart / SAME_MM + 4.0 * turned + unlike + 1e-6 * order
    cost += np.where(apart > 2 * SAME_MM, 1e3, 0.0)
    for row, column in zip(*linear_sum_assignment(cost), strict=True):
        if apart[row, column] <= 2 * SAME_MM:
            partner[here[row][0]], partner[there[column][0]] = there[column][0], here[row][0]
    return partner


def _look(line: Drawn) -> tuple[str, str, tuple[str, ...]]:
    return line.colour, line.dashes, line.layers


def _ends_at(
    lines: Sequence[Drawn], part: range, axis: int, at: float
) -> list[tuple[int, FloatArray, FloatArray]]:
    """(end, where, unit direction out of the line) of the ends of open lines that lie on a seam."""
    found = []
    for k in part:
        points = lines[k].points
        if lines[k].closed or len(points) < 2:
            continue
        for end, last, before in (
            (2 * k, points[0], points[1]),
            (2 * k + 1, points[-1], points[-2]),
        ):
            if abs(last[axis] - at) < SAME_MM:
                way = last - before
                found.append((end, last, way / max(float(np.hypot(*way)), 1e-9)))
    return found


def chained(lines: Sequence[Drawn], partner: dict[int, int]) -> Iterator[Drawn]:
    for chain in chains(len(lines), partner):
        first = lines[chain[0][0]]
        if len(chain) == 1:
            yield first
            continue
        points = walked([line.points for line in lines], chain)
        closed = bool(np.hypot(*(points[-1] - points[0])) < 2 * SAME_MM)
        yield replace(first, points=points[:-1] if closed else points, closed=closed)
