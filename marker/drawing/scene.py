"""What there is to draw of a checked layout, in mm of cloth; knows no paper and no drawing library.

x runs along the cloth from the start line (the inner end of the first end allowance), y across it
from the inner edge of the near selvage: the frame of the layout itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from marker.cloth.buying import Purchase
from marker.cloth.fabric import Cloth, Nap
from marker.cloth.fixed_length import room_mm
from marker.cloth.flaws import Flaw
from marker.cloth.repeat import Bars
from marker.drawing.facts import Fact, title_facts
from marker.drawing.frame import laid
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import inward_at
from marker.layout import CheckedLayout, Placement
from marker.leftovers import leftovers
from marker.pattern.piece import CutPiece


class Ground(StrEnum):
    """What a filled part of the cloth stands for."""

    CLOTH = "cloth"
    SELVAGE = "selvage"
    END = "end allowance"


@dataclass(frozen=True)
class Area:
    """A filled rectangle of cloth: low and high corner (x, y), mm."""

    ground: Ground
    low: tuple[float, float]
    high: tuple[float, float]


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
    cut : what to cut of it, in words, where one drawing stands for all its copies.
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


@dataclass(frozen=True)
class Scene:
    """Everything a diagram, a full-size page or a cutting sheet can show.

    length_mm, width_mm : of the cloth the pieces lie on, without end allowances and selvages.
    end_mm, selvage_mm : cloth beyond that at each end and along each edge.
    nap : the cloth looks different upside down, with the nap running along +x.
    spare_boxes : low and high corner, (2, 2) each, of the largest rectangles left over.
    lacking : outlines, (n, 2) each, of what a remnant lacks of the rectangle.
    room_mm : where a cloth of fixed length ends, less than `length_mm` if the layout does not fit.
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


def build_scene(checked: CheckedLayout, purchase: Purchase) -> Scene:
    """Scene of one cloth's checked layout and what is bought for it."""
    layout, cloth = checked.layout, checked.layout.cloth
    end_mm = purchase.end_allowance_mm / 2
    remnant = cloth.remnant
    length = remnant.along_mm if remnant else layout.length_mm  # all of it is there to be seen
    return Scene(
        job_name=layout.job_name,
        cloth_name=f"{cloth.name}: {remnant.name}" if remnant else cloth.name,
        facts=title_facts(checked, purchase),
        length_mm=length,
        width_mm=cloth.usable_width_mm,
        end_mm=end_mm,
        selvage_mm=cloth.selvage_mm,
        nap=cloth.nap is not Nap.EITHER_WAY,
        areas=_cloth_areas(cloth, length, end_mm),
        pieces=_pieces(checked),
        flaws=cloth.flaws,
        repeat=_repeat_lines(cloth, length, end_mm),
        spare_boxes=tuple(box for left in leftovers(checked, purchase) for box in left.rectangles),
        lacking=remnant.lacking if remnant else (),
        room_mm=room_mm(cloth),
    )


def _cloth_areas(cloth: Cloth, length: float, end: float) -> tuple[Area, ...]:
    selvage, width = cloth.selvage_mm, cloth.usable_width_mm
    areas = [Area(Ground.CLOTH, (-end, -selvage), (length + end, width + selvage))]
    if end:
        areas.append(Area(Ground.END, (-end, -selvage), (0.0, width + selvage)))
        areas.append(Area(Ground.END, (length, -selvage), (length + end, width + selvage)))
    if selvage:
        areas.append(Area(Ground.SELVAGE, (-end, -selvage), (length + end, 0.0)))
        areas.append(Area(Ground.SELVAGE, (-end, width), (length + end, width + selvage)))
    return tuple(areas)


def _repeat_lines(cloth: Cloth, length: float, end: float) -> RepeatLines:
    repeat, border, width = cloth.repeat, cloth.border, cloth.usable_width_mm
    return RepeatLines(
        _begins(repeat.along, -end, length + end),
        _begins(repeat.across, -cloth.selvage_mm, width + cloth.selvage_mm),
        border.across_mm(width) if border else None,
    )


def _begins(bars: Bars | None, low: float, high: float) -> tuple[float, ...]:
    """Where repeats begin between two places of one axis, mm."""
    if bars is None:
        return ()
    first = bars.begins_mm + bars.every_mm * math.ceil((low - bars.begins_mm) / bars.every_mm)
    return tuple(np.arange(first, high, bars.every_mm).tolist())


def _pieces(checked: CheckedLayout) -> tuple[PieceDrawing, ...]:
    patterns = {(piece.name, piece.size): piece for piece in checked.cut_pieces}
    nap = checked.layout.cloth.nap is not Nap.EITHER_WAY
    several = len(checked.garments) > 1
    drawn = [
        piece_drawing(placement, patterns[placement.piece, placement.size], nap, several)
        for placement in checked.layout.placements
    ]
    drawn.sort(key=lambda piece: (*piece.reference, piece.name, piece.garment or 0, piece.copy))
    return tuple(replace(piece, number=k) for k, piece in enumerate(drawn, start=1))


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
