"""The drawing of a job's bands, bindings and belts: A4 pages, each strip to its own scale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from marker.canvas.lettering import shorten
from marker.canvas.page import Page
from marker.canvas.pen import BLACK, DARK, Pen
from marker.canvas.rendering import rendered
from marker.drawing.bands.band_block import BandBlock, block, pages_of
from marker.drawing.bands.band_view import draw_block, draw_key
from marker.drawing.diagram.sheets import MARGIN, PAPER
from marker.pattern.bands.strip_plan import StripPlan

_FOOT = MARGIN + 16.0
_BAR = 40.0  # the printed length to check, mm
_CAUTION = (
    "Blades, shears and irons: take the usual care; local rules and trained practice come first. "
    "Check the bar at 100 % print size."
)


def render_bands(job_name: str, plans: Mapping[str, Sequence[StripPlan]]) -> dict[str, bytes]:
    """File name -> contents: 'bands.pdf', and each page as SVG and PNG (see `rendered`).

    plans : size -> its strips; every size begins a page.
    """
    return rendered("bands", _draw_pages(job_name, plans), f"{job_name}: bands")


def _draw_pages(job_name: str, plans: Mapping[str, Sequence[StripPlan]]) -> list[Page]:
    top = PAPER[1] - MARGIN
    pages = [
        (size, blocks)
        for size, of_size in plans.items()
        for blocks in pages_of([block(plan) for plan in of_size], top - _FOOT)
    ]
    drawn = []
    for number, (size, blocks) in enumerate(pages, start=1):
        pen = Pen(PAPER)
        _draw_foot(pen, f"{job_name}, size {size}", number, len(pages))
        y = top
        for each in blocks:
            draw_block(pen, each, y)
            y -= each.height + _spread(blocks, top - _FOOT)
        drawn.append(pen.page)
    return drawn


def _spread(blocks: Sequence[BandBlock], room: float) -> float:
    """Room left on a page, shared out between its blocks, a little of it."""
    left = room - sum(each.height for each in blocks)
    return min(8.0, max(0.0, left) / max(1, len(blocks)))


def _draw_foot(pen: Pen, title: str, page: int, pages: int) -> None:
    left, right = MARGIN, PAPER[0] - MARGIN
    pen.lines([np.array([[left, _FOOT - 3.0], [right, _FOOT - 3.0]])], 0.6, BLACK)
    draw_key(pen, _FOOT - 7.0)
    pen.text(left, MARGIN + 3.8, shorten(title, 120.0, 9.0, bold=True), 9.0, bold=True)
    pen.text(left, MARGIN, f"strips with their marks and zones. {_CAUTION}", 5.5, colour=DARK)
    pen.text(right, MARGIN + 3.8, f"page {page} of {pages}", 7.0, bold=True, align="right")
    bar = np.array([[right - 70.0, 0.6], [right - 70.0, -0.6], [right - 70.0, 0.0],
                    [right - 30.0, 0.0], [right - 30.0, 0.6], [right - 30.0, -0.6]])  # fmt: skip
    pen.lines([bar + np.array([0.0, MARGIN + 4.8])], 0.3, BLACK, name="bar")
    words = f"{_BAR:.0f} mm on paper"
    pen.text(right - 50.0, MARGIN + 1.8, words, 5.5, align="center", colour=DARK)
