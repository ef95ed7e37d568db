"""What is marked inside a piece, out of its checked table: darts, pleats, gathers and marks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely

from marker.errors import CannotBeDone
from marker.files.faults import FaultList, Unusable
from marker.geometry.arrays import FloatArray
from marker.jobfile.inside_tables import (
    DartTable,
    GatherTable,
    InsideTable,
    MarkTable,
    PleatTable,
    ToGrain,
)
from marker.jobfile.piece_table import PieceTable
from marker.jobfile.sewing import SewingMaker
from marker.jobfile.sizes import Numbered
from marker.pattern.allowances import cut_ring
from marker.pattern.fullness import Dart, Gather, Pleat, TakenIn
from marker.pattern.grading import carried
from marker.pattern.inner_marks import InnerMark, MarkKind
from marker.pattern.piece import Line, Piece
from marker.pattern.repeats.match import MatchPlace
from marker.pattern.repeats.matching import point_of
from marker.pattern.seams.walk import drawn_mm
from marker.pattern.sewn_edges import dart_tip, sewn_scale
from marker.pattern.stitching import edge_length_mm, meets_fold_at_end
from marker.tolerances import SAME_LINE_MM, SAME_POINT_MM
from marker.units import cut_length


@dataclass(frozen=True)
class Inside:
    """Reads what is marked inside one piece.

    piece : in the size wanted, with its notches; sample : the same in the sample size, vertex by
    vertex, or the piece itself. Distances and points are of the sample, except those by size.
    by_size : (key, number) of what is given for each size by itself, numbers counted from 0.
    """

    piece: Piece
    sample: Piece
    by_size: Numbered

    def read(self, table: PieceTable, faults: FaultList) -> Piece:
        """The piece with all that is marked inside it; every fault is noted."""
        piece = self.piece
        for key, number, taken in self._taken_in(table, faults):
            with faults.gathering(f"{key}[{number + 1}]"):
                more = replace(piece, fullness=(*piece.fullness, taken))
                _check_taken_in(more, taken)
                piece = more
        marks: list[InnerMark] = []
        for number, mark in enumerate(table.marks):
            with faults.gathering(f"marks[{number + 1}]"):
                marks += self._marks(mark, ("marks", number) in self.by_size)
        return replace(piece, inner_marks=tuple(marks))

    def _taken_in(self, table: PieceTable, faults: FaultList) -> Iterator[tuple[str, int, TakenIn]]:
        for key in ("darts", "pleats", "gathers"):
            for number, each in enumerate(getattr(table, key)):
                with faults.gathering(f"{key}[{number + 1}]"):
                    self._demand_edge(each.edge, table)
                    kept = (key, number) in self.by_size
                    yield key, number, self._measured(each, kept)

    def _demand_edge(self, edge: str, table: PieceTable) -> None:
        if edge not in table.edges:
            raise Unusable.unknown("edge", edge, table.edges)
        if edge not in self.piece.edges:
            raise Unusable(
                f"'{edge}' itself ends at a notch", "Measure along an edge between two corners"
            )

    def _measured(self, table: DartTable | PleatTable | GatherTable, kept: bool) -> TakenIn:
        try:
            return self._one(table, kept)
        except CannotBeDone as error:  # there is no stitching line to measure along
            raise Unusable(str(error).rstrip("."), "Then it can be taken in") from error

    def _one(self, table: DartTable | PleatTable | GatherTable, kept: bool) -> TakenIn:
        if isinstance(table, GatherTable):
            return self._gather(table)
        start, end = self._mouth(table, kept)
        if isinstance(table, PleatTable):
            return Pleat(table.edge, start, end, table.kind, table.length)
        if (table.depth is None) == (table.tip is None):
            said = "nothing says" if table.tip is None else "depth and tip both say"
            raise Unusable(f"{said} where the dart ends", "Give one of depth, tip")
        tip = None if table.tip is None else self._carried([table.tip], kept)[0]
        return Dart(table.edge, start, end, table.depth or 0.0, tip)

    def _mouth(self, table: DartTable | PleatTable, kept: bool) -> tuple[float, float]:
        """From where to where along the edge it is taken in."""
        length, half = edge_length_mm(self.piece, table.edge), table.intake / 2
        if table.at == "fold":
            at_end = meets_fold_at_end(self.piece, table.edge)
            if at_end is None:
                raise Unusable(
                    f"'{table.edge}' does not end on a fold",
                    'Say how far along it, such as at = "8 cm"',
                )
            return (length - half, length) if at_end else (0.0, half)
        assert isinstance(table.at, float)
        ratio = 1.0 if kept else length / edge_length_mm(self.sample, table.edge)
        return table.at * ratio - half, table.at * ratio + half

    def _gather(self, table: GatherTable) -> Gather:
        ends = [self._place(f"{table.edge} at {text}") for text in table.between]
        start, end = sorted(drawn_mm(self.piece, each.place) for each in ends)
        if end - start <= table.into:
            raise Unusable(
                f"a stretch of {cut_length(end - start)} is not gathered into "
                f"{cut_length(table.into)}",
                "Give less, or gather a longer stretch",
            )
        return Gather(table.edge, start, end, table.into)

    def _place(self, text: str, inside_mm: float = 0.0) -> MatchPlace:
        names = {self.piece.name: set(self.piece.edges)}
        maker = SewingMaker(names, {self.piece.name: self.piece})
        return MatchPlace(maker.place(f"{self.piece.name}.{text}"), inside_mm)

    def _carried(self, points: list[list[float]], kept: bool) -> FloatArray:
        """Points of the sample size's drawing, (k, 2), in this size."""
        given = np.array(points, dtype=np.float64)
        return given if kept else carried(given, self.sample.outline, self.piece.outline)

    def _to_cut_line(self, given: list[float], found: FloatArray) -> FloatArray:
        """A point of the sample's cut line is one of the cut line in every size, though the points
        beyond a stitching line are not carried quite as that is."""
        if self.piece is self.sample or self.piece.line is Line.CUT:
            return found
        try:
            own, ring = (shapely.LinearRing(cut_ring(p).points) for p in (self.sample, self.piece))
        except CannotBeDone:  # said when the piece is cut
            return found
        if own.distance(shapely.Point(given)) > SAME_LINE_MM:
            return found
        on_line = ring.interpolate(ring.project(shapely.Point(found)))
        return np.array([on_line.x, on_line.y])

    def _marks(self, table: MarkTable, kept: bool) -> list[InnerMark]:
        if (table.at is None) == (not table.points):
            said = "nothing says" if table.at is None else "at and points both say"
            raise Unusable(f"{said} where the mark is", "Give one of at, points")
        places = table.points if table.at is None else [table.at]
        points = _in_a_row(table, np.array([self._point(each, kept) for each in places]))
        if table.kind is MarkKind.TEXT and not table.name:
            raise Unusable("there is nothing to write", "Say what, with name")
        lines = list(self._lines(table, points))
        _check_inside(self.piece, lines)
        return [InnerMark(table.kind, line, table.name, table.hand) for line in lines]

    def _point(self, table: InsideTable, kept: bool) -> FloatArray:
        if (table.point is None) == (table.place is None):
            raise Unusable(
                "this is no place on the piece",
                'Write [x, y] as in its drawing, or a place such as "waist at 10 cm"',
            )
        if table.point is not None:
            if table.inside:
                raise Unusable("a point lies where it lies", "Leave out inside")
            found = np.asarray(self._carried([table.point], kept)[0])
            return found if kept else self._to_cut_line(table.point, found)
        return point_of(self.piece, self._place(table.place or "", table.inside))

    def _lines(self, table: MarkTable, points: FloatArray) -> Iterator[FloatArray]:
        """Each mark of the table, (n, 2)."""
        if table.kind is not MarkKind.BUTTONHOLE and table.length is not None:
            raise Unusable("only a buttonhole has a length", "Leave it out")
        if table.kind.is_point:
            if table.closed:
                raise Unusable(f"a {table.kind} is no line to close", "Leave out closed")
            yield from points[:, np.newaxis]
        elif table.kind is MarkKind.BUTTONHOLE and table.length is not None:
            way = np.radians(self.piece.grain_deg + (90.0 if table.lies is ToGrain.ACROSS else 0.0))
            half = table.length / 2 * np.array([np.cos(way), np.sin(way)])
            yield from (np.array([point - half, point + half]) for point in points)
        elif len(points) < 2:
            remedy = "Give two points or more"
            if table.kind is MarkKind.BUTTONHOLE:
                remedy = "Say how long it is, with length"
            raise Unusable(f"a {table.kind} is a line", remedy)
        else:
            yield np.vstack([points, points[:1]]) if table.closed else points


