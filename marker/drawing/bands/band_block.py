"""One strip to scale: its folds and stitching lines, its sections and marks, and the opening below,
joined to it mark by mark. Planned here, drawn in `band_pages`. Paper mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from marker.canvas.fonts import text_width
from marker.canvas.lettering import rows_of
from marker.drawing.diagram.sheets import MARGIN, PAPER, SCALES
from marker.pattern.bands.band import Band
from marker.pattern.bands.strip_plan import StripPlan
from marker.units import cut_figure, shown

HEAD = 11.0  # name and figures above a strip
_LEFT = MARGIN + 2.0
FOOT = MARGIN + 18.0  # of the blocks
_GAP = 5.0
_SMALL_SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5)


@dataclass(frozen=True)
class Setting:
    """How large the blocks of a page are drawn. label_pt : of its labels. highest_mm : no strip is
    drawn wider. paper : lying, or upright where more strips than it holds are small on it."""

    label_pt: float
    highest_mm: float
    paper: tuple[float, float] = PAPER

    @property
    def right(self) -> float:
        """Where the page's margin begins."""
        return self.paper[0] - MARGIN

    @property
    def room(self) -> float:
        """Height for blocks."""
        return self.paper[1] - MARGIN - FOOT

    @property
    def row(self) -> float:
        """Between rows of labels."""
        return self.label_pt / 2

    @property
    def fan(self) -> float:
        """From strip to opening."""
        return 2.1 * self.label_pt


SETTINGS = tuple(
    Setting(label_pt, highest, paper)
    for highest in (60, 45, 36, 28, 22, 18)
    for label_pt in (9, 7.5, 6)
    for paper in (PAPER, PAPER[::-1])
)
"""From the largest; lettering gives way first."""


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

    heading : what stands above it. setting : how large it is drawn.
    scale : mm of cloth for each mm of paper.
    middle : x of the middle of strip and opening.
    on_band, on_opening : labels above the strip and below the opening.
    band_top, band_base, opening_y : of the strip's two long edges and the opening's line.
    """

    plan: StripPlan
    heading: str
    setting: Setting
    scale: float
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


def block(plan: StripPlan, heading: str, setting: Setting) -> BandBlock:
    """The block of one strip at the largest scale at which it and its labels fit the page's
    width."""
    for scale in (*_SMALL_SCALES, *SCALES, *range(60, 10_000, 10)):
        if plan.strip.width_mm <= setting.highest_mm * scale:
            found = _at_scale(plan, heading, setting, float(scale))
            if found is not None:
                return found
    raise AssertionError("a strip has a largest length")


def _at_scale(plan: StripPlan, heading: str, setting: Setting, scale: float) -> BandBlock | None:
    """None where it is wider than the page."""
    band = plan.band
    longest = max(plan.cut_length_mm, band.opening.length_mm if band else 0.0)
    if longest / scale > setting.right - _LEFT:
        return None
    middle = _LEFT + longest / scale / 2
    bare = BandBlock(plan, heading, setting, scale, middle, 0.0, 0.0, 0.0, 0.0, (), ())
    above, below = _on_band(bare), _on_opening(bare)
    ends = [label.x + text_width(label.text, setting.label_pt) for label in (*above, *below)]
    if max(ends, default=0.0) > setting.right:
        return None
    top = -HEAD - _rows_high(above, setting)
    wide = plan.strip.width_mm / scale
    opening_y = top - wide - (setting.fan if band else 0.0)
    return replace(
        bare,
        band_top=top,
        band_base=top - wide,
        opening_y=opening_y,
        height=_rows_high(below, setting) + 2.0 - opening_y + _GAP,
        on_band=above,
        on_opening=below,
    )


def _rows_high(labels: tuple[MarkLabel, ...], setting: Setting) -> float:
    return setting.row * (1 + max(label.row for label in labels)) + 1.0 if labels else 0.0


def _on_band(bare: BandBlock) -> tuple[MarkLabel, ...]:
    """Marks of the band and joins of its parts, with their distances from the cut end in cm."""
    plan = bare.plan
    places = [(at, f"join {k}", False) for k, at in enumerate(plan.joins_mm, start=1)]
    named: set[str] = set()
    for at, mark in plan.marked:
        again = mark.letter in named  # the other end of a ring's join
        places.append((at, mark.letter if again else f"{mark.letter}: {mark.name}", True))
        named.add(mark.letter)
    places.sort()
    xs = [bare.band_x(at) for at, _, _ in places]
    texts = [f"{name} · {cut_figure(at, shown().lead)}" for at, name, _ in places]
    rows = rows_of(xs, texts, bare.setting.label_pt)
    ticked = [tick for _, _, tick in places]
    return tuple(map(MarkLabel, xs, texts, rows, ticked))


def _on_opening(bare: BandBlock) -> tuple[MarkLabel, ...]:
    """Marks of the opening, with their places on the pattern."""
    band = bare.plan.band
    if band is None:
        return ()
    xs = [bare.opening_x(band, mark.opening_mm) for mark in band.marks]
    texts = [str(mark.garment) for mark in band.marks]
    return tuple(map(MarkLabel, xs, texts, rows_of(xs, texts, bare.setting.label_pt)))


def pages_of(plans: Sequence[tuple[str, StripPlan]]) -> list[list[BandBlock]]:
    """Headings and their strips in order, on the fewest pages, as large as these allow."""
    filled = [_filled(plans, setting) for setting in SETTINGS]
    fewest = min(map(len, filled))
    return min((pages for pages in filled if len(pages) == fewest), key=_smallness)


def _smallness(pages: Sequence[Sequence[BandBlock]]) -> float:
    return sum(each.scale for page in pages for each in page)


def _filled(plans: Sequence[tuple[str, StripPlan]], setting: Setting) -> list[list[BandBlock]]:
    """Blocks in order, as many on each page as have room."""
    pages: list[list[BandBlock]] = [[]]
    used = 0.0
    for heading, plan in plans:
        each = block(plan, heading, setting)
        if pages[-1] and used + each.height > setting.room:
            pages.append([])
            used = 0.0
        pages[-1].append(each)
        used += each.height
    return pages
