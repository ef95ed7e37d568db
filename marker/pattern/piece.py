"""Pattern pieces as the pattern maker draws them, and the outlines that are cut from them."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from marker.geometry.arrays import FloatArray


class Line(StrEnum):
    """Which line of the pattern an outline was drawn along."""

    CUT = "cut line"
    STITCHING = "stitching line"


@dataclass(frozen=True)
class Stretch:
    """A stretch of outline, walked counter-clockwise from vertex `start` to vertex `end`."""

    start: int
    end: int


@dataclass(frozen=True)
class Notch:
    """A mark on the edge, `at_mm` along the named seam from that seam's start."""

    seam: str
    at_mm: float


@dataclass(frozen=True)
class Piece:
    """One pattern piece as drawn.

    outline : (n, 2) float64, mm, y up, counter-clockwise, first point not repeated, simple.
        The half on one side of the fold when `fold` is given.
    seams : name -> stretch of `outline`. Notches are measured along them.
    grain_deg : direction of the grain arrow in the drawing, degrees counter-clockwise from +x.
        The arrow points the way the nap runs when the piece lies unturned.
    turns : allowed turns of the arrow away from the cloth's own direction, degrees in [0, 360).
        The cloth's nap may forbid some of them.
    grain_tolerance_deg : the arrow may stray this far either side of an allowed turn.
    line, allowance_mm : the line drawn, and the seam allowance between the stitching line and
        the cut line. A cut line with allowance a is drawn a outside the stitching line.
    cutouts : outlines of holes, clockwise or not, drawn along the same line.
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
    seams: dict[str, Stretch] = field(default_factory=dict)
    notches: tuple[Notch, ...] = ()
    cutouts: tuple[FloatArray, ...] = ()


class Direction(StrEnum):
    """How a strip's length lies on the cloth."""

    CROSSGRAIN = "crossgrain"
    LENGTHGRAIN = "lengthgrain"
    BIAS = "bias"


@dataclass(frozen=True)
class Strip:
    """A band, binding or belt: a straight strip, cut to a length given or derived.

    Exactly one of these says how long it is cut:
    length_mm; or `finishes` with `ratio` (cut length between joins ÷ opening's seam-line length);
    or `finishes` with `shorter_by_mm`.
    finishes : ('piece', 'seam') pairs that together make the opening, in sewing order. A seam
        that ends on a fold is counted on both halves.
    join_allowance_mm : seam allowance at each join, also of the join that closes a ring.
    closed : the strip is sewn into a ring, so two join allowances are added to its length.
    """

    name: str
    cloth: str
    width_mm: float
    length_mm: float | None = None
    finishes: tuple[tuple[str, str], ...] = ()
    ratio: float | None = None
    shorter_by_mm: float | None = None
    closed: bool = False
    direction: Direction = Direction.CROSSGRAIN
    join_allowance_mm: float = 10.0
    cut: int = 1


@dataclass(frozen=True)
class CutPiece:
    """An outline as cut from one ply of the cloth: unfolded, allowances added, grain along +x.

    outline : (n, 2) float64, mm, counter-clockwise, first point not repeated. Laid unturned, the
        grain arrow points along +x, the cloth's length. A mirrored copy is reflected in the x axis
        (y -> -y) before it is turned.
    stitching : (m, 2) the stitching line in the same frame, empty (0, 2) when it is the cut line.
    notches : (k, 2) points on `outline`.
    fold_line : (2, 2) the fold it was opened along, or None.
    copies, mirrored_copies : how many of each hand one garment needs.
    note : what the cutter must know, such as 'joined from 2 parts, 810 mm each'.
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
    fold_line: FloatArray | None = None
    note: str = ""
