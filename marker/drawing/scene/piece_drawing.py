"""A piece as it is drawn: its lines and marks, and what is said of it; mm of cloth."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from marker.geometry.arrays import FloatArray
from marker.geometry.grain import chord_through, grain_chord, shortened
from marker.geometry.outline import inward_at
from marker.layout import Placement
from marker.pattern.inner_marks import Hand, InnerMark
from marker.pattern.piece import CutPiece
from marker.tolerances import SAME_POINT_MM
from marker.words import size_words

STRAIGHT_MM = 0.5  # a fold that strays from the grain by less lies along it
EQUAL_MM = 0.5  # ends of a line that differ by less are equally far
_ALONG = 0.5  # cosine of the angle up to which a direction counts as along another
_HAIR_SEEN_MM = 0.5  # nearer the start line or the selvage is on it


def laid(points: FloatArray, place: Placement) -> FloatArray:
    """Points (n, 2) of a cut piece where `place` lays them: reflected, turned, moved; mm."""
    hand = np.array([1.0, -1.0 if place.mirrored else 1.0])
    angle = np.radians(place.rotation_deg)
    cos, sin = np.cos(angle), np.sin(angle)
    turn = np.array([[cos, sin], [-sin, cos]])
    moved: FloatArray = (points * hand) @ turn + np.array([place.x_mm, place.y_mm])
    return moved


def half(ring: FloatArray, fold_y: float, above: bool) -> FloatArray:
    """(m, 2) what of a ring (n, 2) lies above a fold along the cloth, or below it; (0, 2) if
    nothing does."""
    if len(ring) == 0:
        return ring
    (low_x, low_y), (high_x, high_y) = ring.min(axis=0) - 1.0, ring.max(axis=0) + 1.0
    bounds = (fold_y, high_y) if above else (low_y, fold_y)
    part = shapely.Polygon(ring).intersection(shapely.box(low_x, bounds[0], high_x, bounds[1]))
    solid = [each for each in shapely.get_parts(part) if each.area > 0]
    if not solid:
        return np.empty((0, 2))
    largest = max(solid, key=lambda each: each.area)
    return np.asarray(shapely.get_coordinates(largest.exterior)[:-1])


def folded(line: FloatArray, fold_y: float, side: float) -> FloatArray:
    """A line or point (n, 2) with what lies beyond the fold turned over onto this side, (m, 2).

    It has a point more wherever it crosses the fold. side : +1 above the fold, -1 below.
    """
    rows = [line[0]]
    for start, end in pairwise(line):
        before, after = start[1] - fold_y, end[1] - fold_y
        if before * after < 0:
            rows.append(start + before / (before - after) * (end - start))
        rows.append(end)
    points = np.array(rows)
    points[:, 1] = fold_y + side * np.abs(points[:, 1] - fold_y)
    return points


def off_fold(ring: FloatArray, fold: FloatArray | None) -> list[FloatArray]:
    """The ring as runs, each (k, 2): closed, or what of it does not lie on the line (2, 2) at which
    the cloth or the piece is folded."""
    closed = np.vstack([ring, ring[:1]])
    if fold is None:
        return [closed]
    around = shapely.LineString(fold).buffer(SAME_POINT_MM, cap_style="square")
    rest = shapely.line_merge(shapely.LineString(closed).difference(around))
    return [shapely.get_coordinates(run) for run in shapely.get_parts(rest) if run.length > 0]


@dataclass(frozen=True)
class NotchMark:
    """A mark to cut or chalk at `point`, pointing `inward` (a unit vector) from the cut line.

    letter : of the band mark that it meets, '' for none.
    """

    point: tuple[float, float]
    inward: tuple[float, float]
    letter: str = ""


@dataclass(frozen=True)
class MatchMark:
    """A point that shows the same place of the repeat as all others of its letter; `inward` is a
    unit vector into the piece from the cut line nearest to it."""

    letter: str
    point: tuple[float, float]
    inward: tuple[float, float]


@dataclass(frozen=True)
class Grain:
    """Where a piece's grain arrow points.

    direction : unit vector.
    either_way : the piece may also be turned end for end.
    nap : the arrow also says which way the nap runs.
    """

    direction: tuple[float, float]
    either_way: bool
    nap: bool

    @property
    def goes_without_saying(self) -> bool:
        """The grain lies along the cloth and the piece may be turned end for end."""
        return self.either_way and abs(self.direction[1]) < 1e-6


@dataclass(frozen=True)
class Placing:
    """How a piece is set on the cloth: by its grain line, or by its fold where one is drawn on it.

    line : (2, 2) from edge to edge, beginning at the edge that is measured to.
    along : the line lies along the cloth; else across it.
    """

    line: FloatArray
    along: bool

    @property
    def from_start_mm(self) -> tuple[float, ...]:
        """From the start line to the edge; to both ends of a line across the cloth, if unequal."""
        return _ends(self.line[:1, 0] if self.along else self.line[:, 0])

    @property
    def from_selvage_mm(self) -> tuple[float, ...]:
        """From the near selvage to both ends of the line, once if they are equal; to the edge where
        the line lies across the cloth."""
        return _ends(self.line[:, 1] if self.along else self.line[:1, 1])


def _ends(distances: FloatArray) -> tuple[float, ...]:
    near = [abs(float(mm)) if abs(mm) < _HAIR_SEEN_MM else float(mm) for mm in distances]
    return (near[0],) if np.ptp(distances) < EQUAL_MM else tuple(near)


@dataclass(frozen=True)
class PieceDrawing:
    """One piece as laid.

    number : of `layout.on_table`.
    cut : what to cut of it, in words, where one drawing stands for all its copies. plies : what
        comes of it, in words, where it is cut through two plies or on the fold.
    fold_y : where the cloth's fold bounds it; what is drawn is one half of the piece.
    to_fold : (2, 2) the edge to place on the cloth's fold, where the pattern is drawn as a half.
    garment : None when the layout holds one garment only.
    grain_line : (2, 2) where its arrow is drawn, tail first; the same line wherever it is drawn.
    placing : what a cutter measures to set it.
    inner_marks : what else is marked inside it.
    facts : what else is said of it, line by line. others : the same piece in other sizes.
    outline, cutouts, stitching, fold_line : (n, 2) mm; the cut line is the outline and cut-outs.
        No stitching line: (0, 2).
    """

    number: int
    name: str
    size: str
    garment: int | None
    copy: int
    copies: int
    mirrored: bool
    note: str
    grain_line: FloatArray
    placing: Placing
    outline: FloatArray
    cutouts: tuple[FloatArray, ...]
    stitching: FloatArray
    fold_line: FloatArray | None
    notches: tuple[NotchMark, ...]
    grain: Grain
    cut: str = ""
    matches: tuple[MatchMark, ...] = ()
    plies: str = ""
    fold_y: float | None = None
    inner_marks: tuple[InnerMark, ...] = ()
    to_fold: FloatArray | None = None
    facts: tuple[str, ...] = ()
    others: tuple[PieceDrawing, ...] = ()

    @property
    def in_all_sizes(self) -> tuple[PieceDrawing, ...]:
        """This one and the same piece in other sizes."""
        return (self, *self.others)

    @property
    def size_words(self) -> str:
        """'size 38', 'sizes 36, 38'; nothing of what comes in no sizes."""
        return size_words([each.size for each in self.in_all_sizes])

    @property
    def uncut(self) -> FloatArray | None:
        """(2, 2) the line of its outline along which it is folded, not cut."""
        if self.fold_y is None:
            return self.to_fold
        low, high = self.outline[:, 0].min(), self.outline[:, 0].max()
        return np.array([[low, self.fold_y], [high, self.fold_y]])

    def ticks(self, longest_mm: float) -> list[FloatArray]:
        """Each notch as a line (2, 2) from the cut line inward, mm of cloth.

        They are shorter on a narrow piece: the middle of a band stays free for its name.
        """
        length = min(longest_mm, float(np.ptp(self.outline, axis=0).min()) / 8)
        return [
            np.array([mark.point, mark.point + length * np.array(mark.inward)])
            for mark in self.notches
        ]

    @property
    def copy_words(self) -> str:
        """Which copy, or what is cut at once, and whether the pattern lies turned over."""
        said = self.cut or self.plies or f"{self.copy} of {self.copies}"
        return said + " · mirrored" * (self.mirrored and not self.cut)


def piece_drawing(place: Placement, pattern: CutPiece, nap: bool, several: bool) -> PieceDrawing:
    """One placement of a pattern, not yet numbered; `several` garments are told apart."""
    outline = place.outline_mm
    holes = tuple(laid(hole, place) for hole in pattern.cutouts)
    chord, line = _lines_to_measure(pattern)
    grain = _grain(place.rotation_deg, pattern.turns, nap)
    letters = pattern.notch_letters or ("",) * len(pattern.notches)
    return PieceDrawing(
        number=0,
        name=" ".join(place.piece.split()),
        size=place.size,
        garment=place.garment if several else None,
        copy=place.copy,
        copies=pattern.copies + pattern.mirrored_copies,
        mirrored=place.mirrored,
        note=pattern.note,
        grain_line=_arrow_line(grain, laid(chord, place), outline, holes),
        placing=placing(laid(line, place)),
        outline=outline,
        cutouts=holes,
        stitching=laid(pattern.stitching, place),
        fold_line=None if pattern.fold_line is None else laid(pattern.fold_line, place),
        notches=tuple(
            NotchMark((float(x), float(y)), inward_at(outline, np.array([x, y])), letter)
            for (x, y), letter in zip(laid(pattern.notches, place), letters, strict=True)
        ),
        grain=grain,
        matches=tuple(
            MatchMark(
                match.match.letter, (float(x), float(y)), inward_at(outline, np.array([x, y]))
            )
            for match in pattern.match_points
            for x, y in laid(match.point[np.newaxis], place)
        ),
        inner_marks=tuple(
            mark.mapped(lambda points: laid(points, place))
            for mark in pattern.inner_marks
            if mark.hand is not (Hand.DRAWN if place.mirrored else Hand.MIRRORED)
        ),
    )


def _lines_to_measure(pattern: CutPiece) -> tuple[FloatArray, FloatArray]:
    """The grain line, and the line that the piece is set by: its fold where that is drawn along the
    grain, else the grain line. (2, 2) each, from edge to edge."""
    grain = grain_chord(pattern.outline, pattern.cutouts)
    fold = pattern.fold_line
    if fold is None or abs(fold[1, 1] - fold[0, 1]) > STRAIGHT_MM:
        return grain, grain
    return grain, chord_through(pattern.outline, pattern.cutouts, fold)


def placing(line: FloatArray) -> Placing:
    """What a cutter measures of a line (2, 2) from edge to edge of a laid piece."""
    along = abs(line[1, 0] - line[0, 0]) >= abs(line[1, 1] - line[0, 1])
    order = np.argsort(line[:, 0 if along else 1])
    return Placing(line[order], bool(along))


def _grain(rotation_deg: float, turns: tuple[float, ...], nap: bool) -> Grain:
    """The arrow points as the piece does. Where nap matters and the piece lies across the cloth, it
    says nothing of the nap; but a bias strip, which may lie along or across, shows the nap itself.
    """
    angle = np.radians(rotation_deg)
    direction = float(np.cos(angle)), float(np.sin(angle))
    across = abs(direction[0]) < _ALONG
    if nap and across and len({turn % 180 for turn in turns}) > 1:
        return Grain((1.0 if direction[1] > 0 else -1.0, 0.0), either_way=False, nap=True)
    turned_about = any((turn + 180) % 360 in {other % 360 for other in turns} for turn in turns)
    return Grain(direction, either_way=turned_about and not nap, nap=nap and not across)


def _arrow_line(
    grain: Grain, chord: FloatArray, outline: FloatArray, holes: tuple[FloatArray, ...]
) -> FloatArray:
    """(2, 2) where the arrow is drawn: on the grain line, unless the arrow points across it."""
    way, run = np.array(grain.direction), chord[1] - chord[0]
    if float(run @ way) > _ALONG * float(np.hypot(*run)):
        return shortened(chord)
    along = shortened(grain_chord(outline, holes))
    return along if way[0] > 0 else along[::-1]
