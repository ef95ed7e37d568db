"""The drawing of a job's bands, bindings and belts: A4 pages, each strip to its own scale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from marker.canvas.fonts import text_width
from marker.canvas.lettering import fit_size, shorten
from marker.canvas.page import Page
from marker.canvas.pen import ACCENT, BLACK, DARK, GREY, PAPER_WHITE, Pen
from marker.canvas.rendering import rendered
from marker.drawing.bands.band_block import (
    FOOT,
    BandBlock,
    Setting,
    pages_of,
)
from marker.drawing.diagram.sheets import MARGIN
from marker.drawing.signs import CUT, FOLD, FOLD_DASHES, STITCH, STITCH_DASHES, check_bar
from marker.geometry.arrays import FloatArray
from marker.pattern.bands.band import Band
from marker.pattern.bands.sections import Section
from marker.pattern.bands.strip import Fold, Join, lengthwise
from marker.pattern.bands.strip_plan import StripPlan
from marker.units import CUT_UNITS, cut_length, cut_size, percent, shown
from marker.words import BLADES, with_size

TINT, PALER_TINT = "#e7c9c3", "#f6ebe8"  # madder, thinned
_TICK = 2.0
_HAIR = 0.09
_KEY_PT = 6.0


def render_bands(job_name: str, plans: Mapping[str, Sequence[StripPlan]]) -> dict[str, bytes]:
    """File name -> contents: 'bands.pdf', and each page as SVG and PNG (see `rendered`).

    plans : size -> its strips.
    """
    return rendered("bands", _draw_pages(job_name, plans), f"{job_name}: bands")


def _draw_pages(job_name: str, plans: Mapping[str, Sequence[StripPlan]]) -> list[Page]:
    several = len(plans) > 1
    headed = [
        (f"{plan.strip.name}, size {size}" if several else plan.strip.name, plan)
        for size, of_size in plans.items()
        for plan in of_size
    ]
    pages, drawn = pages_of(headed), []
    headline = with_size(job_name, *plans)
    for number, blocks in enumerate(pages, start=1):
        setting = blocks[0].setting
        pen = Pen(setting.paper)
        _draw_foot(pen, setting, headline, f"page {number} of {len(pages)}")
        y, apart = setting.paper[1] - MARGIN, _spread(blocks, setting.room)
        for each in blocks:
            draw_block(pen, each, y)
            y -= each.height + apart
        drawn.append(pen.page)
    return drawn


def _spread(blocks: Sequence[BandBlock], room: float) -> float:
    """Room left on a page, shared out between its blocks."""
    return (room - sum(each.height for each in blocks)) / max(1, len(blocks))


def _draw_foot(pen: Pen, setting: Setting, title: str, page: str) -> None:
    left, right = MARGIN, setting.right
    pen.lines([np.array([[left, FOOT - 3.0], [right, FOOT - 3.0]])], 0.6, BLACK)
    draw_key(pen, FOOT - 7.0, right)
    pen.text(left, MARGIN + 3.8, shorten(title, right - 84.0, 9.0, bold=True), 9.0, bold=True)
    pen.text(left, MARGIN - 1.2, BLADES, 5.5, colour=DARK)
    pen.text(right, MARGIN + 3.8, page, 7.0, bold=True, align="right")
    bar = check_bar(small=True)
    end = right - 30.0
    start = end - bar.mm
    run = np.array([[start, 0.6], [start, -0.6], [start, 0.0], [end, 0.0], [end, 0.6], [end, -0.6]])
    pen.lines([run + np.array([0.0, MARGIN + 4.8])], 0.3, BLACK, name="bar")
    words = f"{bar} on paper"
    pen.text((start + end) / 2, MARGIN + 1.8, words, 5.5, align="center", colour=DARK)


def draw_block(pen: Pen, block: BandBlock, top: float) -> None:
    """The block with its upper edge at y = `top`."""
    band = block.plan.band
    _draw_heading(pen, block, top)
    if band is not None:
        for section in band.sections:
            _draw_section(pen, block, band, section, top)
    _draw_strip(pen, block, top)
    if band is not None:
        _draw_opening(pen, block, band, top)
    _draw_marks(pen, block, top)
    if band is not None:
        for section in band.sections:
            _draw_stretch(pen, block, band, section, top)


def _draw_heading(pen: Pen, block: BandBlock, top: float) -> None:
    name = block.heading
    room = block.setting.right - MARGIN
    size = fit_size(name, room * 0.6, 11.0, bold=True)
    name = shorten(name, room * 0.6, size, bold=True)
    pen.text(MARGIN, top - 4.0, name, size, bold=True)
    scale = f"1 : {block.scale:g}"
    pen.text(MARGIN + text_width(name, size, bold=True) + 3.0, top - 4.0, scale, 7.0, colour=DARK)
    pen.text(MARGIN, top - 8.2, shorten(_figures(block.plan), room, 7.0), 7.0)


def _figures(plan: StripPlan) -> str:
    strip, band = plan.strip, plan.band
    cut = cut_size(plan.cut_length_mm, strip.width_mm)
    said = [f"cut {strip.cut} of {cut} from {strip.cloth}, {strip.direction}"]
    if plan.unwashed_mm:
        length, width = map(cut_length, plan.unwashed_mm)
        said.append(f"CUT UNWASHED {length} × {width}: all else is once washed")
    if plan.parts.count > 1:
        said.append(f"joined from {plan.parts.count} parts of {cut_length(plan.parts.length_mm)}")
    if strip.fold is not None and strip.finished_mm is not None:
        fold = strip.fold if strip.fold is Fold.FLAT else f"{strip.fold} fold"
        said.append(f"{fold}, finishes {cut_length(strip.finished_mm)}")
    if band is not None:
        opening = band.opening
        said.append(f"{band.ratio:.3f} of the {opening.name}'s {cut_length(opening.length_mm)}")
    return "  ·  ".join(said)


def _draw_section(pen: Pen, block: BandBlock, band: Band, section: Section, top: float) -> None:
    """The section on the strip, spread out to its part of the opening."""
    left, right = block.seam_x(section.band_start_mm), block.seam_x(section.band_end_mm)
    far_left, far_right = (block.opening_x(band, at) for at in (section.start_mm, section.end_mm))
    high, low, foot = top + block.band_top, top + block.band_base, top + block.opening_y
    if not section.plain:
        pen.fill(shapely.box(left, low, right, high), TINT)
        fan = [(left, low), (right, low), (far_right, foot), (far_left, foot)]
        pen.fill(shapely.Polygon(fan), PALER_TINT)


def _draw_stretch(pen: Pen, block: BandBlock, band: Band, section: Section, top: float) -> None:
    """The section's stretch, halfway between strip and opening, if there is room for it."""
    left, right = block.seam_x(section.band_start_mm), block.seam_x(section.band_end_mm)
    far_left, far_right = (block.opening_x(band, at) for at in (section.start_mm, section.end_mm))
    words = f"{100 * section.stretch:+.1f} %" if not section.plain else "0 %"
    wide = text_width(words, 7.0, bold=True)
    if wide > min(right - left, far_right - far_left) - 1.0:
        return
    x, y = (
        (left + right + far_left + far_right) / 4,
        top + block.band_base - block.setting.fan / 2 - 0.9,
    )
    ground = PAPER_WHITE if section.plain else PALER_TINT
    pen.fill(shapely.box(x - wide / 2 - 0.6, y - 0.7, x + wide / 2 + 0.6, y + 2.6), ground)
    colour = DARK if section.plain else ACCENT
    pen.text(x, y, words, 7.0, bold=True, align="center", colour=colour)


