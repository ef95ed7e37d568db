"""The figures below the plot of cloth against width, a row for each cloth; paper mm."""

from __future__ import annotations

import numpy as np

from marker.canvas.lettering import shorten
from marker.canvas.pen import ACCENT, BLACK, DARK, GREY, Pen
from marker.drawing.diagram.sheets import MARGIN, PAPER
from marker.drawing.widths.columns import NAMES
from marker.planning.widths import BoughtCloth, WidthsResult
from marker.units import inches, metric, percent

SIZE, HEAD = 6.0, 5.5
_ROW, _BASE = 3.5, MARGIN + 5.0
_ADDENDS_FROM = 64.0
_COLUMNS = {
    "width": 0.0,
    "usable": 52.0,
    "to buy": 152.0,
    "by the yard": 172.0,
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
        pen.text(MARGIN + x, head, name, HEAD, colour=DARK)
    pen.lines([np.array([[MARGIN, head - 1.0], [right, head - 1.0]])], 0.35, BLACK)
    y = _BASE + rows * _ROW - 1.0
    for k, bought in enumerate(found.widths):
        y -= _ROW
        _draw_row(pen, columns, bought, y, "", k == found.cheapest)
    for left in found.left_out:
        y -= _ROW
        pen.text(MARGIN, y, _width(left.width_mm), SIZE, colour=DARK)
        x = MARGIN + columns["usable"]
        said = f"not laid: {left.reason}"
        pen.text(x, y, shorten(said, right - x, SIZE), SIZE, colour=DARK)
    for bought in found.others:
        y -= _ROW
        _draw_row(pen, columns, bought, y, f"{bought.checked.layout.cloth.name}, ", False)
    _draw_foot(pen, found)
    return head + 3.0


def _columns(found: WidthsResult) -> dict[str, float]:
    """Headings and where they begin, those of the addends evenly between the others."""
    addends = list(found.widths[0].purchase.addends)
    step = (_COLUMNS["to buy"] - _ADDENDS_FROM) / len(addends)
    between = {NAMES[name]: _ADDENDS_FROM + k * step for k, name in enumerate(addends)}
    return dict(sorted({**_COLUMNS, **between}.items(), key=lambda column: column[1]))


def _draw_row(
    pen: Pen, columns: dict[str, float], bought: BoughtCloth, y: float, name: str, best: bool
) -> None:
    purchase = bought.purchase
    cost = "" if purchase.cost is None else f"{purchase.cost:.2f} {purchase.currency}"
    values = (
        name + _width(bought.width_mm),
        metric(bought.checked.layout.cloth.usable_width_mm),
        *(metric(mm) for mm in purchase.addends.values()),
        metric(purchase.buy_mm),
        purchase.yards,
        f"{metric(purchase.short_by_mm)} ({inches(purchase.short_by_mm)})",
        percent(bought.checked.utilisation),
        f"{bought.area_mm2 / 1e6:.2f} m²",
        cost,
    )
    begins = list(columns.values())
    ends = [*begins[1:], PAPER[0] - 2 * MARGIN]
    for x, end, value in zip(begins, ends, values, strict=True):
        said = shorten(value, end - x - 1.0, SIZE, bold=best)
        pen.text(MARGIN + x, y, said, SIZE, bold=best, colour=ACCENT if best else BLACK)


def _width(mm: float) -> str:
    return f"{metric(mm)} ({inches(mm)})"


def _draw_foot(pen: Pen, found: WidthsResult) -> None:
    """Which widths lend their layouts, and what all cloths cost together."""
    right = PAPER[0] - MARGIN
    rule = np.array([[MARGIN, _BASE - 2.0], [right, _BASE - 2.0]])
    pen.lines([rule], 0.18, GREY)
    lent = [
        f"{metric(bought.width_mm)} laid as on {metric(bought.laid_at_mm)}"
        for bought in found.widths
        if bought.is_carried
    ]
    pen.text(MARGIN, MARGIN, shorten("; ".join(lent), 180.0, HEAD), HEAD, colour=DARK)
    if found.others:
        total = " + ".join(f"{cost:.2f} {currency}" for currency, cost in found.totals.items())
        said = f"all cloths together: {total}" if total else ""
        pen.text(right, MARGIN, said, HEAD, bold=True, align="right")
