"""Grade points of ASTM D6673: texts '# N' by the points of a pattern that move by rule N."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely

from marker.exchange.flat_piece import FlatPiece, Graded, GradePoint
from marker.exchange.layers import Layer
from marker.exchange.strokes import Strokes, Text
from marker.geometry.arrays import FloatArray

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
