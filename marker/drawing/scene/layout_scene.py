"""What there is to draw of a checked layout, in mm of cloth; knows no paper and no drawing library.

x runs along the cloth from the start line (the inner end of the first end allowance), y across it
from the inner edge of the near selvage. It is the frame of the layout itself."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from marker.cloth.buying import Purchase, room_mm
from marker.cloth.fabric import Nap
from marker.cloth.leftover import Remaining
from marker.cloth.repeat import Bars
from marker.cloth.spread import Spreading
from marker.cloth.stock import Flaw
from marker.drawing.scene.laid_pieces import table_pieces
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.drawing.scene.spread_cloth import Area, FoldEdge, spread_cloth
from marker.drawing.scene.title_facts import Fact, title_facts
from marker.geometry.arrays import FloatArray
from marker.job import Reader
from marker.layout import CheckedLayout, Layout
from marker.pattern.piece import CutPiece


@dataclass(frozen=True)
class RepeatLines:
    """Where the cloth's repeats begin, along it and across it, and its border's line, mm; none
    where it has none."""

    along_mm: tuple[float, ...] = ()
    across_mm: tuple[float, ...] = ()
    border_mm: float | None = None


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
    subtitle : which of several layouts it is; '' for none.
    sizes : that are nested in one another, in order; none where each piece is in one size.
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
    subtitle: str = ""
    sizes: tuple[str, ...] = ()


def build_scene(
    checked: CheckedLayout,
    purchase: Purchase,
    left: Sequence[Remaining] = (),
    patterns: Sequence[CutPiece] = (),
    reader: Reader = Reader.SEWING,
) -> Scene:
    """Scene of one cloth's checked layout and what is bought for it.

    left : the `leftovers` of it, where they are to be seen. patterns : its pieces with curves finer
    than those that were laid, where they are drawn so. reader : whom the figures are for.
    """
    layout, cloth = checked.layout, checked.layout.cloth
    end_mm = purchase.end_allowance_mm / 2
    remnant = cloth.remnant
    if remnant:  # all of it is there to be seen
        layout = replace(layout, length_mm=remnant.along_mm)
    lies = spread_cloth(layout, end_mm)
    boxes = tuple(box for one in left for box in one.rectangles)
    return Scene(
        job_name=layout.job_name,
        cloth_name=f"{cloth.name}: {remnant.name}" if remnant else cloth.name,
        facts=title_facts(checked, purchase, reader),
        length_mm=lies.length_mm,
        width_mm=lies.width_mm,
        end_mm=end_mm,
        selvage_mm=cloth.selvage_mm,
        nap=cloth.nap is not Nap.EITHER_WAY,
        areas=lies.areas,
        pieces=table_pieces(checked, lies.near_mm, patterns or checked.cut_pieces),
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
