"""A checked piece table as a Piece: its outline (drawn, or a shape by formula), edges, notches and
fold."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np

from marker.errors import CannotBeDone
from marker.exchange.curves import arc_steps
from marker.exchange.outlines import Drawn, closed, from_path, from_points
from marker.exchange.svg.drawing import Drawing, outline_in, read_drawing
from marker.files.faults import FaultList, Unusable
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import stretch_points
from marker.jobfile.edges import check_overlaps, edges_from, notches_from, with_notched_edges
from marker.jobfile.inside import Inside
from marker.jobfile.piece_table import (
    OUTLINES,
    PieceTable,
    Rectangle,
    RingSector,
    Shape,
    Trapezoid,
    Triangle,
)
from marker.jobfile.sizes import Grading, Numbered
from marker.pattern.derived import shortened
from marker.pattern.edge import Stretch
from marker.pattern.grading import graded_piece
from marker.pattern.piece import Piece
from marker.pattern.stitching import edge_length_mm
from marker.tolerances import SAME_POINT_MM, STRAIGHT_MM
from marker.units import cut_length, fine_length

_TO_INNER_ARC_DEG = 270.0  # a circle skirt hangs from its inner arc


class PieceMaker:
    """Makes pieces of one job file; drawings shared by several pieces are read once.

    curves_mm : no chord strays further from its curve, whatever `flatten` a piece allows.
    by_rules : names of those graded by rules so far.
    """

    def __init__(
        self, folder: Path, unit_mm: float | None, grading: Grading, curves_mm: float
    ) -> None:
        self.folder, self.unit_mm, self.grading = folder, unit_mm, grading
        self.curves_mm = curves_mm
        self._drawings: dict[Path, Drawing] = {}
        self.by_rules: set[str] = set()

    def piece(
        self, table: PieceTable, cloth: str, faults: FaultList, by_size: Numbered
    ) -> Piece | None:
        """The piece in the grading's size, None when its outline is faulty; every fault is noted.

        by_size : what of its lists stands in places of this size.
        """
        if table.pair and table.cut % 2:
            faults.add("cut", f"a pair can't be cut {table.cut} times", "Give an even number")
        if table.fold_seam is not None and table.fold is None:
            faults.add("fold_seam", "there is no fold to take the place of", "Leave it out")
        sample = self._drawn(table, faults)
        drawn = sample and self.grading.graded(table, sample, faults)
        if sample is None or drawn is None:
            return None
        before = len(faults.found)
        kept = frozenset(number for key, number in by_size if key == "notches")
        piece = as_sample = _as_drawn(table, cloth, sample, kept, faults)
        if drawn is not sample and len(faults.found) == before:
            piece = _graded(piece, drawn, kept, faults)
            self.by_rules.add(piece.name)
        if len(faults.found) == before:
            piece = Inside(piece, as_sample, by_size).read(table, faults)
        piece = with_notched_edges(piece, table, drawn, faults)
        if len(faults.found) == before:
            _check_notches(piece, faults)
        if table.border is not None and table.border not in table.edges:
            with faults.gathering("border"):
                raise Unusable.unknown("edge", table.border, table.edges)
        check_overlaps(piece.edges, len(piece.outline), faults)
        return _shortened(piece, table, faults) if len(faults.found) == before else piece

    def _drawn(self, table: PieceTable, faults: FaultList) -> Drawn | None:
        given = [key for key in OUTLINES if getattr(table, key) is not None]
        if len(given) != 1:
            said = "no outline" if not given else f"{len(given)} outlines: {', '.join(given)}"
            faults.add("", f"the piece has {said}", f"Give exactly one of {', '.join(OUTLINES)}")
            return None
        if table.drawing_unit is not None and table.drawing is None:
            faults.add("drawing_unit", "there is no drawing to measure", "Leave it out")
        flatten = min(table.flatten, self.curves_mm)
        with faults.gathering(given[0]):
            if table.points is not None:
                return from_points(table.points)
            if table.path is not None:
                return from_path(table.path, self._path_unit(), flatten)
            if table.shape is not None:
                return _from_shape(table.shape, flatten)
            return self._from_drawing(table.drawing or "", table.drawing_unit, flatten)
        return None

    def _path_unit(self) -> float:
        if self.unit_mm is None:
            raise Unusable("path data has no unit", 'Put units = "mm" at the top of the file')
        return self.unit_mm

    def _from_drawing(self, reference: str, unit: str | None, flatten: float) -> Drawn:
        name, hash_sign, element = reference.rpartition("#")
        if not (name and hash_sign and element):
            raise Unusable(
                f"'{reference}' does not name a drawing and an element of it",
                'Write the file and the id, such as "bodice.svg#front"',
            )
        path = self.folder / name
        try:
            if path not in self._drawings:
                self._drawings[path] = read_drawing(path)
            return outline_in(self._drawings[path], element, unit, flatten)
        except Unusable as fault:
            raise Unusable(f"{path}: {fault.problem}", fault.remedy) from fault


def _shortened(piece: Piece, table: PieceTable, faults: FaultList) -> Piece:
    for name, by in table.shorten.items():
        with faults.gathering(f"shorten.{name}"):
            if name not in piece.edges:
                raise Unusable.unknown("edge", name, piece.edges)
            try:
                piece = shortened(piece, name, by)
            except CannotBeDone as error:
                raise Unusable(
                    f"{cut_length(by)} leave nothing of the piece", "Take off less"
                ) from error
    return piece


def _as_drawn(
    table: PieceTable, cloth: str, drawn: Drawn, kept: frozenset[int], faults: FaultList
) -> Piece:
    """The piece as it is drawn, without its edges between notches."""
    outline = drawn.counter_clockwise
    fold = _fold(table, drawn, faults)
    sector = isinstance(table.shape, RingSector) and table.shape.angle < 360
    assumed = sector and "grain" not in table.model_fields_set
    edges = edges_from(table, drawn, fold, faults)
    return Piece(
        name=table.name,
        cloth=cloth,
        outline=outline,
        cut=table.cut,
        pair=table.pair,
        fold=fold,
        grain_deg=_TO_INNER_ARC_DEG if assumed else table.grain,
        top_assumed=assumed,
        turns=tuple(dict.fromkeys(table.turns)),
        grain_tolerance_deg=table.grain_tolerance,
        line=table.line,
        allowance_mm=table.allowance,
        edges=edges,
        notches=notches_from(table, drawn, edges, kept, faults),
        drawn_clockwise=outline is not drawn.points,
        cutouts=drawn.cutouts,
        border=table.border or "",
        fold_seam_mm=table.fold_seam,
        pieced_mm=table.pieced,
        corners=drawn.points[list(drawn.corners)],
    )


def _graded(piece: Piece, drawn: Drawn, kept: frozenset[int], faults: FaultList) -> Piece:
    """The sample's piece with its outline in another size."""
    outline = drawn.counter_clockwise
    if piece.fold is not None:
        with faults.gathering("fold"):
            _check_fold(outline, piece.fold)
    with faults.gathering("grade"):
        try:
            graded = graded_piece(piece, outline, kept)
            return replace(graded, corners=drawn.points[list(drawn.corners)])
        except CannotBeDone as error:
            raise Unusable(str(error).rstrip("."), "Check the rules of this size") from error
    return piece


