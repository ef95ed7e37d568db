"""A flat piece as a pattern piece: its corners become edges, and two lines an allowance."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
import shapely

from marker.errors import CannotBeDone
from marker.exchange.flat_piece import FlatPiece, Graded
from marker.exchange.outlines import Drawn, closed
from marker.files.budget import Most
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import nearest_along, point_along, sharp_vertices, stretch_points
from marker.geometry.resizing import first_shift
from marker.pattern.allowances import allowances, cut_ring, stitching_ring
from marker.pattern.cutting import out_to
from marker.pattern.edge import Corner, Edge, Notch
from marker.pattern.piece import Line, Piece
from marker.pattern.stitching import right_of
from marker.tolerances import SAME_LINE_MM

_BLUNT_TURN, _LONG_LINE_MM = np.radians(12), 50.0  # own choice; as a curve it would be 1.3 mm off
_CORNER_WITHIN_MM = 0.5  # a turn point that the file marks lies this near to a vertex
_SAMPLES = 25
_NO_ALLOWANCE_MM = 0.01


class SewnPiece:
    """What of a flat piece goes into a job file.

    drawn : the outline in the order drawn, every vertex a corner. corners : name of each edge ->
        numbers of its two corners. fold : the same two numbers, None for a whole piece.
    piece : with all its allowances and notches. stitching_kept : False when the drawn stitching
        line is at no constant distance along each edge, and so was left out.
    """

    def __init__(self, flat: FlatPiece, no_grain_deg: float, like: SewnPiece | None = None) -> None:
        """like : the piece in its sample size, whose edges have their names here too, where there
        are as many. Raises Unusable when the outline can't be cut."""
        Most.EDGE_POINTS.demand(max(len(flat.outline), len(flat.stitching)))
        self.stitching_kept = True
        self._like = like
        plain = self._start(flat, flat.outline, flat.line, no_grain_deg)
        if len(flat.stitching):
            plain = self._with_allowances(flat, plain, no_grain_deg)
        everywhere = ((point, plain.edges) for point in flat.notches)
        self.piece = replace(plain, notches=tuple(notches_at(plain, everywhere)))

    def _start(self, flat: FlatPiece, outline: FloatArray, line: Line, no_grain: float) -> Piece:
        self.drawn = closed(outline, range(len(outline)))
        self.drawn = Drawn(self.drawn.points, tuple(range(len(self.drawn.points))))
        ends = None if flat.fold is None else _fold_ends(self.drawn.points, flat.fold)
        self.fold = None if ends is None else (ends[0] + 1, ends[1] + 1)
        self.corners = _edges(self.drawn.points, flat.turn_points, ends)
        if self._like is not None:
            self.corners = _named_like(self._like, self.corners, self.drawn.points)
        grain = no_grain
        if flat.grain is not None:
            grain = float(np.degrees(np.arctan2(*(flat.grain[1] - flat.grain[0])[::-1])))
        stretches = {name: self.drawn.stretch(*pair) for name, pair in self.corners.items()}
        return Piece(
            name=flat.name,
            cloth=flat.cloth,
            outline=self.drawn.counter_clockwise,
            cut=flat.cut,
            pair=flat.mirrored > 0,
            fold=None if self.fold is None else self.drawn.stretch(*self.fold),
            grain_deg=round(grain, 6) + 0.0,
            turns=flat.turns,
            grain_tolerance_deg=flat.grain_tolerance_deg,
            line=line,
            edges={name: Edge(each.start, each.end) for name, each in stretches.items()},
            drawn_clockwise=self.drawn.counter_clockwise is not self.drawn.points,
            cutouts=flat.cutouts,
        )

    def _with_allowances(self, flat: FlatPiece, plain: Piece, no_grain_deg: float) -> Piece:
        """The piece whose other line is the one drawn; the cut line alone where neither way fits.

        It is tried from the cut line inward, then, as for a mirrored hem, from the stitching line
        outward.
        """
        own = self.drawn, self.fold, self.corners
        inward = _allowed(plain, flat.stitching)
        if _same(_other_line(inward), flat.stitching):
            return inward
        if flat.grade_points and not any(p.of is Graded.STITCHING for p in flat.grade_points):
            self.stitching_kept = False  # only the cut line is graded
            return plain
        try:
            sewn = self._start(flat, flat.stitching, Line.STITCHING, no_grain_deg)
        except Unusable:
            sewn = plain
        outward = _allowed(sewn, flat.outline)
        for corners in ({}, _hems(outward)):
            shaped = {n: replace(e, corner=corners.get(n)) for n, e in outward.edges.items()}
            tried = replace(outward, edges=shaped)
            if sewn is not plain and _same(_other_line(tried), flat.outline):
                return tried
        self.drawn, self.fold, self.corners = own
        self.stitching_kept = False
        return plain


def _fold_ends(points: FloatArray, fold: FloatArray) -> tuple[int, int]:
    """Vertices of the outline where the fold begins and ends, in the order drawn."""
    first, last = (int(np.argmin(np.hypot(*(points - end).T))) for end in fold)
    middle = fold.mean(axis=0)
    there = shapely.LineString(stretch_points(points, first, last)).distance(shapely.Point(middle))
    back = shapely.LineString(stretch_points(points, last, first)).distance(shapely.Point(middle))
    return (first, last) if there <= back else (last, first)


def _blunt_corners(points: FloatArray) -> list[int]:
    """Vertices where two long straight lines meet at a blunt angle, such as the point of a deep V
    neck: no curve is drawn by so few lines."""
    after = np.roll(points, -1, axis=0) - points
    before = np.roll(after, 1, axis=0)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turns = np.abs(np.arctan2(cross, (before * after).sum(axis=1)))
    shorter = np.minimum(np.hypot(*before.T), np.hypot(*after.T))
    return np.flatnonzero((turns >= _BLUNT_TURN) & (shorter >= _LONG_LINE_MM)).tolist()


