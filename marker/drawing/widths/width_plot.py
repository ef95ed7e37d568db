"""Cloth to buy against its width: a column for each width, and all figures below. A4, paper mm."""

from __future__ import annotations

from marker.canvas.lettering import shorten
from marker.canvas.page import Page
from marker.canvas.pen import ACCENT, DARK, Pen
from marker.canvas.rendering import rendered
from marker.drawing.diagram.sheets import MARGIN, PAPER
from marker.drawing.widths.columns import draw_columns
from marker.drawing.widths.width_table import draw_table
from marker.planning.widths import WidthsResult
from marker.units import metric


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
    said = f"{metric(best.purchase.buy_mm)} of {metric(best.width_mm)}{price}"
    pen.text(right, top - 5.0, said, 12.0, bold=True, colour=ACCENT, align="right")
    why = "costs least" if found.by_cost else "least cloth by area; no prices are given"
    pen.text(right, top - 10.0, why, 8.0, colour=DARK, align="right")
