"""Columns of cloth, true to scale along both axes: width below in cm and in, length in m and yd."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.canvas.lettering import FIGURE_RISE
from marker.canvas.pen import ACCENT, BLACK, DARK, GREY, PALE, PAPER_WHITE, Pen
from marker.cloth.buying import Addend
from marker.drawing.bands.band_view import TINT
from marker.drawing.diagram.sheets import MARGIN, PAPER
from marker.planning.widths import BoughtCloth, WidthsResult
from marker.units import metric

SIZE, SMALL = 6.5, 5.5
LEFT, RIGHT, TOP = MARGIN + 12.0, PAPER[0] - MARGIN - 12.0, PAPER[1] - MARGIN - 25.0
FACES = {
    Addend.LAYOUT: PALE,
    Addend.END_ALLOWANCE: GREY,
    Addend.REPEAT: TINT,
    Addend.SHRINKAGE: DARK,
    Addend.ROUNDING: PAPER_WHITE,
}
NAMES = {
    Addend.LAYOUT: "layout",
    Addend.END_ALLOWANCE: "both ends",
    Addend.REPEAT: "to whole repeats",
    Addend.SHRINKAGE: "washing",
    Addend.ROUNDING: "to a whole step",
}
_WIDEST, _BESIDE_MM = 9.0, 60.0
_LINE, _EDGE, _BEST = 0.15, 0.2, 0.6
_MOST_TICKS = 9


@dataclass(frozen=True)
class Unit:
    """A unit of an axis and the spacings of its ticks to choose from."""

    name: str
    mm: float
    steps: tuple[float, ...]


CM = Unit("cm", 10.0, (5, 10, 20, 50, 100))
INCH = Unit("in", 25.4, (3, 6, 12, 24))
METRE = Unit("m", 1000.0, (0.1, 0.2, 0.5, 1, 2, 5, 10))
YARD = Unit("yd", 914.4, (0.125, 0.25, 0.5, 1, 2, 5, 10))


@dataclass(frozen=True)
class Scale:
    """Paper mm of cloth mm: `at(mm) = start + (mm - low) * share`."""

    start: float
    low: float
    share: float

    def at(self, mm: float) -> float:
        """Where it lies on paper, mm."""
        return self.start + (mm - self.low) * self.share


def draw_columns(pen: Pen, found: WidthsResult, foot: float) -> None:
    """The plot, from `foot` up to the title."""
    foot += 9.0
    every = [bought.width_mm for bought in found.widths]
    every += [left.width_mm for left in found.left_out]
    low, high = min(every) - _BESIDE_MM, max(every) + _BESIDE_MM
    across = Scale(LEFT, low, (RIGHT - LEFT) / (high - low))
    room = TOP - foot - max(text_width(_label(bought), SIZE, True) for bought in found.widths) - 3.0
    up = Scale(foot, 0.0, room / max(bought.purchase.buy_mm for bought in found.widths))
    _draw_axes(pen, across, up, (low, high), (TOP - foot) / up.share)
    wide = _column_width(every, across)
    for k, bought in enumerate(found.widths):
        best = k == found.cheapest
        _draw_column(pen, bought, across.at(bought.width_mm), up, wide, best)
        _draw_label(pen, bought, across.at(bought.width_mm), up, best)
    _draw_floor(pen, found, across, up)
    for left in found.left_out:
        _draw_cross(pen, across.at(left.width_mm), foot)
    _draw_key(pen, found)


def _label(bought: BoughtCloth) -> str:
    cost, currency = bought.purchase.cost, bought.purchase.currency
    price = "" if cost is None else f"  {cost:.2f} {currency}"
    return f"{metric(bought.purchase.buy_mm)}{price}"


def _column_width(widths: Sequence[float], across: Scale) -> float:
    gaps = np.diff(sorted(widths)) * across.share
    return float(min([_WIDEST, *(0.8 * gaps)]))


def _draw_column(
    pen: Pen, bought: BoughtCloth, x: float, up: Scale, wide: float, best: bool
) -> None:
    """The addends on one another, the last up to what is bought."""
    level = 0.0
    for addend, mm in bought.purchase.addends.items():
        low, high = sorted((up.at(level), up.at(level + mm)))
        if mm:
            box = shapely.box(x - wide / 2, low, x + wide / 2, high)
            pen.fill(box, FACES[addend], BLACK, _LINE)
        level += mm
    whole = shapely.box(x - wide / 2, up.at(0.0), x + wide / 2, up.at(bought.purchase.buy_mm))
    outline = shapely.get_coordinates(whole)
    name = f"column {bought.width_mm:.0f}"
    pen.lines([outline], _BEST if best else _EDGE, ACCENT if best else BLACK, name=name)


def _draw_label(pen: Pen, bought: BoughtCloth, x: float, up: Scale, best: bool) -> None:
    """What is bought, and its cost, written upwards on ground of its own."""
    said, foot = _label(bought), up.at(bought.purchase.buy_mm) + 1.2
    half = FIGURE_RISE / 2 * SIZE * MM_PER_PT
    top = foot + text_width(said, SIZE, best)
    pen.fill(shapely.box(x - half, foot, x + half, top), PAPER_WHITE)
    colour = ACCENT if best else BLACK
    pen.text(x + half, foot, said, SIZE, bold=best, colour=colour, angle=90.0)


def _draw_cross(pen: Pen, x: float, y: float) -> None:
    arms = np.array([[-1.0, -1.0], [1.0, 1.0]])
    at = np.array([x, y + 2.0])
    pen.lines([at + arms, at + arms * [1, -1]], 0.35, DARK)


def _draw_floor(pen: Pen, found: WidthsResult, across: Scale, up: Scale) -> None:
    """What the pieces' own area asks for: no layout can be shorter."""
    checked = found.widths[found.cheapest].checked
    cloth = checked.layout.cloth
    widths = np.linspace(found.widths[0].width_mm, found.widths[-1].width_mm, 60)
    lengths = [
        checked.piece_area_mm2 / replace(cloth, width_mm=float(width)).usable_width_mm
        for width in widths
    ]
    run = [(across.at(w), up.at(mm)) for w, mm in zip(widths.tolist(), lengths, strict=True)]
    pen.lines([np.array(run)], 0.25, DARK, (1.6, 1.0), name="floor")