def _fold(table: PieceTable, drawn: Drawn, faults: FaultList) -> Stretch | None:
    if table.fold is None:
        return None
    with faults.gathering("fold"):
        fold = drawn.stretch(table.fold[0], table.fold[1])
        _check_fold(drawn.counter_clockwise, fold)
        return fold
    return None


def _check_notches(piece: Piece, faults: FaultList) -> None:
    """Notches stand on the stitching line, which may be shorter than the line drawn."""
    for number, notch in enumerate(piece.notches, 1):
        try:
            length = edge_length_mm(piece, notch.edge)
        except CannotBeDone:  # no stitching line is left: said when the piece is cut
            return
        if notch.at_mm > length + SAME_POINT_MM:
            faults.add(
                f"notches[{number}]",
                f"{cut_length(notch.at_mm)} is beyond the end of '{notch.edge}', whose stitching "
                "line "
                f"is {cut_length(length)} long",
                "Move the notch onto it",
            )


def _check_fold(outline: FloatArray, fold: Stretch) -> None:
    """The fold must be straight, and all the rest of the piece on one side of it."""
    along = stretch_points(outline, fold.start, fold.end)
    direction = along[-1] - along[0]
    length = float(np.hypot(*direction))
    if length <= SAME_POINT_MM:
        raise Unusable("the fold has no length", "Name the two ends of one straight edge")
    left = np.array([-direction[1], direction[0]]) / length
    bend = float(np.abs((along - along[0]) @ left).max())
    if bend > STRAIGHT_MM:
        raise Unusable(
            f"the fold is not straight: it bends by {cut_length(bend)}",
            f"Draw it straight to {fine_length(STRAIGHT_MM)}, or name another edge",
        )
    rest = stretch_points(outline, fold.end, fold.start)[1:-1]
    inside = float(((rest - along[0]) @ left).min())
    if inside <= SAME_POINT_MM:
        raise Unusable(
            f"the piece reaches {cut_length(abs(inside))} over its own fold line"
            if inside < -SAME_POINT_MM
            else "the piece touches its fold line outside the fold",
            "It would overlap itself unfolded; name the whole edge, or correct the outline",
        )


def _from_shape(shape: Shape, flatten_mm: float) -> Drawn:
    """Outline of a formula shape, counter-clockwise, its corners as each table of shapes says."""
    match shape:
        case Rectangle(width=width, height=height):
            return from_points([(0, 0), (width, 0), (width, height), (0, height)])
        case Trapezoid(bottom=bottom, top=top, height=height):
            inset = (bottom - top) / 2
            return from_points([(0, 0), (bottom, 0), (bottom - inset, height), (inset, height)])
        case Triangle(base=base, height=height):
            return from_points([(0, 0), (base, 0), (base / 2, height)])
        case RingSector():
            return _ring_sector(shape, flatten_mm)


def _ring_sector(ring: RingSector, flatten_mm: float) -> Drawn:
    if ring.inner_radius >= ring.outer_radius:
        raise Unusable("inner_radius is not below outer_radius", "Exchange or correct them")
    if ring.angle == 360:
        outer = closed(_arc(ring.outer_radius, 360, flatten_mm)[:-1], [0])
        return Drawn(outer.points, outer.corners, (_arc(ring.inner_radius, 360, flatten_mm)[:-1],))
    outer_arc = _arc(ring.outer_radius, ring.angle, flatten_mm)
    inner_arc = _arc(ring.inner_radius, ring.angle, flatten_mm)[::-1]
    points = np.concatenate([inner_arc[-1:], outer_arc, inner_arc[:-1]])
    return closed(points, [0, 1, len(outer_arc), len(outer_arc) + 1])


def _arc(radius: float, degrees: float, flatten_mm: float) -> FloatArray:
    """Points from angle 0 to `degrees` about the origin, both ends included."""
    steps = arc_steps(radius, math.radians(degrees), flatten_mm)
    angles = np.radians(np.linspace(0.0, degrees, steps + 1))
    return radius * np.column_stack([np.cos(angles), np.sin(angles)])
