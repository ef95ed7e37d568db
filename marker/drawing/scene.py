"""What there is to draw of a checked layout, in mm of cloth; knows no paper and no drawing library.

x runs along the cloth from the start line (the inner end of the first end allowance), y across it
from the inner edge of the near selvage: the frame of the layout itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from marker.cloth.buying import Purchase
from marker.cloth.fabric import Nap
from marker.cloth.fixed_length import room_mm
from marker.cloth.flaws import Flaw
from marker.cloth.repeat import Bars
from marker.cloth.spread import Spreading
from marker.drawing.facts import Fact, title_facts
from marker.drawing.frame import laid
from marker.drawing.halves import half
from marker.drawing.spread_cloth import Area, FoldEdge, spread_cloth
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import inward_at
from marker.layout import CheckedLayout, Layout, Placement
from marker.leftovers import leftovers
from marker.on_table import OnTable, on_table
from marker.pattern.piece import CutPiece

SPARE = " and a spare"


@dataclass(frozen=True)
class NotchMark:
    """A mark to cut or chalk at `point`, pointing `inward` (a unit vector) from the cut line."""

    point: tuple[float, float]
    inward: tuple[float, float]


@dataclass(frozen=True)
class MatchMark:
    """A point that shows the same place of the repeat as all others of its letter; `inward` is a
    unit vector into the piece from the cut line nearest to it."""

    letter: str
    point: tuple[float, float]
    inward: tuple[float, float]


@dataclass(frozen=True)
class RepeatLines:
    """Where the cloth's repeats begin, along it and across it, and its border's line, mm; none
    where it has none."""

    along_mm: tuple[float, ...] = ()
    across_mm: tuple[float, ...] = ()
    border_mm: float | None = None


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
class PieceDrawing:
    """One piece as laid.

    number : counted from 1 along the cloth.
    cut : what to cut of it, in words, where one drawing stands for all its copies. plies : what
        comes of it, in words, where it is cut through two plies or on the fold.
    fold_y : where the cloth's fold bounds it; what is drawn is one half of the piece.
    garment : None when the layout holds one garment only.
    reference : lower left corner of the piece's bounding box, from which its place is measured.
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
    reference: tuple[float, float]
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

    @property
    def copy_words(self) -> str:
        """Which copy, or what is cut at once, and whether the pattern lies turned over."""
        said = self.cut or self.plies or f"{self.copy} of {self.copies}"
        return said + " · mirrored" * (self.mirrored and not self.cut)


@dataclass(frozen=True)
class Scene:
    """Everything a diagram, a full-size page or a cutting sheet can show.

    length_mm, width_mm : of the cloth the pieces lie on, without end allowances and selvages.
    end_mm, selvage_mm : cloth beyond that at each end and along each edge.
    nap : the cloth looks different upside down, with the nap running along +x.
    spare_boxes : low and high corner, (2, 2) each, of the largest rectangles left over.
    lacking : outlines, (n, 2) each, of what a remnant lacks of the rectangle.
    room_mm : where a cloth of fixed length ends, less than `length_mm` if the layout does not fit.
    spread : how it lies. near_edge, start : what is at its near edge and at x = 0. folds : edges
        where it is folded. one_ply_mm : x from which it lies in one ply, behind two.
    """

    job_name: str
    cloth_name: str
    facts: tuple[Fact, ...]
    length_mm: float
    width_mm: float
    end_mm: float
    selvage_mm: float
    nap: bool
    areas: tuple[Area, ...]
    pieces: tuple[PieceDrawing, ...]
    flaws: tuple[Flaw, ...] = ()
    repeat: RepeatLines = RepeatLines()
    spare_boxes: tuple[FloatArray, ...] = ()
    lacking: tuple[FloatArray, ...] = ()
    room_mm: float = float("inf")
    spread: Spreading = Spreading.OPEN
    near_edge: str = "selvage"
    start: str = "START OF CLOTH"
    folds: tuple[FoldEdge, ...] = ()
    one_ply_mm: float | None = None


def build_scene(checked: CheckedLayout, purchase: Purchase) -> Scene:
    """Scene of one cloth's checked layout and what is bought for it."""
    layout, cloth = checked.layout, checked.layout.cloth
    end_mm = purchase.end_allowance_mm / 2
    remnant = cloth.remnant
    if remnant:  # all of it is there to be seen
        layout = replace(layout, length_mm=remnant.along_mm)
    lies = spread_cloth(layout, end_mm)
    boxes = tuple(box for left in leftovers(checked, purchase) for box in left.rectangles)
    return Scene(
        job_name=layout.job_name,
        cloth_name=f"{cloth.name}: {remnant.name}" if remnant else cloth.name,
        facts=title_facts(checked, purchase),
        length_mm=lies.length_mm,
        width_mm=lies.width_mm,
        end_mm=end_mm,
        selvage_mm=cloth.selvage_mm,
        nap=cloth.nap is not Nap.EITHER_WAY,
        areas=lies.areas,
        pieces=_pieces(checked, lies.near_mm),
        flaws=lies.flaws,
        spread=layout.spread.spreading,
        near_edge=lies.near_edge,
        start=lies.start,
        folds=lies.folds,
        one_ply_mm=lies.one_ply_mm,
        repeat=_repeat_lines(layout, end_mm),
        spare_boxes=boxes if layout.spread.spreading.plies == 1 else (),
        lacking=lies.lacking,
        # on the table, where it may be folded in two
        room_mm=room_mm(cloth) - layout.length_mm + lies.length_mm,
    )


