"""Grading by rules: how the corners of the sample size move in the other sizes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from marker.geometry.arrays import FloatArray
from marker.pattern.edge import Notch
from marker.pattern.piece import Piece
from marker.pattern.stitching import edge_length_mm


@dataclass(frozen=True)
class GradeRule:
    """A named rule: where a point of the sample size lies in each other size.

    moves_mm : size -> (dx, dy), mm from the sample size's point, x to the right and y up in the
        drawing; (0, 0) for the sample size.
    """

    name: str
    moves_mm: Mapping[str, tuple[float, float]]


def graded_piece(sample: Piece, outline: FloatArray, kept: frozenset[int]) -> Piece:
    """The sample size's piece with its outline in another size, vertex by vertex the same.

    A notch stays at the share of its edge's stitching line where it stood, except those `kept` (by
    their place in `notches`), which stay at their distance. Raises CannotBeDone where no stitching
    line is left.
    """
    graded = replace(sample, outline=outline)

    def moved(notch: Notch) -> Notch:
        ratio = edge_length_mm(graded, notch.edge) / edge_length_mm(sample, notch.edge)
        return replace(notch, at_mm=notch.at_mm * ratio)

    notches = (
        notch if number in kept else moved(notch) for number, notch in enumerate(sample.notches)
    )
    return replace(graded, notches=tuple(notches))
