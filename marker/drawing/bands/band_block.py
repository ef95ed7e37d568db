"""One strip to scale: its folds and stitching lines, its sections and marks, and the opening below,
joined to it mark by mark. Planned here, drawn in `band_view`. Paper mm."""

from __future__ import annotations

from dataclasses import dataclass, replace

from marker.canvas.lettering import rows_of
from marker.drawing.diagram.sheets import MARGIN, PAPER, largest_scale
from marker.pattern.bands.band import Band
from marker.pattern.bands.strip_plan import StripPlan
from marker.units import cut_figure, shown

LABEL_PT = 5.8
ROW = 2.9  # between rows of labels
HEAD = 11.0  # name and figures above a strip
FAN = 12.0  # from strip to opening
_ROOM = 228.0  # for the drawing; the last label runs on to its right
_LEFT = MARGIN + 2.0
_HIGHEST = 20.0  # no strip is drawn wider
_GAP = 5.0
_SMALL_SCALES = (1, 2, 3, 4)


@dataclass(frozen=True)
class MarkLabel:
    """A mark on a strip or an opening, with what is written there.

    x : paper mm. row : of its label, counted from the marks. ticked : notched, not only a join.
    """

    x: float
    text: str
    row: int
    ticked: bool = True


@dataclass(frozen=True)
class BandBlock:
    """Where one strip is drawn: its top edge as if at y = 0, everything at or below it.

    scale : mm of cloth for each mm of paper.
    middle : x of the middle of strip and opening.
    on_band, on_opening : labels above the strip and below the opening.
    band_top, band_base, opening_y : of the strip's two long edges and the opening's line.
    """

    plan: StripPlan
    scale: int
    middle: float
    band_top: float
    band_base: float
    opening_y: float
    height: float
    on_band: tuple[MarkLabel, ...]
    on_opening: tuple[MarkLabel, ...]

    def band_x(self, at_mm: float) -> float:
        """Paper x of a distance from the strip's cut end."""
        return self.middle + (at_mm - self.plan.cut_length_mm / 2) / self.scale

    def seam_x(self, at_mm: float) -> float:
        """Paper x of a distance along the seam line of a band."""
        return self.band_x(self.plan.seam_start_mm + at_mm)

    def opening_x(self, band: Band, at_mm: float) -> float:
        """Paper x of a distance around the opening."""
        return self.middle + (at_mm - band.opening.length_mm / 2) / self.scale


def block(plan: StripPlan) -> BandBlock:
    """The block of one strip at the largest scale that fits the page."""
    band = plan.band
    longest = max(plan.cut_length_mm, band.opening.length_mm if band else 0.0)
    least = max(longest / _ROOM, plan.strip.width_mm / _HIGHEST)
    scale = next((s for s in _SMALL_SCALES if s >= least), None) or largest_scale(least)
    wide = plan.strip.width_mm / scale
    middle = _LEFT + longest / scale / 2
    bare = BandBlock(plan, scale, middle, 0.0, 0.0, 0.0, 0.0, (), ())
    above, below = _on_band(bare), _on_opening(bare)
    top = -HEAD - _rows_high(above)
    opening_y = top - wide - (FAN if band else 0.0)
    height = _rows_high(below) + 2.0 - opening_y + _GAP
    return replace(
        bare,
        band_top=top,
        band_base=top - wide,
        opening_y=opening_y,
        height=height,
        on_band=above,
        on_opening=below,
    )


def _rows_high(labels: tuple[MarkLabel, ...]) -> float:
    return ROW * (1 + max(label.row for label in labels)) + 1.0 if labels else 0.0


def _on_band(bare: BandBlock) -> tuple[MarkLabel, ...]:
    """Marks of the band and joins of its parts, with their distances from the cut end in cm."""
    plan = bare.plan
    places = [(at, f"join {k}", False) for k, at in enumerate(plan.joins_mm, start=1)]
    if plan.band:
        places += [(plan.seam_start_mm + m.band_mm, m.name, True) for m in plan.band.marks]
    places.sort()
    xs = [bare.band_x(at) for at, _, _ in places]
    texts = [f"{name} {cut_figure(at, shown().lead)}" for at, name, _ in places]
    rows = rows_of(xs, texts, LABEL_PT)
    ticked = [tick for _, _, tick in places]
    return tuple(map(MarkLabel, xs, texts, rows, ticked))


def _on_opening(bare: BandBlock) -> tuple[MarkLabel, ...]:
    """Marks of the opening, with their places on the pattern."""
    band = bare.plan.band
    if band is None:
        return ()
    xs = [bare.opening_x(band, mark.opening_mm) for mark in band.marks]
    texts = [str(mark.garment) for mark in band.marks]
    return tuple(map(MarkLabel, xs, texts, rows_of(xs, texts, LABEL_PT)))


def pages_of(blocks: list[BandBlock], room: float) -> list[list[BandBlock]]:
    """Blocks in order, as many on each page as have room."""
    pages: list[list[BandBlock]] = [[]]
    used = 0.0
    for each in blocks:
        if pages[-1] and used + each.height > room:
            pages.append([])
            used = 0.0
        pages[-1].append(each)
        used += each.height
    return pages


PAGE_RIGHT = PAPER[0] - MARGIN
