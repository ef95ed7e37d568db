"""Cloth to buy against its width: columns true to scale along both axes, and all figures below. A4,
paper mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.canvas.lettering import FIGURE_RISE, shorten
from marker.canvas.page import Page
from marker.canvas.pen import ACCENT, BLACK, DARK, GREY, PALE, PAPER_WHITE, Pen
from marker.canvas.rendering import rendered
from marker.cloth.buying import Addend
from marker.drawing.bands.band_pages import TINT
from marker.drawing.diagram.sheets import MARGIN, PAPER
from marker.planning.widths import BoughtCloth, WidthsResult
from marker.reports.yardage import ADDEND_WORDS, asked_alone, shown_addends, shown_short_by
from marker.units import (
    Show,
    System,
    area,
    cut_length,
    cut_lengths,
    length,
    lengths,
    percent,
    shown,
)

LABEL, SMALL = 8.0, 6.0
LEFT, RIGHT, TOP = MARGIN + 12.0, PAPER[0] - MARGIN - 12.0, PAPER[1] - MARGIN - 25.0
FACES = {
    Addend.LAYOUT: PALE,
    Addend.END_ALLOWANCE: GREY,
    Addend.REPEAT: TINT,
    Addend.SHRINKAGE: DARK,
    Addend.ROUNDING: PAPER_WHITE,
}
_WIDEST, _BESIDE_MM = 14.0, 60.0
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
AXES = {System.METRIC: (CM, METRE), System.IMPERIAL: (INCH, YARD)}
"""Of the widths and of the lengths."""


@dataclass(frozen=True)
class Scale:
    """Paper mm of cloth mm: `at(mm) = start + (mm - low) * share`."""

    start: float
    low: float
    share: float

    def at(self, mm: float) -> float:
        """Where it lies on paper, mm."""
        return self.start + (mm - self.low) * self.share


def render_width_plot(found: WidthsResult) -> dict[str, bytes]:
    """File name -> contents: 'buy.pdf', 'buy.svg', 'buy.png'.

    The same widths give the same bytes with the same versions of the libraries.
    """
    return rendered("buy", [_draw(found)], f"{found.job_name}: what to buy")


def _draw(found: WidthsResult) -> Page:
    pen = Pen(PAPER)
    _draw_title(pen, found)
    draw_columns(pen, found, foot=draw_table(pen, found))
    return pen.page


def _draw_title(pen: Pen, found: WidthsResult) -> None:
    top, right = PAPER[1] - MARGIN, PAPER[0] - MARGIN
    cloth = found.widths[0].checked.layout.cloth.name
    pen.text(MARGIN, top - 5.0, shorten(found.job_name, 150.0, 15.0, bold=True), 15.0, bold=True)
    said = shorten(f"{cloth}: what to buy, by the width of the cloth", 150.0, 8.0)
    pen.text(MARGIN, top - 10.0, said, 8.0, colour=DARK)
    best = found.widths[found.cheapest]
    cost = best.purchase.cost
    price = "" if cost is None else f", {cost:.2f} {best.purchase.currency}"
    said = f"{asked_alone(best.purchase)} of {length(best.width_mm)}{price}"
    pen.text(right, top - 5.0, said, 12.0, bold=True, colour=ACCENT, align="right")
    why = "costs least" if found.by_cost else "least cloth by area; no prices are given"
    pen.text(right, top - 10.0, why, 8.0, colour=DARK, align="right")


def draw_columns(pen: Pen, found: WidthsResult, foot: float) -> None:
    """The plot, from `foot` up to the title."""
    foot += 9.0
    every = [bought.width_mm for bought in found.widths]
    every += [left.width_mm for left in found.left_out]
    low, high = min(every) - _BESIDE_MM, max(every) + _BESIDE_MM
    across = Scale(LEFT, low, (RIGHT - LEFT) / (high - low))
    longest = max(text_width(_label(bought), LABEL, True) for bought in found.widths)
    lying = longest + 3.0 < min(
        [*np.diff(sorted(every)) * across.share, across.at(every[0]) - LEFT]
    )
    room = TOP - foot - 3.0 - (LABEL * MM_PER_PT if lying else longest)
    up = Scale(foot, 0.0, room / max(bought.purchase.buy_mm for bought in found.widths))
    _draw_axes(pen, across, up, (low, high), (TOP - foot) / up.share)
    wide = _column_width(every, across)
    for k, bought in enumerate(found.widths):
        best = k == found.cheapest
        _draw_column(pen, bought, across.at(bought.width_mm), up, wide, best)
        _draw_label(pen, bought, (across.at(bought.width_mm), up), best, lying)
    _draw_floor(pen, found, across, up)
    for left in found.left_out:
        _draw_cross(pen, across.at(left.width_mm), foot)
    _draw_key(pen, found)


def _label(bought: BoughtCloth) -> str:
    cost, currency = bought.purchase.cost, bought.purchase.currency
    price = "" if cost is None else f"  {cost:.2f} {currency}"
    return f"{asked_alone(bought.purchase)}{price}"


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


def _draw_label(
    pen: Pen, bought: BoughtCloth, at: tuple[float, Scale], best: bool, lying: bool
) -> None:
    """What is bought, and its cost, on ground of its own above the column; written upwards where
    columns stand too near for it. at : x of the column, and the scale up."""
    x, up = at
    said, foot = _label(bought), up.at(bought.purchase.buy_mm) + 1.2
    high, long = FIGURE_RISE * LABEL * MM_PER_PT, text_width(said, LABEL, best)
    colour = ACCENT if best else BLACK
    if lying:
        pen.fill(shapely.box(x - long / 2, foot, x + long / 2, foot + high), PAPER_WHITE)
        pen.text(x, foot, said, LABEL, bold=best, colour=colour, align="center")
        return
    pen.fill(shapely.box(x - high / 2, foot, x + high / 2, foot + long), PAPER_WHITE)
    pen.text(x + high / 2, foot, said, LABEL, bold=best, colour=colour, angle=90.0)


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
    """Ticks of the unit systems shown, lengths of the first one on the left."""
    foot, lead = up.start, shown().lead
    systems = (lead, lead.other) if shown().both else (lead,)
    wide, long = zip(*(AXES[system] for system in systems), strict=True)
    for unit, y in zip(wide, (foot - 3.2, foot - 6.4), strict=False):
        for tick in _ticks(*widths, unit):
            x = across.at(tick * unit.mm)
            pen.lines([np.array([[x, foot], [x, foot - 1.0]])], _LINE, DARK)
            pen.text(x, y, f"{tick:g}", SMALL, align="center", colour=DARK)
        pen.text(LEFT - 3.0, y, unit.name, SMALL, bold=True, align="right")
    rise = FIGURE_RISE / 2 * SMALL * MM_PER_PT
    for unit, (x, align) in zip(long, ((LEFT - 1.5, "right"), (RIGHT + 1.5, "left")), strict=False):
        for tick in _ticks(0.0, length, unit):
            y = up.at(tick * unit.mm)
            if unit is long[0]:
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
        pen.text(x + 5.2, y, ADDEND_WORDS[name], SMALL, colour=DARK)
        x += 9.0 + text_width(ADDEND_WORDS[name], SMALL)
    pen.lines([np.array([[x, y + 0.7], [x + 6.0, y + 0.7]])], 0.25, DARK, (1.6, 1.0))
    said = "the pieces' own area: no layout is shorter"
    pen.text(x + 7.2, y, said, SMALL, colour=DARK)
    x += 11.0 + text_width(said, SMALL)
    if found.left_out:
        _draw_cross(pen, x + 1.0, y - 1.3)
        pen.text(x + 3.2, y, "not laid, see below", SMALL, colour=DARK)


_TABLE_PT, _HEAD_PT = 6.0, 5.5
_ROW, _BASE = 3.5, MARGIN + 5.0
_ADDENDS_FROM = 64.0
_HEADS = ADDEND_WORDS | {Addend.REPEAT: "to start on its bar"}
_BY_YARD = "by the yard"
_COLUMNS = {
    "width": 0.0,
    "usable": 52.0,
    "to buy": 152.0,
    _BY_YARD: 172.0,
    "one step less is short by": 192.0,
    "used": 224.0,
    "area": 238.0,
    "cost": 254.0,
}


def draw_table(pen: Pen, found: WidthsResult) -> float:
    """All rows from the foot of the page; where they end above."""
    rows = len(found.widths) + len(found.left_out) + len(found.others)
    head = _BASE + (rows + 0.4) * _ROW
    right = PAPER[0] - MARGIN
    columns = _columns(found)
    for name, x in columns.items():
        pen.text(MARGIN + x, head, name, _HEAD_PT, colour=DARK)
    pen.lines([np.array([[MARGIN, head - 1.0], [right, head - 1.0]])], 0.35, BLACK)
    y = _BASE + rows * _ROW - 1.0
    for k, bought in enumerate(found.widths):
        y -= _ROW
        _draw_row(pen, columns, bought, y, "", k == found.cheapest)
    for left in found.left_out:
        y -= _ROW
        pen.text(MARGIN, y, _width(left.width_mm), _TABLE_PT, colour=DARK)
        x = MARGIN + columns["usable"]
        said = f"not laid: {left.reason}"
        pen.text(x, y, shorten(said, right - x, _TABLE_PT), _TABLE_PT, colour=DARK)
    for bought in found.others:
        y -= _ROW
        _draw_row(pen, columns, bought, y, f"{bought.checked.layout.cloth.name}, ", False)
    _draw_foot(pen, found)
    return head + 3.0


def _columns(found: WidthsResult) -> dict[str, float]:
    """Headings and where they begin, those of the addends that there are evenly between the
    others."""
    every = [bought.purchase.addends for bought in (*found.widths, *found.others)]
    addends = [name for name in every[0] if any(each[name] for each in every)]
    step = (_COLUMNS["to buy"] - _ADDENDS_FROM) / len(addends)
    between = {_HEADS[name]: _ADDENDS_FROM + k * step for k, name in enumerate(addends)}
    every_column = sorted({**_COLUMNS, **between}.items(), key=lambda column: column[1])
    metric_only = shown() == Show(System.METRIC, both=False)
    return dict(each for each in every_column if not (metric_only and each[0] == _BY_YARD))


def _draw_row(
    pen: Pen, columns: dict[str, float], bought: BoughtCloth, y: float, name: str, best: bool
) -> None:
    purchase = bought.purchase
    cost = "" if purchase.cost is None else f"{purchase.cost:.2f} {purchase.currency}"
    values = {
        "width": name + _width(bought.width_mm),
        "usable": cut_length(bought.checked.layout.cloth.usable_width_mm),
        **{_HEADS[addend]: cut_length(mm) for addend, mm in shown_addends(purchase).items()},
        "to buy": length(purchase.buy_mm),
        _BY_YARD: purchase.yards,
        "one step less is short by": cut_lengths(shown_short_by(purchase)),
        "used": percent(bought.checked.utilisation),
        "area": area(bought.area_mm2),
        "cost": cost,
    }
    begins = list(columns.values())
    ends = [*begins[1:], PAPER[0] - 2 * MARGIN]
    for heading, x, end in zip(columns, begins, ends, strict=True):
        said = shorten(values[heading], end - x - 1.0, _TABLE_PT, bold=best)
        pen.text(MARGIN + x, y, said, _TABLE_PT, bold=best, colour=ACCENT if best else BLACK)


def _width(mm: float) -> str:
    return f"{lengths(mm)}"


def _draw_foot(pen: Pen, found: WidthsResult) -> None:
    """Which widths lend their layouts, and what all cloths cost together."""
    right = PAPER[0] - MARGIN
    rule = np.array([[MARGIN, _BASE - 2.0], [right, _BASE - 2.0]])
    pen.lines([rule], 0.18, GREY)
    lent = [
        f"{length(bought.width_mm)} laid as on {length(bought.laid_at_mm)}"
        for bought in found.widths
        if bought.is_carried
    ]
    pen.text(MARGIN, MARGIN, shorten("; ".join(lent), 180.0, _HEAD_PT), _HEAD_PT, colour=DARK)
    if found.others:
        total = " + ".join(f"{cost:.2f} {currency}" for currency, cost in found.totals.items())
        said = f"all cloths together: {total}" if total else ""
        pen.text(right, MARGIN, said, _HEAD_PT, bold=True, align="right")