def _edges(
    points: FloatArray, turn_points: FloatArray, fold: tuple[int, int] | None
) -> dict[str, tuple[int, int]]:
    """'edge 1', 'edge 2', ... from corner to corner as drawn, the fold left out."""
    corners = {*map(int, sharp_vertices(points)), *_blunt_corners(points), *(fold or ())}
    for point in turn_points:
        apart = np.hypot(*(points - point).T)
        if apart.min() <= _CORNER_WITHIN_MM:
            corners.add(int(np.argmin(apart)))
    ordered = sorted(corners) or [0]
    count = len(points)
    pairs = list(zip(ordered, ordered[1:] + ordered[:1], strict=True))
    if fold:
        span = (fold[1] - fold[0]) % count
        pairs = [pair for pair in pairs if (pair[0] - fold[0]) % count >= span]
    return {f"edge {k}": (a + 1, b + 1) for k, (a, b) in enumerate(pairs, 1)}


def _named_like(
    like: SewnPiece, corners: dict[str, tuple[int, int]], points: FloatArray
) -> dict[str, tuple[int, int]]:
    """The edges, each with the name of the other size's edge that it corresponds to."""
    if len(corners) != len(like.corners):
        return corners
    pairs = list(corners.values())
    others = like.drawn.points[[first - 1 for first, _ in like.corners.values()]]
    shift = first_shift(others, points[[first - 1 for first, _ in pairs]])
    return dict(zip(like.corners, [*pairs[shift:], *pairs[:shift]], strict=True))


def _allowed(piece: Piece, other: FloatArray) -> Piece:
    """The piece, each edge with the distance at which the other line mostly runs beside it."""
    ring = shapely.LinearRing(other)
    edges = {}
    for name, edge in piece.edges.items():
        line = shapely.LineString(stretch_points(piece.outline, edge.start, edge.end))
        shares = (np.arange(_SAMPLES) + 0.5) / _SAMPLES
        places = shapely.line_interpolate_point(line, shares, normalized=True)
        apart = round(float(np.median(shapely.distance(places, ring))), 2)
        edges[name] = replace(edge, allowance_mm=apart if apart > _NO_ALLOWANCE_MM else 0.0)
    return replace(piece, edges=edges)


def _hems(piece: Piece) -> dict[str, Corner]:
    """Edges wider than both their neighbours, whose allowance is then folded back."""
    names = list(piece.edges)
    widths = [piece.edges[name].allowance_mm or 0.0 for name in names]
    return {
        name: Corner.MIRRORED
        for k, name in enumerate(names)
        if widths[k] > widths[k - 1] and widths[k] > widths[(k + 1) % len(names)]
    }


def _other_line(piece: Piece) -> FloatArray:
    try:
        ring = stitching_ring(piece) if piece.line is Line.CUT else cut_ring(piece)
    except CannotBeDone:
        return np.empty((0, 2))
    return ring.points


def _same(points: FloatArray, others: FloatArray) -> bool:
    """Whether two rings run along one line."""
    if len(points) < 3:
        return False
    apart = shapely.hausdorff_distance(shapely.LinearRing(points), shapely.LinearRing(others))
    return bool(apart <= SAME_LINE_MM)


def notches_at(piece: Piece, places: Iterable[tuple[FloatArray, Iterable[str]]]) -> Iterator[Notch]:
    """For each point (2,) a notch where it comes to lie on the cut line as drawn, on one of the
    edges named with it. The edge whose stitching line is nearest is tried first."""
    ring, cut = stitching_ring(piece), shapely.LinearRing(cut_ring(piece).points)
    way, side = (-1, -1) if piece.drawn_clockwise else (1, 1)
    lines = {name: ring.line(edge)[::way] for name, edge in piece.edges.items()}
    shapes = {name: shapely.LineString(line) for name, line in lines.items()}
    widest = float(allowances(piece).max())
    for point, edges in places:
        best, off = None, np.inf
        names = list(edges)
        apart = shapely.distance([shapes[name] for name in names], shapely.Point(point))
        for name in (names[k] for k in np.argsort(apart, kind="stable")):
            for at in _feet(lines[name], point):
                start, out = point_along(lines[name], at), side * right_of(lines[name], at)
                missed = float(np.hypot(*(out_to(cut, start, out, widest) - point)))
                if missed < off:
                    best, off = Notch(name, float(at)), missed
                if off <= SAME_LINE_MM:
                    break
            if off <= SAME_LINE_MM:
                break
        if best is not None:
            yield best


def _feet(line: FloatArray, point: FloatArray) -> FloatArray:
    """How far along a polyline the place nearest to a point is, and every other place that the
    point lies square to, on steps of 0.0001 mm either side. At a vertex the step decides which of
    its two directions the notch is square to."""
    steps = np.diff(line, axis=0)
    lengths = np.hypot(*steps.T)
    shares = ((point - line[:-1]) * steps).sum(axis=1) / np.maximum(lengths, 1e-12) ** 2
    square = (shares >= 0) & (shares <= 1)
    starts = np.concatenate([[0.0], np.cumsum(lengths)[:-1]])
    feet = (starts + shares * lengths)[square]
    below = np.floor(np.append(nearest_along(line, point)[0], feet) * 1e4)
    last = np.floor(lengths.sum() * 1e4)
    return np.asarray(np.minimum(np.concatenate([below, below + 1]), last) / 1e4)
