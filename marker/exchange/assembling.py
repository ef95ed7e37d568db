"""From the lines of a drawing to pieces: which line belongs to which, and what is left over."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely

from marker.exchange.contours import joined
from marker.exchange.dxf.grading import is_grade_point, with_grade_points
from marker.exchange.flat_piece import FlatPiece
from marker.exchange.piece_text import read_lines, with_texts
from marker.exchange.strokes import Layer, Stroke, Strokes, Text
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.pattern.piece import Line

NOTCH_WITHIN_MM = 3.0  # a notch mark begins this near to the line that it marks
_LEADER_WITHIN_MM, _IN_LINE_MM = 40.0, 0.01
ON_LINE_MM = 0.5  # a drawn fold lies this near to the edge that it names
MOST_CONTOURS, MOST_MARKS, MOST_NOTCHES = 500, 2_000, 200  # the last in one piece
_LEAST_AREA_MM2 = 100.0  # anything smaller is a mark, not a piece


def pieces_in(found: Strokes) -> list[FlatPiece]:
    """The pieces that the lines make, as the drawing orders them; what is left over is noted in
    `found.passed_over`.

    Where any line lies on a layer for cut or stitching lines, only lines on named layers count.
    Otherwise each closed line that lies in no other is a piece.
    """
    layered = any(line.layer in (Layer.CUT, Layer.STITCHING) for line in found.lines)
    outer = Layer.CUT if layered else None
    cut = _contours(found, outer)
    pieces, inside = _nested(cut, found, holes=layered)
    pieces = [
        replace(piece, cutouts=tuple(holes)) for piece, holes in zip(pieces, inside, strict=True)
    ]
    regions = [shapely.Polygon(piece.outline) for piece in pieces]
    _place(found, _contours(found, Layer.CUTOUT), pieces, regions, "cut-outs", _with_cutout)
    sewn = _contours(found, Layer.STITCHING)
    _place(found, sewn, pieces, regions, "stitching lines", _with_stitching, alone=pieces)
    regions = [shapely.Polygon(piece.outline) for piece in pieces]
    for layer, what, give in _GIVEN:
        lines = [line for line in found.lines if line.layer is layer]
        _place(found, lines, pieces, regions, what, give)
    if layered:
        _note(found, (line for line in found.lines if line.layer is None), "lines on other layers")
    return with_grade_points(found, _with_texts(found, pieces, regions))


def _note(found: Strokes, lines: Iterator[Stroke] | Sequence[Stroke], what: str) -> None:
    count = sum(1 for _ in lines)
    if count:
        found.passed_over[what] += count


def _contours(found: Strokes, layer: Layer | None) -> list[Stroke]:
    """The closed lines of a layer that go round once and enclose something."""
    closed, left = joined([line for line in found.lines if line.layer is layer])
    words = f"on the layer '{layer}'" if layer else "that are on no known layer"
    _note(found, left, f"lines {words} that do not close")
    if len(closed) > MOST_CONTOURS:
        raise Unusable(
            f"it has {len(closed)} closed lines {words}, more than {MOST_CONTOURS}",
            "Import fewer pieces at once",
        )
    sound = []
    for ring in closed:
        region = shapely.Polygon(ring.points) if len(ring.points) > 2 else shapely.Polygon()
        if region.is_empty or region.area < _LEAST_AREA_MM2:
            _note(found, [ring], f"closed lines {words} that enclose almost nothing")
        elif not region.is_valid:
            _note(found, [ring], f"closed lines {words} that cross themselves")
        else:
            sound.append(ring)
    return sound


def _nested(
    rings: Sequence[Stroke], found: Strokes, holes: bool
) -> tuple[list[FlatPiece], list[list[FloatArray]]]:
    """The outer rings as pieces and what lies in each: its cut-outs if `holes`, else noted."""
    if not rings:
        return [], []
    regions = [shapely.Polygon(ring.points) for ring in rings]
    tree = shapely.STRtree(regions)
    around: list[list[int]] = [[] for _ in rings]
    for inner, outer in tree.query(regions, predicate="within").T:
        if inner != outer and regions[inner].area < regions[outer].area:
            around[inner].append(int(outer))
    outers = [k for k in range(len(rings)) if not around[k]]
    pieces = [FlatPiece(rings[k].name, rings[k].points) for k in outers]
    inside: list[list[FloatArray]] = [[] for _ in outers]
    for k, ring in enumerate(rings):
        if around[k] and holes and len(around[k]) == 1:
            inside[outers.index(around[k][0])].append(ring.points)
        elif around[k]:
            _note(found, [ring], "closed lines inside a piece, on no layer that says what they are")
    return pieces, inside


Give = Callable[[FlatPiece, Stroke], FlatPiece | None]


def _place(
    found: Strokes,
    lines: Sequence[Stroke],
    pieces: list[FlatPiece],
    regions: Sequence[shapely.Polygon],
    what: str,
    give: Give,
    alone: list[FlatPiece] | None = None,
) -> None:
    """Give each line to the piece that it lies in, or else to the nearest within reach.

    alone : where a closed line that lies in no piece becomes one itself.
    """
    if len(lines) > MOST_MARKS:
        raise Unusable(f"it has {len(lines)} {what}, more than {MOST_MARKS}", "Leave some out")
    tree = shapely.STRtree(regions)
    for line in lines:
        shape = _shape(line)
        near = tree.query(shape, predicate="dwithin", distance=NOTCH_WITHIN_MM)
        order = list(near)
        if len(order) > 1:
            order.sort(key=lambda k: _outside(shape, regions[k]))
        for k in order:
            given = give(pieces[k], line)
            if given is not None:
                pieces[k] = given
                break
        else:
            if alone is not None and not order:
                alone.append(FlatPiece(line.name, line.points, line=Line.STITCHING))
            else:
                _note(found, [line], f"{what} that belong to no piece, or to one that has its own")


def _shape(line: Stroke) -> shapely.Geometry:
    if len(line.points) == 1:
        return shapely.Point(line.points[0])
    return shapely.Polygon(line.points) if line.closed else shapely.LineString(line.points)


def _outside(shape: shapely.Geometry, region: shapely.Polygon) -> float:
    """How much of a line, or how far a point, lies outside a region."""
    outside = shapely.difference(shape, region)
    return float(outside.length) + float(shapely.distance(shape, region))


def _with_cutout(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    holes = (*piece.cutouts, line.points)
    sound = shapely.Polygon(piece.outline, holes).is_valid
    return replace(piece, cutouts=holes) if sound else None


def _with_stitching(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    grown = shapely.Polygon(piece.outline).buffer(ON_LINE_MM)
    if len(piece.stitching) or not grown.covers(shapely.Polygon(line.points)):
        return None
    return replace(piece, stitching=line.points)


def _with_fold(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    ends = line.points[[0, -1]]
    off = shapely.distance(shapely.points(ends), shapely.LinearRing(piece.outline))
    on_edge = len(ends) == 2 and not line.closed and bool((off <= ON_LINE_MM).all())
    return replace(piece, fold=ends) if piece.fold is None and on_edge else None


def _with_grain(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    """The line's longest straight part: what else there is of it is an arrow's head."""
    if piece.grain is not None or len(line.points) < 2:
        return None
    steps = np.diff(line.points, axis=0)
    longest = int(np.argmax(np.hypot(*steps.T)))
    part = line.points[longest : longest + 2]
    return replace(piece, grain=part) if np.hypot(*(part[1] - part[0])) > 1.0 else None


def _with_notch(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    if len(piece.notches) == MOST_NOTCHES:
        return None
    edge = shapely.LinearRing(piece.outline)
    end = min(map(shapely.Point, line.points[[0, -1]]), key=edge.distance)
    if edge.distance(end) > NOTCH_WITHIN_MM:
        return None
    at = edge.interpolate(edge.project(end))
    point = shapely.get_coordinates(at)
    already = len(piece.notches) and np.hypot(*(piece.notches - point).T).min() < ON_LINE_MM
    return piece if already else replace(piece, notches=np.vstack([piece.notches, point]))


def _with_inner_line(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    if len(line.points) < 2:
        return None
    points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
    return replace(piece, inner_lines=(*piece.inner_lines, points))


def _with_drill_hole(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    middle = line.points.mean(axis=0)[None]
    return replace(piece, drill_holes=np.vstack([piece.drill_holes, middle]))


def _with_turn_point(piece: FlatPiece, line: Stroke) -> FlatPiece | None:
    return replace(piece, turn_points=np.vstack([piece.turn_points, line.points[:1]]))


_GIVEN: tuple[tuple[Layer, str, Give], ...] = (
    (Layer.FOLD, "fold lines", _with_fold),
    (Layer.GRAIN, "grain lines", _with_grain),
    (Layer.NOTCHES, "notches", _with_notch),
    (Layer.INNER, "inner lines", _with_inner_line),
    (Layer.DRILL, "drill holes", _with_drill_hole),
    (Layer.TURN_POINTS, "turn points", _with_turn_point),
)


def _with_texts(
    found: Strokes, pieces: Sequence[FlatPiece], regions: Sequence[shapely.Polygon]
) -> list[FlatPiece]:
    """What is written on each piece; all texts are its where there is one piece only."""
    texts: list[list[str]] = [[] for _ in pieces]
    tree = shapely.STRtree(regions)
    leaders = [line.points for line in found.lines if line.layer is Layer.LABELS]
    for text in found.texts:
        if is_grade_point(text):
            continue
        at = tree.query(shapely.Point(_spoken_of(text, leaders)), predicate="within")
        if len(pieces) == 1 or len(at):
            texts[0 if len(pieces) == 1 else int(at[0])].append(text.text)
        else:
            found.passed_over["texts outside every piece"] += 1
    told = []
    for piece, lines in zip(pieces, texts, strict=True):
        written = read_lines(lines)
        named = replace(piece, name=piece.name or found.name)
        if not named.name and written.others:
            named = replace(named, name=written.others.pop(0))
        named, unread = with_texts(named, written)
        if written.others:
            named = replace(named, note="; ".join(written.others))
        for line in unread:
            found.passed_over[f"the text '{line[:60]}', which can't be right"] += 1
        told.append(named)
    return told


def _spoken_of(text: Text, leaders: Sequence[FloatArray]) -> FloatArray:
    """What a text speaks of: where it stands, or where the leader ends that begins in the middle
    above or below it."""
    for leader in leaders:
        across, up = np.abs(leader[0] - text.at)
        if across <= _IN_LINE_MM and up <= _LEADER_WITHIN_MM:
            return np.asarray(leader[-1])
    return text.at