def _repeat_lines(layout: Layout, end: float) -> RepeatLines:
    """On two plies only those that lie the same on both."""
    cloth, spreading = layout.cloth, layout.spread.spreading
    repeat, border, width = cloth.repeat, cloth.border, cloth.usable_width_mm
    along = () if spreading.ends_meet else _begins(repeat.along, -end, layout.length_mm + end)
    if spreading.plies == 2:
        return RepeatLines(along)
    return RepeatLines(
        along,
        _begins(repeat.across, -cloth.selvage_mm, width + cloth.selvage_mm),
        border.across_mm(width) if border else None,
    )


def _begins(bars: Bars | None, low: float, high: float) -> tuple[float, ...]:
    """Where repeats begin between two places of one axis, mm."""
    if bars is None:
        return ()
    first = bars.begins_mm + bars.every_mm * math.ceil((low - bars.begins_mm) / bars.every_mm)
    return tuple(np.arange(first, high, bars.every_mm).tolist())


def _pieces(checked: CheckedLayout, near_mm: float) -> tuple[PieceDrawing, ...]:
    patterns = {(piece.name, piece.size): piece for piece in checked.cut_pieces}
    nap = checked.layout.cloth.nap is not Nap.EITHER_WAY
    several = len(checked.garments) > 1
    drawn = []
    for each in on_table(checked):
        pattern = patterns[each.upper.piece, each.upper.size]
        place = _moved(each.upper, -each.along_mm, -near_mm)
        drawing = piece_drawing(place, pattern, nap, several)
        if each.fold is not None:
            drawing = _half(drawing, each.fold - near_mm, each.above_fold)
        drawn.append(replace(drawing, plies=_plies(each, drawing)))
    drawn.sort(key=lambda piece: (*piece.reference, piece.name, piece.garment or 0, piece.copy))
    return tuple(replace(piece, number=k) for k, piece in enumerate(drawn, start=1))


def _moved(place: Placement, dx: float, dy: float) -> Placement:
    outline = place.outline_mm + np.array([dx, dy])
    return replace(place, x_mm=place.x_mm + dx, y_mm=place.y_mm + dy, outline_mm=outline)


def _half(drawing: PieceDrawing, fold_y: float, above: bool) -> PieceDrawing:
    """The half that is seen, with the notches of both."""
    outline = half(drawing.outline, fold_y, above)
    side = 1.0 if above else -1.0
    points = [
        (x, fold_y + side * abs(y - fold_y)) for (x, y) in (each.point for each in drawing.notches)
    ]
    low_x, low_y = outline.min(axis=0)
    holes = [half(hole, fold_y, above) for hole in drawing.cutouts]
    return replace(
        drawing,
        reference=(float(low_x), float(low_y)),
        outline=outline,
        cutouts=tuple(hole for hole in holes if len(hole)),
        stitching=half(drawing.stitching, fold_y, above),
        notches=tuple(
            NotchMark(each, inward_at(drawing.outline, np.array(each))) for each in points
        ),
        fold_y=fold_y,
    )


def _plies(each: OnTable, drawing: PieceDrawing) -> str:
    """What comes of a cut, in words; nothing to say of one ply."""
    of = f"of {drawing.copies}"
    if each.fold is not None:
        return f"{drawing.copy} {of} · on the fold"
    if each.lower is None:
        return ""
    if each.unwanted is not None:
        return f"{drawing.copy} {of}{SPARE} · two plies"
    if each.lower.garment != each.upper.garment:
        garments = sorted((each.lower.garment, each.upper.garment))
        return f"garments {garments[0]} and {garments[1]} · two plies"
    copies = sorted((each.lower.copy, each.upper.copy))
    return f"{copies[0]} and {copies[1]} {of} · two plies"


def piece_drawing(place: Placement, pattern: CutPiece, nap: bool, several: bool) -> PieceDrawing:
    """One placement of a pattern, not yet numbered; `several` garments are told apart."""
    outline = place.outline_mm
    low_x, low_y = outline.min(axis=0)
    return PieceDrawing(
        number=0,
        name=" ".join(place.piece.split()),
        size=place.size,
        garment=place.garment if several else None,
        copy=place.copy,
        copies=pattern.copies + pattern.mirrored_copies,
        mirrored=place.mirrored,
        note=pattern.note,
        reference=(float(low_x), float(low_y)),
        outline=outline,
        cutouts=tuple(laid(hole, place) for hole in pattern.cutouts),
        stitching=laid(pattern.stitching, place),
        fold_line=None if pattern.fold_line is None else laid(pattern.fold_line, place),
        notches=tuple(
            NotchMark((float(x), float(y)), inward_at(outline, np.array([x, y])))
            for x, y in laid(pattern.notches, place)
        ),
        grain=_grain(place.rotation_deg, pattern.turns, nap),
        matches=tuple(
            MatchMark(
                match.match.letter, (float(x), float(y)), inward_at(outline, np.array([x, y]))
            )
            for match in pattern.match_points
            for x, y in laid(match.point[np.newaxis], place)
        ),
    )


def _grain(rotation_deg: float, turns: tuple[float, ...], nap: bool) -> Grain:
    angle = np.radians(rotation_deg)
    turned_about = any((turn + 180) % 360 in {other % 360 for other in turns} for turn in turns)
    return Grain(
        direction=(float(np.cos(angle)), float(np.sin(angle))),
        either_way=turned_about and not nap,
        nap=nap,
    )