def _in_a_row(table: MarkTable, points: FloatArray) -> FloatArray:
    """The points; with a count, so many evenly from the first to the last of two."""
    if table.count is None:
        return points
    spaced = table.kind.is_point or table.length is not None
    if len(points) != 2 or not spaced:
        raise Unusable(
            "a count is of points or buttonholes in a row",
            "Give two points, the first and the last of them",
        )
    share = np.linspace(0.0, 1.0, table.count)[:, np.newaxis]
    return np.asarray(points[0] + share * (points[1] - points[0]))


def _check_taken_in(piece: Piece, taken: TakenIn) -> None:
    length = edge_length_mm(piece, taken.edge)
    if taken.start_mm < -SAME_POINT_MM or taken.end_mm > length + SAME_POINT_MM:
        raise Unusable(
            f"{taken} reaches from {cut_length(taken.start_mm)} to {cut_length(taken.end_mm)} "
            "along "
            f"'{taken.edge}', whose stitching line is {cut_length(length)} long",
            "Take in less, or move it along the edge",
        )
    try:
        sewn_scale(piece, taken.edge)
    except CannotBeDone as error:
        raise Unusable(str(error).rstrip("."), "Each stretch is taken in once") from error
    if isinstance(taken, Dart):
        tip = dart_tip(piece, taken)
        if not shapely.Polygon(piece.outline).buffer(SAME_POINT_MM).covers(shapely.Point(tip)):
            raise Unusable("the dart ends outside the piece", "Make it shorter, or move its tip")


def _check_inside(piece: Piece, lines: list[FloatArray]) -> None:
    try:
        cloth = shapely.Polygon(cut_ring(piece).points).buffer(SAME_POINT_MM)
    except CannotBeDone:  # said when the piece is cut
        return
    for line in lines:
        outside = [point for point in line if not cloth.covers(shapely.Point(point))]
        if outside:
            x, y = outside[0]
            raise Unusable(
                f"({cut_length(float(x))}, {cut_length(float(y))}) is outside the piece",
                "Move it onto the piece, whose drawing it is measured in",
            )
