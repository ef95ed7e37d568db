"""The cutting sheet: all that a person wants in hand while cutting and sewing, in words.

Laid out on paper by `sheet_pages`, for a browser by `sheet_html`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from marker.cloth.buying import Purchase
from marker.cloth.spread import Spreading
from marker.drawing.in_little import SmallLayout, small_layout
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.drawing.scene.printed_pieces import SinglePiece, single_pieces
from marker.drawing.scene.spread_sketch import SpreadSketch, spread_sketch
from marker.drawing.scene.title_facts import Fact
from marker.drawing.sheet.sewing import SeamRow, Sewing
from marker.drawing.sheet.steps import cutting_steps, runs
from marker.job import Making
from marker.layout import CheckedLayout
from marker.pattern.bands.band import Band
from marker.pattern.bands.marks import SAME_PLACE_MM
from marker.pattern.bands.sections import Section
from marker.pattern.bands.strip_plan import StripPlan
from marker.pattern.inner_marks import MarkKind
from marker.reports.yardage import price_words, sum_words
from marker.units import System, cut_length, cut_place, lengths, percent, shown
from marker.words import BLADES, CORDS, counted

TALLY_MOST = 12  # boxes to tick; of more copies the count is written beside the boxes of a dozen
LONG = 2.2  # a cloth so many times as long as wide is drawn across the whole page
PICTURE_ROOM, PICTURE_BESIDE = (186.0, 110.0), (97.0, 98.0)  # paper mm
BAR_CAUTION = (
    "Before you cut, measure the bar on this sheet, or a test square of full-size pages, along and "
    "across."
)


@dataclass(frozen=True)
class PieceRow:
    """One line of the piece list.

    numbers : of its copies in the layout. edges : its hems, and allowances that are not the usual
    one. transfer : notches and lines to mark before lifting.
    """

    piece: SinglePiece
    numbers: str
    count: str
    edges: str
    transfer: str

    @property
    def boxes(self) -> int:
        """How many to tick."""
        return min(self.piece.count, TALLY_MOST)


@dataclass(frozen=True)
class BandTable:
    """How one band is cut and marked; distances from its cut end.

    marks : letter, place on the strip, its name, place on the garment. sections : stretch of the
    strip from letter to letter, and how it is sewn to which length of the opening.
    """

    name: str
    cut: str
    marks: tuple[tuple[str, str, str, str], ...]
    sections: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class CuttingSheet:
    """One cloth's sheet.

    facts : what to buy, then the cloth. picture : of the layout. buying : what the length to buy
    is made of; '' of a cloth that is there. sketch : None of a cloth that just lies open.
    rows : by their first numbers, as they are cut. steps : order of cutting. usual : the allowance
    unless another is listed.
    """

    scene: Scene
    making: Making
    facts: tuple[Fact, ...]
    picture: SmallLayout
    sizes: str
    buying: str
    sketch: SpreadSketch | None
    rows: tuple[PieceRow, ...]
    bands: tuple[BandTable, ...]
    steps: tuple[str, ...]
    usual: str
    seams: tuple[SeamRow, ...]
    cautions: tuple[str, ...]

    @property
    def tally(self) -> str:
        """What must lie on the pile in the end."""
        parts = sum(row.piece.count for row in self.rows)
        different = f", {len(self.rows)} different" if len(self.rows) not in (1, parts) else ""
        return f"{parts} to cut{different}"

    @property
    def pattern(self) -> str:
        """Version and date of the pattern; '' where the job says neither."""
        version = f"version {self.making.version}" if self.making.version else ""
        said = ", ".join(filter(None, [version, self.making.dated]))
        return f"pattern {said}" if said else ""


def build_sheet(
    scene: Scene, checked: CheckedLayout, purchase: Purchase, sewing: Sewing
) -> CuttingSheet:
    """The sheet of one cloth's checked layout.

    scene : of that layout. sewing : what the job says of its pieces.
    """
    several = len({size for size, _ in sewing.strips}) > 1
    open_flat = checked.layout.spread.spreading in (Spreading.OPEN, Spreading.SLIT_OPEN)
    singles = sorted(single_pieces(checked, scene), key=_first_number)
    rows = tuple(_row(piece, sewing) for piece in singles)
    buy, *others = scene.facts
    cloth, sketch = checked.layout.cloth, spread_sketch(checked.layout.spread)
    long = scene.length_mm > LONG * scene.width_mm
    banded = any(plan.band is not None for _, plan in sewing.strips)
    return CuttingSheet(
        scene=scene,
        making=sewing.making,
        facts=(buy, Fact("cloth", scene.cloth_name, cloth.colour), *others),
        picture=small_layout(scene, PICTURE_ROOM if long else PICTURE_BESIDE),
        sizes=", ".join(dict.fromkeys(checked.garments)),
        buying=_buying(purchase) if cloth.have_mm is None else "",
        sketch=None if open_flat else sketch,
        rows=rows,
        bands=tuple(
            _band(plan, plan.band, several) for _, plan in sewing.strips if plan.band is not None
        ),
        steps=tuple(cutting_steps(scene, cloth, sketch, rows_laid(rows), banded)),
        usual=sewing.usual,
        seams=sewing.seams,
        cautions=(BAR_CAUTION, BLADES, *([CORDS] if sewing.ties else [])),
    )


def rows_laid(rows: Sequence[PieceRow]) -> list[PieceDrawing]:
    """Every outline on the table."""
    return [copy for row in rows for copy in row.piece.laid]


def _first_number(piece: SinglePiece) -> int:
    return min(copy.number for copy in piece.laid)


def _row(piece: SinglePiece, sewing: Sewing) -> PieceRow:
    drawing = piece.drawing
    whole = drawing.name.partition(" part ")[0]
    edges = sewing.edges.get((drawing.name, drawing.size))
    is_strip = any(plan.strip.name == drawing.name for _, plan in sewing.strips)
    return PieceRow(
        piece,
        runs(piece.laid),
        _count(piece),
        (edges if edges is not None else sewing.edges.get((whole, drawing.size), "")),
        ", ".join(_transfer(drawing, is_strip)) or "nothing",
    )


def _count(piece: SinglePiece) -> str:
    """What is cut, in the words of a pattern: '1 on the fold', '1 pair', '3, 1 mirrored'."""
    if any(copy.fold_y is not None for copy in piece.laid):
        return f"{piece.count} on the fold"
    if piece.drawing.fold_line is not None:
        return f"{piece.count}, opened out"
    if piece.count == 2 * piece.mirrored:
        return counted(piece.mirrored, "pair")
    return f"{piece.count}, {piece.mirrored} mirrored" if piece.mirrored else str(piece.count)


def _transfer(piece: PieceDrawing, is_strip: bool) -> Iterator[str]:
    """All that is marked on a piece, and what else is to be known of it."""
    if piece.notches:
        yield counted(len(piece.notches), "notch")
    if piece.fold_line is not None:
        yield "centre fold"
    if len(piece.stitching):
        yield "stitching line"
    if piece.cutouts:
        yield counted(len(piece.cutouts), "cut-out")
    for (kind, name), count in Counter((m.kind, m.name) for m in piece.inner_marks).items():
        if kind in (MarkKind.PLEAT, MarkKind.TUCK) and not name:
            continue  # the second line of each, whose first has the name
        if kind is MarkKind.TEXT or (kind is MarkKind.GATHER and name):
            yield f"“{name}”" if kind is MarkKind.TEXT else name
            continue
        what = name if kind in (MarkKind.PLEAT, MarkKind.TUCK, MarkKind.DART) else str(kind)
        what = "stitching line" if is_strip and kind is MarkKind.LINE else what
        named = f" ({name})" if name and name != what else ""
        yield f"{counted(count, what) if count > 1 else what}{named}"
    if piece.note:
        yield piece.note


def _buying(purchase: Purchase) -> str:
    price = f", {price_words(purchase)}" if purchase.cost is not None else ""
    in_yards = shown().lead is System.IMPERIAL
    yards = f", by the yard {purchase.yards}" if in_yards else ""
    return f"{sum_words(purchase)} = {lengths(purchase.buy_mm)}{yards}{price}"


def _band(plan: StripPlan, band: Band, several: bool) -> BandTable:
    """The table of one band, named with its size where there are several."""
    strip = plan.strip
    grown = plan.as_cut_mm[0] / plan.cut_length_mm  # where it is cut before washing
    size = " × ".join(map(cut_length, plan.as_cut_mm))
    cut = f"cut {strip.cut} of {size}, {strip.direction}"
    if plan.parts.count > 1:
        part = cut_length(plan.parts.length_mm * grown)
        cut += f", joined from {plan.parts.count} parts of {part}"
    return BandTable(
        f"{strip.name}, size {plan.size}" if several else strip.name,
        f"{cut}; {cut_length(band.seam_mm)} of it sewn to the {band.opening.name} of "
        f"{cut_length(band.opening.length_mm)}",
        marks=tuple(
            (
                mark.letter,
                cut_place((plan.seam_start_mm + mark.band_mm) * grown),
                mark.name,
                str(mark.garment),
            )
            for mark in band.marks
        ),
        sections=tuple(_section(band, section) for section in band.sections),
    )


def _section(band: Band, section: Section) -> tuple[str, str]:
    """'b–d', '6.4 cm of the opening, not stretched'."""
    ends = [_mark_at(band, at) for at in (section.band_start_mm, section.band_end_mm)]
    how = "not stretched"
    if not section.plain:
        how = f"stretched by {percent(section.stretch)}"
    if not section.plain and section.stretch < 0:
        how = f"eased in by {percent(-section.stretch)}"
    return "–".join(ends), f"on {cut_place(section.opening_mm)} of the opening, {how}"


def _mark_at(band: Band, at_mm: float) -> str:
    """The letter of the mark there; a ring ends where it begins."""
    at = 0.0 if band.opening.closed and abs(at_mm - band.seam_mm) < SAME_PLACE_MM else at_mm
    nearest = min(band.marks, key=lambda mark: abs(mark.band_mm - at))
    return nearest.letter if abs(nearest.band_mm - at) < SAME_PLACE_MM else cut_place(at_mm)