def _draw_axes(
    pen: Pen, across: Scale, up: Scale, widths: tuple[float, float], length: float
) -> None:
    """Ticks of both unit systems: cm and m on one side, in and yd on the other."""
    foot = up.start
    for unit, y in ((CM, foot - 3.2), (INCH, foot - 6.4)):
        for tick in _ticks(*widths, unit):
            x = across.at(tick * unit.mm)
            pen.lines([np.array([[x, foot], [x, foot - 1.0]])], _LINE, DARK)
            pen.text(x, y, f"{tick:g}", SMALL, align="center", colour=DARK)
        pen.text(LEFT - 3.0, y, unit.name, SMALL, bold=True, align="right")
    rise = FIGURE_RISE / 2 * SMALL * MM_PER_PT
    for unit, x, align in ((METRE, LEFT - 1.5, "right"), (YARD, RIGHT + 1.5, "left")):
        for tick in _ticks(0.0, length, unit):
            y = up.at(tick * unit.mm)
            if unit is METRE:
                pen.lines([np.array([[LEFT, y], [RIGHT, y]])], 0.08, GREY)
            pen.text(x, y - rise, f"{tick:g}", SMALL, align=align, colour=DARK)
        pen.text(x, TOP + 1.0, unit.name, SMALL, bold=True, align=align)
    pen.lines([np.array([[LEFT, foot], [RIGHT, foot]])], 0.35, BLACK)


def _ticks(low: float, high: float, unit: Unit) -> list[float]:
    """Multiples of the first step that gives few enough, in the unit, from `low` to `high` mm."""
    low, high = low / unit.mm, high / unit.mm
    fitting = (step for step in unit.steps if (high - low) / step <= _MOST_TICKS)
    step = next(fitting, unit.steps[-1])
    return [k * step for k in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _draw_key(pen: Pen, found: WidthsResult) -> None:
    x, y = LEFT, TOP + 6.0
    used = {name for bought in found.widths for name, mm in bought.purchase.addends.items() if mm}
    for name in (name for name in FACES if name in used):
        pen.fill(shapely.box(x, y - 0.4, x + 4.0, y + 1.8), FACES[name], BLACK, _LINE)
        pen.text(x + 5.2, y, NAMES[name], SMALL, colour=DARK)
        x += 9.0 + text_width(NAMES[name], SMALL)
    pen.lines([np.array([[x, y + 0.7], [x + 6.0, y + 0.7]])], 0.25, DARK, (1.6, 1.0))
    said = "the pieces' own area: no layout is shorter"
    pen.text(x + 7.2, y, said, SMALL, colour=DARK)
    x += 11.0 + text_width(said, SMALL)
    if found.left_out:
        _draw_cross(pen, x + 1.0, y - 1.3)
        pen.text(x + 3.2, y, "not laid, see below", SMALL, colour=DARK)