def _draw_strip(pen: Pen, block: BandBlock, top: float) -> None:
    plan, strip = block.plan, block.plan.strip
    left, right = block.band_x(0.0), block.band_x(plan.cut_length_mm)
    high, low = top + block.band_top, top + block.band_base
    outline = shapely.box(left, low, right, high)
    if plan.band is None:
        pen.fill(outline, PAPER_WHITE)
    lines = lengthwise(strip)
    across = [*_ends(plan), *plan.joins_mm]
    rows = [np.array([[left, low + at / block.scale], [right, low + at / block.scale]])
            for at in lines.stitching]  # fmt: skip
    pen.lines([*rows, *(_join(block, at, low, high) for at in across)], STITCH, DARK, STITCH_DASHES)
    pen.lines(
        [
            np.array([[left, low + at / block.scale], [right, low + at / block.scale]])
            for at in lines.folds
        ],
        FOLD,
        BLACK,
        FOLD_DASHES,
    )
    pen.lines([shapely.get_coordinates(outline)], CUT, BLACK, name=f"strip {strip.name}")


def _ends(plan: StripPlan) -> list[float]:
    """Where the two ends of a band are stitched, mm from its cut end."""
    start = plan.seam_start_mm
    return [start, plan.cut_length_mm - start] if start > 0 else []


