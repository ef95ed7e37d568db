"""Drawing on a page, in mm from its lower left corner."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.canvas.lettering import FIGURE_RISE
from marker.canvas.page import Clip, Colour, Page, Shape, Words
from marker.geometry.arrays import FloatArray

BLACK, DARK, GREY, PALE, PAPER_WHITE = "#111111", "#444444", "#8a8a8a", "#d3d0ca", "#ffffff"
DEEPER = "#b9b4ab"  # two plies of the pale cloth
ACCENT = "#9b2d20"  # madder; as dark as the text when printed in grey
_BEFORE = {"left": 0.0, "center": 0.5, "right": 1.0}  # of a text's width, before its place


class Pen:
    """Draws on one page; line widths in mm, sizes of text in points.

    page : what it has drawn.
    """

    def __init__(self, paper: tuple[float, float]) -> None:
        self.page = Page(*paper)
        self.width, self.height = paper
        self._factor, self._shift = 1.0, np.zeros(2)
        self._clip: Clip | None = None
        self._part = ""

    def enlarged(self, factor: float, shift: FloatArray, low: FloatArray, high: FloatArray) -> Pen:
        """A pen on the same page for what was planned on paper `factor` times smaller.

        shift : where that paper's own corner comes to lie. Nothing is drawn outside the rectangle
        from `low` to `high` of this page.
        """
        other = copy(self)
        other._factor, other._shift = factor, shift
        other._clip = Clip((float(low[0]), float(low[1])), (float(high[0]), float(high[1])))
        return other

    def moved(self, x: float, y: float) -> Pen:
        """A pen on the same page whose (0, 0) lies at (x, y) of this one's."""
        other = copy(self)
        other._shift = self._shift + self._factor * np.array([x, y])
        return other

    def on(self, part: str) -> Pen:
        """A pen on the same page whose marks belong to a piece."""
        other = copy(self)
        other._part = part
        return other

    def fill(
        self,
        region: BaseGeometry,
        face: Colour,
        edge: Colour | None = None,
        width: float = 0.0,
        name: str = "",
    ) -> None:
        """A polygon (or several), holes left open."""
        rings: list[FloatArray] = []
        for part in shapely.get_parts(region):
            rings += [shapely.get_coordinates(ring) for ring in (part.exterior, *part.interiors)]
        self._add(rings, face, edge, width, (), name)

    def lines(
        self,
        runs: Iterable[FloatArray],
        width: float,
        colour: Colour = BLACK,
        dashes: Sequence[float] | None = None,
        name: str = "",
    ) -> None:
        """Polylines, each (n, 2), drawn as one; `dashes` in mm, on and off in turn.

        A run that ends where it began is closed, so that its corner is joined.
        """
        self._add(list(runs), None, colour, width, dashes or (), name)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        colour: Colour = BLACK,
        angle: float = 0.0,
        align: str = "left",
    ) -> None:
        """One line with its baseline starting (or centred, or ending) at (x, y); size in points."""
        if not text:
            return
        before = _BEFORE[align] * text_width(text, size, bold)
        turn = np.radians(angle)
        start = np.array([x - before * np.cos(turn), y - before * np.sin(turn)])
        at = self._factor * start + self._shift
        self.page.marks.append(
            Words(
                (float(at[0]), float(at[1])),
                text,
                size * self._factor,
                bold,
                colour,
                angle,
                self._part,
                self._clip,
            )
        )

    def badge(
        self, x: float, y: float, number: int, diameter: float, size: float, angle: float = 0.0
    ) -> None:
        """A number in white on a black disc centred at (x, y), read at `angle`."""
        self.fill(shapely.Point(x, y).buffer(diameter / 2, quad_segs=8), BLACK)
        drop = FIGURE_RISE / 2 * size * MM_PER_PT  # half the height of a figure
        turn = np.radians(angle)
        at = (x + drop * np.sin(turn), y - drop * np.cos(turn))
        self.text(
            *at, str(number), size, bold=True, colour=PAPER_WHITE, angle=angle, align="center"
        )

    def _add(
        self,
        runs: Sequence[FloatArray],
        face: Colour | None,
        edge: Colour | None,
        width: float,
        dashes: Sequence[float],
        name: str,
    ) -> None:
        if not runs:
            return
        placed = tuple(run * self._factor + self._shift for run in runs)
        spaced = tuple(dash * self._factor for dash in dashes)
        self.page.marks.append(
            Shape(placed, face, edge, width * self._factor, spaced, name, self._part, self._clip)
        )
