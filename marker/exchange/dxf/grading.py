"""Grade points of ASTM D6673, texts '# N' by the points that move by rule N: read, and written."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely

from marker.errors import CannotBeDone
from marker.exchange.cloth_facts import facts_of
from marker.exchange.dxf.rule_file import Move, RuleFile
from marker.exchange.flat_piece import FlatPiece, Graded, GradePoint
from marker.exchange.laid_flat import Sheet, pieces_of, sheet
from marker.exchange.strokes import Layer, Strokes, Text
from marker.geometry.arrays import FloatArray
from marker.geometry.resizing import NoCorrespondenceError, corresponding, telling_moves
from marker.job import Job

BY_POINT_MM = 5.0  # a text begins this near to its point: common practice, no source
_NUMBER = re.compile(r"\s*#\s*\d{1,6}\s*")
_OF = {Layer.STITCHING: Graded.STITCHING, Layer.NOTCHES: Graded.NOTCH}


def is_grade_point(text: Text) -> bool:
    """Whether a text names the rule of a point."""
    return _NUMBER.fullmatch(text.text) is not None


def with_grade_points(found: Strokes, pieces: Sequence[FlatPiece]) -> list[FlatPiece]:
    """The pieces with the grade points written by them; what lies by none is noted."""
    given: list[list[GradePoint]] = [[] for _ in pieces]
    lines = [shapely.LinearRing(piece.outline) for piece in pieces]
    for text in filter(is_grade_point, found.texts):
        off = [line.distance(shapely.Point(text.at)) for line in lines]
        if len(lines) == 1 or (lines and min(off) <= BY_POINT_MM):
            of = _OF.get(text.layer, Graded.OUTLINE) if text.layer else Graded.OUTLINE
            number = int(text.text.replace("#", ""))
            given[int(np.argmin(off))].append(GradePoint(text.at, number, of))
        else:
            found.passed_over["grade points that lie by no piece"] += 1
    return [
        replace(piece, grade_points=tuple(own)) for piece, own in zip(pieces, given, strict=True)
    ]


class Rulings:
    """Which rule each vertex of a line, and each notch, moves by.

    vertices, notches : number, from 0, -> rule. lost : grade points that lie by neither, or by one
        that has another rule.
    """

    def __init__(
        self, points: FloatArray, notches: FloatArray, given: Iterator[GradePoint]
    ) -> None:
        """points : (n, 2), the line's vertices; notches : (k, 2); given : those of this line."""
        self.vertices: dict[int, int] = {}
        self.notches: dict[int, int] = {}
        self.lost = 0
        for each in given:
            vertex, to_vertex = _nearest(points, each.at)
            notch, to_notch = _nearest(notches, each.at)
            at_notch = to_notch <= BY_POINT_MM and (each.of is Graded.NOTCH or to_notch < to_vertex)
            if not at_notch and to_vertex > BY_POINT_MM:
                self.lost += 1
                continue
            ruled, number = (self.notches, notch) if at_notch else (self.vertices, vertex)
            self.lost += ruled.setdefault(number, each.rule) != each.rule


def _nearest(points: FloatArray, to: FloatArray) -> tuple[int, float]:
    if not len(points):
        return -1, np.inf
    apart = np.hypot(*(points - to).T)
    return int(np.argmin(apart)), float(apart.min())


_WITHIN_MM = 0.005  # coarser, and notches jump: they stand square to short chords of curves
_DECIMALS = 3  # of a move in mm
_REMEDY = "Leave --rules out: then each size is drawn."


class _Rules:
    """Rules numbered as they are met; equal moves are one rule."""

    def __init__(self) -> None:
        self.moves: dict[int, tuple[Move, ...]] = {}
        self._numbers: dict[tuple[Move, ...], int] = {}

    def number(self, moves: FloatArray) -> int:
        """moves : (sizes, 2) mm."""
        rounded = np.round(moves, _DECIMALS) + 0.0
        key = tuple((float(dx), float(dy)) for dx, dy in rounded)
        number = self._numbers.setdefault(key, len(self._numbers) + 1)
        self.moves[number] = key
        return number