def _join(block: BandBlock, at_mm: float, low: float, high: float) -> FloatArray:
    """A join across the strip, whose middle is at `at_mm`."""
    strip, band = block.plan.strip, block.plan.band
    at_end = at_mm in _ends(block.plan)
    closes = band is not None and band.opening.closed
    lean = 0.0
    if strip.join is Join.DIAGONAL and (closes or not at_end):
        lean = strip.width_mm / 2
    return np.array([[block.band_x(at_mm - lean), low], [block.band_x(at_mm + lean), high]])


def _draw_opening(pen: Pen, block: BandBlock, band: Band, top: float) -> None:
    y = top + block.opening_y
    ends = [block.opening_x(band, at) for at in (0.0, band.opening.length_mm)]
    pen.lines(
        [np.array([[ends[0], y], [ends[1], y]])],
        0.6,
        BLACK,
        name=f"opening of {block.plan.strip.name}",
    )
    meeting = [(mark.band_mm, mark.opening_mm) for mark in band.marks]
    meeting.append((band.seam_mm, band.opening.length_mm))
    low = top + block.band_base
    fan = [[(block.seam_x(on), low), (block.opening_x(band, at), y)] for on, at in meeting]
    pen.lines([np.array(each) for each in fan], _HAIR, DARK)


def _draw_marks(pen: Pen, block: BandBlock, top: float) -> None:
    high, low, foot = (top + y for y in (block.band_top, block.band_base, block.opening_y))
    tick = min(_TICK, (high - low) / 3)
    both, size = block.plan.strip.fold is Fold.SINGLE, block.setting.label_pt
    for label in block.on_band:
        above = high + 1.2 + block.setting.row * label.row
        end = low if label.ticked else high
        pen.lines([np.array([(label.x, above), (label.x, end)])], _HAIR, GREY)
        if label.ticked:
            ends = [(low, low + tick)] + ([(high, high - tick)] if both else [])
            pen.lines([np.array([(label.x, y), (label.x, z)]) for y, z in ends], CUT, BLACK)
        pen.text(label.x + 0.5, above, label.text, size)
    for label in block.on_opening:
        below = foot - 0.5 * size - 0.5 - block.setting.row * label.row
        pen.lines([np.array([(label.x, foot), (label.x, below + 0.28 * size)])], _HAIR, GREY)
        pen.lines([np.array([(label.x, foot), (label.x, foot + _TICK / 2)])], CUT, BLACK)
        pen.text(label.x + 0.5, below, label.text, size, colour=DARK)


def draw_key(pen: Pen, y: float, right: float) -> None:
    """What the lines and tints stand for, in one row, or two on an upright page."""
    x = MARGIN
    for words, kind in (
        ("cut line", "cut"),
        ("stitching line", "stitching"),
        ("fold", "fold"),
        (
            f"stretched when it is sewn on, by the figure; white, {percent(0)}: not stretched",
            "section",
        ),
        (f"figures at the marks: {CUT_UNITS[shown().lead]} from the cut end", ""),
    ):
        if x + 9.5 + text_width(words, _KEY_PT) > right:
            x, y = MARGIN, y - 3.0
        x = _draw_sample(pen, x, y, kind)
        pen.text(x, y, words, _KEY_PT, colour=DARK)
        x += text_width(words, _KEY_PT) + 6.0


def _draw_sample(pen: Pen, x: float, y: float, kind: str) -> float:
    line = [np.array([[x, y + 0.8], [x + 8.0, y + 0.8]])]
    if kind == "section":
        pen.fill(shapely.box(x, y - 0.4, x + 8.0, y + 2.0), TINT)
    elif kind == "cut":
        pen.lines(line, CUT, BLACK)
    elif kind == "stitching":
        pen.lines(line, STITCH, DARK, STITCH_DASHES)
    elif kind == "fold":
        pen.lines(line, FOLD, BLACK, FOLD_DASHES)
    return x + 9.5 if kind else x
