"""The cutting sheet: all that a person wants in hand while cutting, in words and figures.

Laid out on paper by `sheet_pages`, for a browser by `sheet_html`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from marker.cloth.buying import Purchase
from marker.drawing.in_little import SmallLayout, small_layout
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.drawing.scene.single_pieces import SinglePiece, single_pieces
from marker.drawing.scene.spread_sketch import SpreadSketch, spread_sketch
from marker.layout import CheckedLayout
from marker.pattern.bands.strip_plan import StripPlan
from marker.reports.yardage import price_words, sum_words
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length, cut_place, cut_size, lengths, percent
from marker.words import BLADES, CORDS, counted

TALLY_MOST = 12  # boxes to tick; of more copies the count is written beside the boxes of a dozen
SECTION_MM = 300.0  # no shorter stretch of cloth is worth parting (no source)
PICTURE_ROOM = (186.0, 130.0)  # paper mm
CAUTIONS = (
    "Before you cut, measure the bar on this sheet, or a test square of full-size pages, along and "
    "across.",
    BLADES,
    CORDS,
)


@dataclass(frozen=True)
class PieceRow:
    """One line of the piece list.

    numbers : of its copies in the layout. transfer : notches and lines to mark before lifting.
    """

    piece: SinglePiece
    numbers: str
    count: str
    transfer: str

    @property
    def boxes(self) -> int:
        """How many to tick."""
        return min(self.piece.count, TALLY_MOST)


@dataclass(frozen=True)
class BandTable:
    """How one strip is cut and marked; distances from its cut end.

    marks : place on the strip, its name, place on the garment.
    sections : stretch of the strip, length of the opening it is sewn to, how.
    """

    name: str
    cut: str
    marks: tuple[tuple[str, str, str], ...]
    sections: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class CuttingSheet:
    """One cloth's sheet.

    picture : of the layout. buying : what the length to buy is made of. steps : order of cutting.
    """

    scene: Scene
    picture: SmallLayout
    sizes: str
    buying: str
    sketch: SpreadSketch
    rows: tuple[PieceRow, ...]
    bands: tuple[BandTable, ...]
    steps: tuple[str, ...]

    @property
    def tally(self) -> str:
        """What must lie on the pile in the end."""
        kinds = counted(len(self.rows), "piece")
        parts = sum(row.piece.count for row in self.rows)
        return f"{counted(parts, 'part')} of {kinds} in all"


def build_sheet(
    scene: Scene,
    checked: CheckedLayout,
    purchase: Purchase,
    strips: Sequence[tuple[str, StripPlan]],
) -> CuttingSheet:
    """The sheet of one cloth's checked layout.

    scene : of that layout. strips : size and plan of each strip that is cut from it.
    """
    several = len({size for size, _ in strips}) > 1
    rows = tuple(map(_row, single_pieces(checked, scene)))
    return CuttingSheet(
        scene=scene,
        picture=small_layout(scene, PICTURE_ROOM),
        sizes=", ".join(dict.fromkeys(checked.garments)),
        buying=_buying(purchase),
        sketch=spread_sketch(checked.layout.spread),
        rows=rows,
        bands=tuple(_band(plan, size if several else None) for size, plan in strips),
        steps=tuple(_steps(scene, spread_sketch(checked.layout.spread), rows, bool(strips))),
    )


def _row(piece: SinglePiece) -> PieceRow:
    count = str(piece.count)
    if piece.mirrored:
        count += f", {piece.mirrored} mirrored"
    return PieceRow(piece, _runs(piece.laid), count, _transfer(piece.drawing))


def _runs(copies: Sequence[PieceDrawing]) -> str:
    """Numbers with runs drawn together: '1, 4-6'."""
    runs: list[list[int]] = []
    for number in sorted(copy.number for copy in copies):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def _transfer(piece: PieceDrawing) -> str:
    marks = [counted(len(piece.notches), "notch")] if piece.notches else []
    marks += ["centre fold"] if piece.fold_line is not None else []
    marks += ["stitching line"] if len(piece.stitching) else []
    marks += [counted(len(piece.cutouts), "cut-out")] if piece.cutouts else []
    return ", ".join([*marks, *([piece.note] if piece.note else [])]) or "nothing"


def _buying(purchase: Purchase) -> str:
    price = f", {price_words(purchase)}" if purchase.cost is not None else ""
    return (
        f"{sum_words(purchase)} = {lengths(purchase.buy_mm)}, by the yard {purchase.yards}{price}"
    )


def _band(plan: StripPlan, size: str | None) -> BandTable:
    """The table of one strip, named with its `size` where there are several."""
    strip, band = plan.strip, plan.band
    name = f"{strip.name}, size {size}" if size else strip.name
    cut = f"cut {strip.cut} of {cut_size(plan.cut_length_mm, strip.width_mm)}, {strip.direction}"
    if plan.parts.count > 1:
        cut += f", joined from {plan.parts.count} parts of {cut_length(plan.parts.length_mm)}"
    if band is None:
        return BandTable(name, cut, (), ())
    start = plan.seam_start_mm
    return BandTable(
        name,
        f"{cut}; finishes the {band.opening.name}, {cut_length(band.opening.length_mm)}",
        marks=tuple(
            (_cm(start + mark.band_mm), mark.name, str(mark.garment)) for mark in band.marks
        ),
        sections=tuple(
            (
                f"{_cm(start + section.band_start_mm)} to {_cm(start + section.band_end_mm)}",
                _cm(section.opening_mm),
                _stretch(section.stretched, section.stretch),
            )
            for section in band.sections
        ),
    )


def _cm(mm: float) -> str:
    return cut_place(mm)


def _stretch(stretched: bool, share: float) -> str:
    if not stretched:
        return "not stretched"
    return f"stretched by {percent(share)}" if share >= 0 else f"eased in by {percent(-share)}"


def _steps(
    scene: Scene, sketch: SpreadSketch, rows: Sequence[PieceRow], bands: bool
) -> Iterator[str]:
    """Order of cutting; common practice, no source."""
    yield (
        f"Press the cloth. Spread it {sketch.words}. Chalk the start line "
        f"{cut_length(scene.end_mm)} from the end and the last one "
        f"{cut_length(scene.length_mm)} after it."
        if scene.end_mm
        else f"Press the cloth. Spread it {sketch.words}. Measure {cut_length(scene.length_mm)}."
    )
    ahead = [at for at in scene.repeat.along_mm if at >= 0]
    if ahead and any(piece.matches for piece in scene.pieces):
        yield f"Put the start line where a repeat begins {cut_length(ahead[0])} after it."
    yield (
        "Set every piece by its grain line, or by the fold drawn on it: both ends equally far from "
        f"the near {scene.near_edge}, and its marked edge as far from the start as the diagram "
        "lists. Grain arrows lie along the cloth"
        + (", and every arrow points as the diagram shows: the cloth has a nap." if scene.nap
           else ".")
    )  # fmt: skip
    mirrored = [copy for row in rows for copy in row.piece.laid if copy.mirrored]
    if mirrored:
        yield f"Turn the pattern over for the mirrored pieces: {_runs(mirrored)}."
    yield f"Cut in the order of the numbers, from the start of the cloth.{_sections(scene)}"
    notches = sum(len(piece.notches) for piece in scene.pieces)
    marks = f"{counted(notches, 'notch')} in all, " if notches else ""
    yield (
        f"Before you lift a piece, transfer its marks: {marks}centre folds, stitching lines where "
        "you need them" + ("; mark the bands by the table." if bands else ".")
    )
    yield (
        "Tick each piece as you lay it aside and count the pile before you clear the table. Keep "
        "the rest of the cloth" + (" for samples of the bands." if bands else " for samples.")
    )


def _sections(scene: Scene) -> str:
    """Where nothing crosses, so that the cloth may be cut across to part it handily."""
    places: list[str] = []
    last, parted = scene.pieces[0].outline[:, 0].max(), 0.0
    for before, piece in pairwise(scene.pieces):
        low, high = piece.outline[:, 0].min(), piece.outline[:, 0].max()
        if low >= last - SAME_POINT_MM and low - parted >= SECTION_MM:
            places.append(f"{_cm(float(low))} (after {before.number})")
            parted = low
        last = max(last, high)
    return (
        f" Nothing crosses {', '.join(places)}: cut the cloth there to part it." if places else ""
    )
