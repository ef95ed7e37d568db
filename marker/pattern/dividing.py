"""A piece cut along a straight line: the part on one side of it, with all that lies there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely

from marker.errors import CannotBeDone
from marker.geometry.arrays import BoolArray, FloatArray, IntArray
from marker.geometry.outline import nearest_along
from marker.pattern.edge import Corner, Edge, Hem, Notch, Stretch
from marker.pattern.fullness import Dart, TakenIn
from marker.pattern.inner_marks import InnerMark, MarkKind
from marker.pattern.piece import Line, Piece
from marker.pattern.sewn_edges import dart_tip, ends_of, taken_in_marks
from marker.pattern.stitching import edge_line, notch_point
from marker.tolerances import SAME_POINT_MM

_MAY_BE_CUT = (MarkKind.LINE, MarkKind.FOLD_LINE, MarkKind.ROLL_LINE)


class Undivided(CannotBeDone):
    """A line that does not divide a piece as it should."""

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(f"{problem}. {remedy}.")
        self.problem, self.remedy = problem, remedy


@dataclass(frozen=True, eq=False)
class CutLine:
    """A straight line without ends. through : (2,) mm as drawn. inward : (2,) unit vector square to
    it, into the part that is meant."""

    through: FloatArray
    inward: FloatArray

    @property
    def other_side(self) -> CutLine:
        """The same line with the other part meant."""
        return CutLine(self.through, -self.inward)

    def depth(self, points: FloatArray) -> FloatArray:
        """How far points (n, 2) lie inside the part, (n,) mm, below 0 outside it."""
        return np.asarray((points - self.through) @ self.inward)

    def moved(self, out_mm: float) -> CutLine:
        """The line so far outside the part."""
        return CutLine(self.through - out_mm * self.inward, self.inward)


@dataclass(frozen=True)
class NewEdge:
    """The edge that a cut makes, with what is added beyond it for sewing."""

    name: str
    allowance_mm: float
    hem: Hem | None = None
    corner: Corner | None = None

    @property
    def width_mm(self) -> float:
        """Between its stitching line and its cut line."""
        return self.hem.allowance_mm if self.hem else self.allowance_mm


def part_of(piece: Piece, line: CutLine, name: str, new: NewEdge) -> Piece:
    """The part of a piece inside a line that is to be sewn, its allowance beyond it.

    A piece that loses its fold was two halves: twice as many are cut, in pairs. Raises Undivided
    where the line misses the piece, or cuts through something of it.
    """
    if piece.line is Line.CUT:
        _part(piece, line, new)  # the line itself divides it, not only what is drawn beyond
    shape = _part(piece, line.moved(new.width_mm if piece.line is Line.CUT else 0.0), new)
    lost_fold = piece.fold is not None and shape.fold is None
    part = replace(
        piece,
        name=name,
        changed=True,
        outline=shape.outline,
        edges=shape.edges,
        fold=shape.fold,
        cut=piece.cut * 2 if lost_fold else piece.cut,
        pair=piece.pair or lost_fold,
        fold_seam_mm=None if lost_fold else piece.fold_seam_mm,
        notches=(),
        fullness=(),
        cutouts=tuple(_whole(piece.cutouts, line, "a cut-out")),
        inner_marks=tuple(_marks(piece, line)),
        corners=piece.corners[line.depth(piece.corners) > -SAME_POINT_MM],
    )
    if piece.border and piece.border not in part.edges:
        raise Undivided(
            f"it cuts away '{piece.border}', which lies on the border", "Take `border` out"
        )
    return replace(
        part,
        notches=tuple(_notches(piece, part, line)),
        fullness=tuple(_fullness(piece, part, line)),
    )


@dataclass(frozen=True)
class _Part:
    outline: FloatArray
    edges: dict[str, Edge]
    fold: Stretch | None


def _part(piece: Piece, line: CutLine, new: NewEdge) -> _Part:
    """The outline inside, with what is left of the edges and the fold."""
    outline = piece.outline
    inside = line.depth(outline) > -SAME_POINT_MM
    first, last = _way_in_and_out(outline, line, inside)
    count = len(outline)
    chain = (first + np.arange((last - first) % count + 1)) % count
    points, new_index = _with_ends(outline, line, chain)
    edges = {
        name: replace(edge, start=left.start, end=left.end)
        for name, edge in piece.edges.items()
        if (left := _left_of(edge, f"'{name}'", inside, new_index, len(points) - 1)) is not None
    }
    fold = piece.fold and _left_of(piece.fold, "the fold", inside, new_index, len(points) - 1)
    if new.name in edges:
        raise Undivided(
            f"the part has an edge '{new.name}' already", "Name the new one otherwise, with `edge`"
        )
    edges[new.name] = Edge(len(points) - 1, 0, new.allowance_mm, new.hem, new.corner)
    if not shapely.Polygon(points).is_valid:
        raise Undivided("what is left meets itself", "Move the line")
    return _Part(points, edges, fold)


def _way_in_and_out(outline: FloatArray, line: CutLine, inside: BoolArray) -> tuple[int, int]:
    """First and last vertex inside, walking counter-clockwise."""
    ahead = np.roll(inside, -1)
    ins, outs = np.flatnonzero(~inside & ahead), np.flatnonzero(inside & ~ahead)
    if len(ins) == 0 or float(line.depth(outline).max()) < SAME_POINT_MM:
        raise Undivided("the line misses the piece", "Move it onto the piece")
    if len(ins) > 1:
        raise Undivided(
            f"the line leaves {len(ins)} parts of it on one side",
            "Move it, or turn it, so that it cuts the piece once",
        )
    return int((ins[0] + 1) % len(outline)), int(outs[0])


def _with_ends(
    outline: FloatArray, line: CutLine, chain: IntArray
) -> tuple[FloatArray, dict[int, int]]:
    """The vertices inside between the two points where the outline crosses the line, (n, 2) mm.

    The way in is number 0, the way out the last. Then the new number of each old vertex.
    """
    count = len(outline)
    way_in = _crossing(outline, line, (int(chain[0]) - 1) % count)
    way_out = _crossing(outline, line, int(chain[-1]))
    points = [way_in]
    number: dict[int, int] = {}
    for vertex in map(int, chain):
        point = outline[vertex]
        if np.hypot(*(point - points[-1])) > SAME_POINT_MM:
            points.append(point)
        number[vertex] = len(points) - 1
    if np.hypot(*(way_out - points[-1])) > SAME_POINT_MM:
        points.append(way_out)
    if len(points) < 3:
        raise Undivided("the line leaves nothing of it", "Move it into the piece")
    return np.array(points), number


def _crossing(outline: FloatArray, line: CutLine, vertex: int) -> FloatArray:
    """Where the chord from a vertex to the next meets the line."""
    start, end = outline[vertex], outline[(vertex + 1) % len(outline)]
    before, after = line.depth(np.array([start, end]))
    share = float(np.clip(before / (before - after), 0.0, 1.0))
    return np.asarray(start + share * (end - start))


def _left_of(
    stretch: Stretch, name: str, inside: BoolArray, number: dict[int, int], way_out: int
) -> Stretch | None:
    """What is left of a stretch, None for nothing. number : of each vertex inside, renumbered."""
    count = len(inside)
    steps = (stretch.end - stretch.start) % count or count
    walked = ((stretch.start + np.arange(steps + 1)) % count).tolist()
    there = [k for k, vertex in enumerate(walked) if inside[vertex]]
    if not there:
        return None
    if len(there) < there[-1] - there[0] + 1:
        raise Undivided(f"the line cuts {name} twice", "Move it, or turn it")
    start = number[walked[0]] if there[0] == 0 else 0
    end = number[walked[-1]] if there[-1] == steps else way_out
    return None if start == end else Stretch(start, end)


def _notches(piece: Piece, part: Piece, line: CutLine) -> Iterator[Notch]:
    """Those inside, where they stood."""
    for notch in piece.notches:
        point = notch_point(piece, notch)
        if notch.edge in part.edges and line.depth(point) > -SAME_POINT_MM:
            yield replace(notch, at_mm=nearest_along(edge_line(part, notch.edge), point)[0])


def _fullness(piece: Piece, part: Piece, line: CutLine) -> Iterator[TakenIn]:
    """What is taken in inside, where it stood; nothing of it may be cut through."""
    for taken in piece.fullness:
        alone = replace(piece, fullness=(taken,))
        points = [*ends_of(piece, taken), *(mark.points for mark in taken_in_marks(alone))]
        if not _is_inside(np.vstack(points), line, f"{taken} in '{taken.edge}'"):
            continue
        along = [
            nearest_along(edge_line(part, taken.edge), end)[0] for end in ends_of(piece, taken)
        ]
        moved = replace(taken, start_mm=min(along), end_mm=max(along))
        if isinstance(taken, Dart) and isinstance(moved, Dart):  # its tip stays where it was
            moved = replace(moved, tip=dart_tip(piece, taken))
        yield moved


def _marks(piece: Piece, line: CutLine) -> Iterator[InnerMark]:
    for mark in piece.inner_marks:
        if mark.kind in _MAY_BE_CUT:
            yield from _clipped(mark, line)
        elif _is_inside(mark.points, line, f"the {mark.kind} {mark.name}".rstrip()):
            yield mark


def _clipped(mark: InnerMark, line: CutLine) -> Iterator[InnerMark]:
    """What of a drawn line lies inside."""
    depths = line.depth(mark.points)
    if depths.min() >= 0.0:
        yield mark
        return
    far = 2.0 * float(np.abs(mark.points - line.through).max()) + 1.0
    along = np.array([-line.inward[1], line.inward[0]]) * far
    corners = [line.through - along, line.through + along]
    inside = shapely.Polygon([*corners, *(corner + far * line.inward for corner in corners[::-1])])
    left = shapely.LineString(mark.points).intersection(inside)
    for run in shapely.get_parts(shapely.line_merge(left) if left.length else left):
        if run.length > SAME_POINT_MM:
            yield replace(mark, points=shapely.get_coordinates(run))


def _whole(holes: tuple[FloatArray, ...], line: CutLine, what: str) -> Iterator[FloatArray]:
    return (hole for hole in holes if _is_inside(hole, line, what))


def _is_inside(points: FloatArray, line: CutLine, what: str) -> bool:
    """Whether something lies in the part; raises Undivided where the line cuts through it."""
    depths = line.depth(points)
    if depths.min() < -SAME_POINT_MM and depths.max() > SAME_POINT_MM:
        raise Undivided(
            f"the line cuts through {what}", "Move the line past it, or take it out of the piece"
        )
    return bool(depths.max() > SAME_POINT_MM)
