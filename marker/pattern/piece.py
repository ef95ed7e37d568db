"""Pattern pieces as the pattern maker draws them, the outlines that are cut from them, and
how a piece follows from another."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

import numpy as np
import shapely

from marker.geometry.arrays import FloatArray
from marker.pattern.edge import Edge, Notch, Stretch
from marker.pattern.fullness import TakenIn
from marker.pattern.inner_marks import InnerMark
from marker.pattern.repeats.match import Match, MatchPoint


class Line(StrEnum):
    """Which line of the pattern an outline was drawn along."""

    CUT = "cut line"
    STITCHING = "stitching line"


@dataclass(frozen=True)
class Piece:
    """One pattern piece as drawn.

    outline : (n, 2) float64, mm, y up, counter-clockwise, first point not repeated, simple.
        The half on one side of the fold when `fold` is given.
    edges : name -> stretch of `outline` with its own allowance. Notches are measured along them.
    drawn_clockwise : the outline was turned round when it was read. So the first corner of an edge
        as written is the last of its stretch; notches are measured from the one written.
    grain_deg : direction of the grain arrow in the drawing, degrees counter-clockwise from +x.
        The arrow points the way the nap runs when the piece lies unturned.
    turns : allowed turns of the arrow away from the cloth's own direction, degrees in [0, 360).
        The cloth's nap may forbid some of them.
    grain_tolerance_deg : the arrow may stray this far either side of an allowed turn.
    line, allowance_mm : the line drawn, and the allowance between the stitching line and the cut
        line wherever no edge has its own. A cut line is drawn that far outside the stitching line.
    cutouts : outlines of holes, clockwise or not, drawn along the same line.
    border : the edge that must lie on the cloth's border print, '' for none.
    fold_seam_mm : allowance of the seam that joins two halves where the fold is drawn; None where
        the piece is cut in one on the fold. It is sewn as before, so the fold stays.
    pieced_mm : allowance of a seam across its middle that joins two parts; None where it has none.
    fullness : what is taken in along its edges when they are sewn.
    inner_marks : what else is marked inside it, as drawn.
    recipe : how it follows from another piece; None for one that is drawn.
    corners : (k, 2) the corners as they were drawn, corner n of the job file at index n - 1.
    changed : it is no longer as its own table draws it.
    shortened_mm : edge -> how much was taken off the piece there.
    top_assumed : nobody said where its top is; the arrow points where its formula is most often
        worn, such as to the inner arc of a circle skirt.
    """

    name: str
    cloth: str
    outline: FloatArray
    cut: int = 1
    pair: bool = False
    fold: Stretch | None = None
    grain_deg: float = 90.0
    turns: tuple[float, ...] = (0.0, 180.0)
    grain_tolerance_deg: float = 0.0
    line: Line = Line.CUT
    allowance_mm: float = 0.0
    edges: dict[str, Edge] = field(default_factory=dict)
    notches: tuple[Notch, ...] = ()
    drawn_clockwise: bool = False
    cutouts: tuple[FloatArray, ...] = ()
    border: str = ""
    fold_seam_mm: float | None = None
    pieced_mm: float | None = None
    fullness: tuple[TakenIn, ...] = ()
    inner_marks: tuple[InnerMark, ...] = ()
    recipe: Recipe | None = None
    corners: FloatArray = field(default_factory=lambda: np.empty((0, 2)))
    top_assumed: bool = False
    changed: bool = False
    shortened_mm: Mapping[str, float] = field(default_factory=dict)

    @property
    def opened_along(self) -> Stretch | None:
        """The fold that it is opened along before it is cut."""
        return self.fold if self.fold_seam_mm is None else None


@dataclass(frozen=True)
class CutPiece:
    """An outline as cut from one ply of the cloth: unfolded, allowances added, grain along +x.

    outline : (n, 2) float64, mm, counter-clockwise, first point not repeated. Laid unturned, the
        grain arrow points along +x, the cloth's length. A mirrored copy is reflected in the x axis
        (y -> -y) before it is turned.
    stitching : (m, 2) the stitching line in the same frame, empty (0, 2) when it is the cut line.
    notches : (k, 2) points on `outline`. notch_letters : of the band mark that meets each, '' for
        none; () where no band meets it.
    fold_line : (2, 2) the fold it was opened along, or None.
    copies, mirrored_copies : how many of each hand one garment needs.
    note : what the cutter must know, such as 'joined from 2 parts, 81 cm each'.
    match_points : where it must show the same place of the cloth's repeat as other pieces.
    border : (2, 2) ends of the stitching line that must lie on the cloth's border print, or None.
        The piece is on the left of the way from the first to the second.
    inner_marks : what is marked inside it, on both halves of a piece opened along its fold.
    """

    name: str
    size: str
    cloth: str
    outline: FloatArray
    turns: tuple[float, ...]
    grain_tolerance_deg: float = 0.0
    copies: int = 1
    mirrored_copies: int = 0
    stitching: FloatArray = field(default_factory=lambda: np.empty((0, 2)))
    cutouts: tuple[FloatArray, ...] = ()
    notches: FloatArray = field(default_factory=lambda: np.empty((0, 2)))
    notch_letters: tuple[str, ...] = ()
    fold_line: FloatArray | None = None
    note: str = ""
    match_points: tuple[MatchPoint, ...] = ()
    border: FloatArray | None = None
    inner_marks: tuple[InnerMark, ...] = ()

    @property
    def area_mm2(self) -> float:
        """Of one copy, cut-outs not counted."""
        holes = sum(shapely.Polygon(hole).area for hole in self.cutouts)
        return float(shapely.Polygon(self.outline).area - holes)

    @property
    def matches(self) -> tuple[Match, ...]:
        """Those that it has points of."""
        return tuple({each.match.number: each.match for each in self.match_points}.values())

    def mapped(self, move: Callable[[FloatArray], FloatArray]) -> CutPiece:
        """The piece with all its points, (n, 2) at a time, where `move` puts them."""
        return replace(
            self,
            outline=move(self.outline),
            stitching=move(self.stitching),
            cutouts=tuple(move(hole) for hole in self.cutouts),
            notches=move(self.notches),
            fold_line=None if self.fold_line is None else move(self.fold_line),
            match_points=tuple(
                replace(each, point=move(each.point[np.newaxis])[0]) for each in self.match_points
            ),
            border=None if self.border is None else move(self.border),
            inner_marks=tuple(mark.mapped(move) for mark in self.inner_marks),
        )


INNER = "inner"
"""Name of the edge of a facing that is none of its piece's."""


@dataclass(frozen=True)
class Recipe:
    """What is taken of a piece, and how it is cut.

    of : name of the piece. from_cut_line : it is its cut line less the trim, without allowances of
        its own to sew by; else its stitching line.
    trim_mm, trims_mm : how much smaller it is along every edge, and along single ones.
    near, within_mm : edges of the piece, and how far from them the part reaches that is taken;
        all of it without any.
    cut, pair, turns : as of a Piece, None for those of the piece.
    allowance_mm : outside the stitching line. edges : edge -> what it says of its own allowance,
        hem and corner; its stretch means nothing.
    """

    name: str
    cloth: str
    of: str
    from_cut_line: bool = False
    trim_mm: float = 0.0
    trims_mm: Mapping[str, float] = field(default_factory=dict)
    near: tuple[str, ...] = ()
    within_mm: float = 0.0
    cut: int | None = None
    pair: bool | None = None
    turns: tuple[float, ...] | None = None
    allowance_mm: float = 0.0
    edges: Mapping[str, Edge] = field(default_factory=dict)
