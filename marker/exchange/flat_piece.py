"""Pieces drawn flat: what pattern files of any format say of one piece."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.geometry.grain import grain_chord, shortened
from marker.geometry.polygons import turned
from marker.pattern.inner_marks import InnerMark, MarkKind
from marker.pattern.piece import CutPiece, Line


def _no_points() -> FloatArray:
    return np.empty((0, 2))


class Graded(StrEnum):
    """What of a piece a grade point belongs to."""

    OUTLINE = "outline"
    STITCHING = "stitching line"
    NOTCH = "notch"


@dataclass(frozen=True, eq=False)
class GradePoint:
    """A point of the sample size that moves by a numbered rule in the others. at : (2,) mm."""

    at: FloatArray
    rule: int
    of: Graded = Graded.OUTLINE


@dataclass(frozen=True)
class FlatPiece:
    """One piece as pattern files hold it, lengths in mm, y up.

    size : "" when the file does not say; so are cloth and note.
    outline : (n, 2), either way round, first point not repeated: the cut line, or the stitching
        line where `line` says so and no cut line was drawn.
    cut, mirrored : how many for one garment, both hands together, and how many of them are
        mirrored.
    turns, grain_tolerance_deg : as in `marker.pattern.piece.Piece`.
    cutouts : outlines of holes, drawn along the same line.
    stitching : (m, 2) stitching line inside the cut line, (0, 2) when none is drawn.
    grain : (2, 2) from its tail to the head that the nap points to; None when none is drawn.
    fold : (2, 2) where the piece lies on the fold and goes on in its mirror image; None if whole.
    notches : (k, 2) points on the outline.
    turn_points : (k, 2) corners of the outline, besides those that its angles show.
    inner_marks : what else is drawn inside it and not cut.
    grade_points : those that a file in the sample size names rules for.
    """

    name: str
    outline: FloatArray
    size: str = ""
    cloth: str = ""
    note: str = ""
    cut: int = 1
    mirrored: int = 0
    turns: tuple[float, ...] = (0.0, 180.0)
    grain_tolerance_deg: float = 0.0
    line: Line = Line.CUT
    cutouts: tuple[FloatArray, ...] = ()
    stitching: FloatArray = field(default_factory=_no_points)
    grain: FloatArray | None = None
    fold: FloatArray | None = None
    notches: FloatArray = field(default_factory=_no_points)
    turn_points: FloatArray = field(default_factory=_no_points)
    inner_marks: tuple[InnerMark, ...] = ()
    grade_points: tuple[GradePoint, ...] = ()

    def moved(self, by: FloatArray) -> FlatPiece:
        """The piece moved by (2,) mm."""
        return replace(
            self,
            outline=self.outline + by,
            cutouts=tuple(hole + by for hole in self.cutouts),
            stitching=self.stitching + by,
            grain=None if self.grain is None else self.grain + by,
            fold=None if self.fold is None else self.fold + by,
            notches=self.notches + by,
            turn_points=self.turn_points + by,
            inner_marks=tuple(mark.mapped(lambda points: points + by) for mark in self.inner_marks),
            grade_points=tuple(replace(each, at=each.at + by) for each in self.grade_points),
        )

    def turned(self, degrees: float, mirrored: bool) -> FlatPiece:
        """The piece reflected in the x axis if `mirrored`, then turned counter-clockwise; rules do
        not turn with it, so its grade points are left out."""

        def turn(points: FloatArray) -> FloatArray:
            return turned(points, degrees, mirrored)

        return replace(
            self,
            outline=turn(self.outline),
            cutouts=tuple(map(turn, self.cutouts)),
            stitching=turn(self.stitching),
            grain=None if self.grain is None else turn(self.grain),
            fold=None if self.fold is None else turn(self.fold),
            notches=turn(self.notches),
            turn_points=turn(self.turn_points),
            inner_marks=tuple(mark.mapped(turn) for mark in self.inner_marks),
            grade_points=(),
        )


def flat_piece(piece: CutPiece) -> FlatPiece:
    """A piece as cut: whole, its grain along +x; the line of its fold is one that is not cut."""
    return FlatPiece(
        name=" ".join(piece.name.split()),
        outline=piece.outline,
        size=piece.size,
        cloth=piece.cloth,
        note=piece.note,
        cut=piece.copies + piece.mirrored_copies,
        mirrored=piece.mirrored_copies,
        turns=piece.turns,
        grain_tolerance_deg=piece.grain_tolerance_deg,
        cutouts=piece.cutouts,
        stitching=piece.stitching,
        grain=shortened(grain_chord(piece.outline, piece.cutouts)),
        notches=piece.notches,
        inner_marks=(*_fold_mark(piece), *piece.inner_marks),
    )


def _fold_mark(piece: CutPiece) -> tuple[InnerMark, ...]:
    """Where it was opened from the fold."""
    fold = piece.fold_line
    return () if fold is None else (InnerMark(MarkKind.FOLD_LINE, fold),)
