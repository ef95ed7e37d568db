"""Marks on a piece as drawings have them: each line gives the piece a fold, a grain, a notch."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely

from marker.exchange.contours import JOIN_MM
from marker.exchange.flat_piece import FlatPiece
from marker.exchange.strokes import MARK_LAYERS, Layer, Stroke
from marker.files.budget import Most
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.pattern.inner_marks import InnerMark, MarkKind

NOTCH_WITHIN_MM = 3.0  # a notch mark begins this near to the line that it marks
ON_LINE_MM = 0.5  # a drawn fold lies this near to the edge that it names
_NOTCH_SIZE_MM = 30.0  # the lines of one notch lie no further apart
_SYMMETRIC_MM = 1.0

Give = Callable[[FlatPiece, Stroke], FlatPiece | None]
"""The piece with what a line gives it; None where the line can't be this piece's."""


def with_cutout(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    """The piece with a hole more."""
    holes = (*piece.cutouts, line.points)
    sound = shapely.Polygon(piece.outline, holes).is_valid
    return replace(piece, cutouts=holes) if sound else None


def with_stitching(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    """The piece with its stitching line, which lies inside the cut line."""
    grown = shapely.Polygon(piece.outline).buffer(ON_LINE_MM)
    if len(piece.stitching) or not grown.covers(shapely.Polygon(line.points)):
        return None
    return replace(piece, stitching=line.points)


def _with_fold(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    """The half that goes on beyond the fold, which runs along its edge; a whole piece where the
    line runs through its middle. Raises Unusable for a fold that does neither."""
    ends = line.points[[0, -1]]
    if piece.fold is not None or line.closed or len(ends) < 2:
        return None
    along = shapely.LineString(line.points).segmentize(10.0)
    off = shapely.distance(shapely.points(along.coords), shapely.LinearRing(piece.outline))
    if (off <= ON_LINE_MM).all():
        return replace(piece, fold=ends)
    region = shapely.Polygon(piece.outline)
    if not region.buffer(ON_LINE_MM).covers(along):
        return None
    if _is_mirrored_at(region, ends):
        return _marked(piece, MarkKind.FOLD_LINE, line.points, "")
    x, y = along.centroid.x, along.centroid.y
    raise Unusable(
        f"a fold line at x {x:.1f} mm, y {y:.1f} mm (y up) runs along no edge of its piece",
        "Draw it from end to end of the edge that lies on the fold",
    )


def _is_mirrored_at(region: shapely.Polygon, ends: FloatArray) -> bool:
    """Whether a region is its own mirror image at a line."""
    (x, y), along = ends[0], ends[1] - ends[0]
    length = float(np.hypot(*along))
    if length == 0.0:
        return False
    c, s = along / length
    a, b = c * c - s * s, 2 * c * s
    mirrored = shapely.transform(
        region, lambda points: (points - (x, y)) @ np.array([[a, b], [b, -a]]) + (x, y)
    )
    apart = shapely.hausdorff_distance(region.exterior, mirrored.exterior)
    return bool(apart <= _SYMMETRIC_MM)


def _with_grain(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    """The line's longest straight part: what else there is of it is an arrow's head."""
    if piece.grain is not None or len(line.points) < 2:
        return None
    steps = np.diff(line.points, axis=0)
    longest = int(np.argmax(np.hypot(*steps.T)))
    part = line.points[longest : longest + 2]
    return replace(piece, grain=part) if np.hypot(*(part[1] - part[0])) > 1.0 else None


def notch_marks(lines: Sequence[Stroke]) -> list[Stroke]:
    """The lines, those that touch one another as one: a V of two, a T, a box."""
    if not lines:
        return []
    shapes = [shapely.MultiPoint(line.points).convex_hull for line in lines]
    group = list(range(len(lines)))

    def first(k: int) -> int:
        while group[k] != k:
            k = group[k]
        return k

    lined = [
        shapely.LineString(line.points) if len(line.points) > 1 else shapely.Point(line.points[0])
        for line in lines
    ]
    for one, other in shapely.STRtree(lined).query(lined, "dwithin", distance=JOIN_MM).T:
        together = shapely.union(shapes[one], shapes[other]).bounds
        small = max(together[2] - together[0], together[3] - together[1]) <= _NOTCH_SIZE_MM
        if lines[one].size == lines[other].size and small:
            group[first(int(other))] = first(int(one))
    marks: dict[int, list[Stroke]] = {}
    for k, line in enumerate(lines):
        marks.setdefault(first(k), []).append(line)
    return [
        own[0]
        if len(own) == 1
        else replace(own[0], points=np.vstack([line.points for line in own]), closed=False)
        for own in marks.values()
    ]


def _with_notch(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    """A notch where the mark stands on the outline: at the end of a line, or by the tip of a V."""
    if len(piece.notches) == Most.NOTCHES.most:
        return None
    edge = shapely.LinearRing(piece.outline)
    off = shapely.distance(shapely.points(line.points), edge)
    if off.min() > NOTCH_WITHIN_MM:
        return None
    on_edge = line.points[off <= max(ON_LINE_MM, float(off.min()) + 1e-9)]
    several = len(on_edge) > 1 and np.ptp(on_edge, axis=0).max() > ON_LINE_MM
    if several:  # a V, a box, or a line across the edge
        tip = line.points[off >= off.max() - ON_LINE_MM].mean(axis=0)
    else:
        tip = line.points[int(np.argmin(off))]
    at = edge.interpolate(edge.project(shapely.Point(tip)))
    point = shapely.get_coordinates(at)
    already = len(piece.notches) and np.hypot(*(piece.notches - point).T).min() < ON_LINE_MM
    return piece if already else replace(piece, notches=np.vstack([piece.notches, point]))


def _marked(piece: FlatPiece, kind: MarkKind, points: FloatArray, name: str) -> FlatPiece:
    return replace(piece, inner_marks=(*piece.inner_marks, InnerMark(kind, points, name)))


def with_mark(kind: MarkKind) -> Give:
    """The piece with a mark more: a line as it is drawn, a point in the middle of its sign."""

    def give(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
        if kind.is_point:
            low, high = line.points.min(axis=0), line.points.max(axis=0)
            return _marked(piece, kind, (low + high)[None] / 2, line.name)
        if len(line.points) < 2:
            return None
        points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
        return _marked(piece, kind, points, line.name)

    return give


def _with_turn_point(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    return replace(piece, turn_points=np.vstack([piece.turn_points, line.points[:1]]))


GIVEN: tuple[tuple[Layer, str, Give], ...] = (
    (Layer.FOLD, "fold lines", _with_fold),
    (Layer.GRAIN, "grain lines", _with_grain),
    (Layer.NOTCHES, "notches", _with_notch),
    *((layer, layer.value, with_mark(kind)) for kind, layer in MARK_LAYERS.items()),
    (Layer.TURN_POINTS, "turn points", _with_turn_point),
)
"""What lines of each layer are called in the report, and how they are given to pieces."""
