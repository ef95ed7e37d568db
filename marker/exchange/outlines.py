"""From what was drawn to an outline the planner can trust: closed, simple, counter-clockwise."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from svgelements import Path

from marker.exchange.curves import demand_corner, flatten, parse_path
from marker.files.budget import Most
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import is_ccw
from marker.pattern.edge import Stretch
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length
from marker.words import counted

LARGEST_PIECE_MM = 50_000.0
LEAST_AREA_MM2 = 1.0


@dataclass(frozen=True)
class Drawn:
    """An outline in the order it was drawn.

    points : (n, 2) float64, mm, y up, first point not repeated.
    corners : vertex of each corner; corner k of the job file is entry k - 1.
    """

    points: FloatArray
    corners: tuple[int, ...]
    cutouts: tuple[FloatArray, ...] = ()

    def corner(self, number: int) -> int:
        """Vertex of the corner that the job file calls `number`, counted from 1."""
        demand_corner(number, len(self.corners))
        return self.corners[number - 1]

    def stretch(self, first: int, last: int) -> Stretch:
        """Stretch from corner to corner in drawn order, as a stretch of `counter_clockwise`."""
        start, end = self.corner(first), self.corner(last)
        if start == end and first != last:
            raise Unusable(
                f"corners {first} and {last} are the same point",
                f"Name two different points, or write [{first}, {first}] for the whole outline",
            )
        if is_ccw(self.points):
            return Stretch(start, end)
        turned = len(self.points) - 1
        return Stretch(turned - end, turned - start)

    @property
    def counter_clockwise(self) -> FloatArray:
        """The outline, turned round if it was drawn clockwise."""
        return self.points if is_ccw(self.points) else self.points[::-1].copy()


def from_points(points: Sequence[Sequence[float]]) -> Drawn:
    """Outline through points in mm, y up; each is a corner."""
    if len(points) < 3:
        raise Unusable(
            f"the outline has {counted(len(points), 'point')}", "An outline needs 3 or more"
        )
    most = Most.LINE_POINTS.most
    if len(points) > most:
        raise Unusable(f"the outline has {len(points)} points", f"Use at most {most}")
    return closed(np.array(points, dtype=np.float64), range(len(points)))


def from_path(data: str, unit_mm: float, flatten_mm: float) -> Drawn:
    """Outline of SVG path data whose unit measures `unit_mm`; y down as in SVG."""
    to_mm = np.array([[unit_mm, 0.0, 0.0], [0.0, -unit_mm, 0.0]])
    return flattened(parse_path(data), to_mm, flatten_mm)


def flattened(path: Path, to_mm: FloatArray, flatten_mm: float) -> Drawn:
    """Outline of one sub-path; `to_mm` (2, 3) takes its coordinates to mm, y up."""
    most_stretched = float(np.linalg.norm(to_mm[:, :2], ord=2))
    if not most_stretched > 0:
        raise Unusable("the transform shrinks the drawing to nothing", "Correct the transform")
    points, ends, has_z = flatten(path, flatten_mm / most_stretched)
    points = points @ to_mm[:, :2].T + to_mm[:, 2]
    gap = float(np.hypot(*(points[-1] - points[0])))
    if not has_z and gap > SAME_POINT_MM:
        raise Unusable(
            f"the outline is open: its end is {cut_length(gap)} from its start", "Close it with Z"
        )
    return closed(points, ends)


def with_cutouts(rings: Sequence[Drawn]) -> Drawn:
    """The largest ring as an outline, the others as its cut-outs."""
    outer = max(rings, key=lambda ring: shapely.Polygon(ring.points).area)
    holes = [ring.points for ring in rings if ring is not outer]
    if not shapely.Polygon(outer.points, holes).is_valid:
        raise Unusable(
            "the outline has more than one sub-path, and not all of them lie inside the largest, "
            "apart from one another",
            "Draw one closed line, and cut-outs inside it",
        )
    return replace(outer, cutouts=tuple(holes))


def closed(points: FloatArray, corners: Sequence[int]) -> Drawn:
    """Join points that are one, and refuse what is no outline of a piece of cloth."""
    kept: list[int] = []
    new_index: list[int] = []
    for index, point in enumerate(points):
        if not kept or np.hypot(*(point - points[kept[-1]])) > SAME_POINT_MM:
            kept.append(index)
        new_index.append(len(kept) - 1)
    if len(kept) > 1 and np.hypot(*(points[kept[-1]] - points[0])) <= SAME_POINT_MM:
        new_index = [index % (len(kept) - 1) for index in new_index]
        kept.pop()
    drawn = Drawn(points[kept], tuple(new_index[corner] for corner in corners))
    check_outline(drawn.points)
    return drawn


def check_outline(points: FloatArray) -> None:
    """Raise Unusable for what is no outline of a piece of cloth."""
    if len(points) < 3:
        raise Unusable(f"the outline has {len(points)} different points", "It needs 3 or more")
    extent = float(np.ptp(points, axis=0).max())
    if extent > LARGEST_PIECE_MM:
        raise Unusable(
            f"the outline is {extent / 1000:.4g} m across, absurd for a piece", "Check its unit"
        )
    if shapely.MultiPoint(points).convex_hull.area < LEAST_AREA_MM2:
        raise Unusable("the outline has no area", "Check its points and its unit")
    crosses = where_crossed(shapely.Polygon(points))
    if crosses:
        said = "Move the points there so that the line goes round once"
        raise Unusable(f"the outline {crosses}", said)


def where_crossed(polygon: shapely.Polygon) -> str:
    """'crosses or touches itself at x 5 mm, y 2.5 mm (y up)'; '' of an outline that does not."""
    if polygon.is_valid:
        return ""
    # such as 'Self-intersection[5 2.5]'
    found = re.search(r"\[(\S+) (\S+)\]", shapely.is_valid_reason(polygon))
    at = [cut_length(float(each)) for each in found.groups()] if found else []
    return f"crosses or touches itself {f'at x {at[0]}, y {at[1]} (y up)' if at else 'somewhere'}"