def graded_sheet(job: Job) -> tuple[Sheet, RuleFile]:
    """The sample size's pieces as cut, with their grade points, and the rules, in mm.

    Raises CannotBeDone where sizes do not differ, and for a piece that rules can not make: it
    has cut-outs, or not the same corners or notches in every size.
    """
    if len(job.sizes) < 2:
        raise CannotBeDone(f"the pattern comes in size {job.size} only. {_REMEDY}")
    if any("," in size for size in job.sizes):
        raise CannotBeDone(f"a rule file can't hold sizes with a comma in their names. {_REMEDY}")
    rules = _Rules()
    in_sizes = [pieces_of(job, size) for size in job.sizes]
    own = job.sizes.index(job.size)
    pieces = [_graded(in_size, own, rules) for in_size in zip(*in_sizes, strict=True)]
    if not rules.moves:
        raise CannotBeDone(f"every piece is the same in every size. {_REMEDY}")
    return (
        replace(sheet(job.name, job.size, pieces), cloths=tuple(map(facts_of, job.cloths))),
        RuleFile(job.name, job.sizes, job.size, 1.0, rules.moves),
    )


def _graded(in_sizes: Sequence[FlatPiece], own: int, rules: _Rules) -> FlatPiece:
    """One piece in every size as its sample size, entry `own`, with grade points."""
    sample = in_sizes[own]
    if not _is_graded(in_sizes):
        return sample
    if any(piece.cutouts for piece in in_sizes):
        raise CannotBeDone(
            f"piece {sample.name!r} has cut-outs, which rules do not grade. {_REMEDY}"
        )
    if len({len(piece.notches) for piece in in_sizes}) > 1:
        raise CannotBeDone(
            f"piece {sample.name!r} has not the same notches in each size. {_REMEDY}"
        )
    outline, points = _ring(
        sample.name, [piece.outline for piece in in_sizes], own, Graded.OUTLINE, rules
    )
    stitching = sample.stitching
    sewn: list[GradePoint] = []
    if len(stitching):
        stitching, sewn = _ring(
            sample.name, [piece.stitching for piece in in_sizes], own, Graded.STITCHING, rules
        )
    notches = np.array([piece.notches for piece in in_sizes]).swapaxes(0, 1)
    for at in notches:
        points.append(GradePoint(at[own], rules.number(at - at[own]), Graded.NOTCH))
    return replace(sample, outline=outline, stitching=stitching, grade_points=(*points, *sewn))


def _is_graded(in_sizes: Sequence[FlatPiece]) -> bool:
    """Whether a piece is not the same in every size."""
    first = list(_lines(in_sizes[0]))
    return any(
        len(lines) != len(first)
        or any(
            a.shape != b.shape or not np.allclose(a, b, rtol=0, atol=10.0**-_DECIMALS)
            for a, b in zip(first, lines, strict=True)
        )
        for lines in map(list, map(_lines, in_sizes[1:]))
    )


def _lines(piece: FlatPiece) -> Iterator[FloatArray]:
    yield from (piece.outline, piece.stitching, piece.notches, *piece.cutouts)


def _ring(
    name: str, rings: Sequence[FloatArray], own: int, of: Graded, rules: _Rules
) -> tuple[FloatArray, list[GradePoint]]:
    """A line of the sample size, with what points the other sizes need, and its grade points."""
    order = [own, *(k for k in range(len(rings)) if k != own)]
    try:
        found = corresponding([rings[k] for k in order], _WITHIN_MM)
    except NoCorrespondenceError:
        raise CannotBeDone(
            f"piece {name!r}: its {of} has not the same corners in every size. {_REMEDY}"
        ) from None
    points = []
    for vertex in telling_moves(found, _WITHIN_MM):
        moves = np.empty((len(rings), 2))
        moves[order] = found[:, vertex] - found[0, vertex]
        points.append(GradePoint(found[0, vertex], rules.number(moves), of))
    return found[0], points
