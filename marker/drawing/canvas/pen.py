"""Drawing on one page in paper mm, with matplotlib's object-oriented interface."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from typing import Any

import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.transforms import Bbox, TransformedBbox
from shapely.geometry.base import BaseGeometry

from marker.drawing.canvas.lettering import FIGURE_RISE, MM_PER_PT, font
from marker.drawing.diagram.sheets import PAPER
from marker.geometry.arrays import FloatArray

BLACK, DARK, GREY, PALE, PAPER_WHITE = "#111111", "#444444", "#8a8a8a", "#d3d0ca", "#ffffff"
DEEPER = "#b9b4ab"  # two plies of the pale cloth
ACCENT = "#9b2d20"  # madder; as dark as the text when printed in grey
Colour = str


class Pen:
    """A blank page; coordinates in mm from its lower left corner, line widths in mm.

    width, height : of the page.
    """

    def __init__(self, paper: tuple[float, float] = PAPER) -> None:
        self.width, self.height = width, height = paper
        self.figure = Figure(figsize=(width / 25.4, height / 25.4), facecolor=PAPER_WHITE)
        self.axes: Axes = self.figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self.axes.set(xlim=(0.0, width), ylim=(0.0, height))
        self.axes.set_axis_off()
        self._factor, self._shift = 1.0, np.zeros(2)
        self._clip: TransformedBbox | None = None

    def enlarged(self, factor: float, shift: FloatArray, low: FloatArray, high: FloatArray) -> Pen:
        """A pen on the same page for what was planned on paper `factor` times smaller.

        shift : where that paper's own corner comes to lie. Nothing is drawn outside the rectangle
        from `low` to `high` of this page.
        """
        other = copy(self)
        other._factor, other._shift = factor, shift
        other._clip = TransformedBbox(Bbox([low, high]), self.axes.transData)
        return other

    def fill(
        self,
        region: BaseGeometry,
        face: Colour,
        edge: Colour | None = None,
        width: float = 0.0,
        name: str | None = None,
    ) -> None:
        """A polygon (or several), holes left open; `name` becomes its id in the SVG."""
        rings: list[FloatArray] = []
        for part in shapely.get_parts(region):
            rings += [shapely.get_coordinates(ring) for ring in (part.exterior, *part.interiors)]
        self._add(rings, face, edge, width, None, name)

    def lines(
        self,
        runs: Iterable[FloatArray],
        width: float,
        colour: Colour = BLACK,
        dashes: Sequence[float] | None = None,
        name: str | None = None,
    ) -> None:
        """Polylines, each (n, 2), drawn as one; `dashes` in mm, on and off in turn.

        A run that ends where it began is closed, so that its corner is joined.
        """
        self._add(list(runs), None, colour, width, dashes, name)

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
        x, y = self._factor * np.array([x, y]) + self._shift
        self.axes.text(
            x,
            y,
            text,
            fontproperties=font(bold),
            fontsize=size * self._factor,
            color=colour,
            rotation=angle,
            rotation_mode="anchor",
            ha=align,
            va="baseline",
            parse_math=False,
            zorder=len(self.axes.get_children()),
            clip_on=self._clip is not None,
            clip_box=self._clip,
        )

    def badge(
        self, x: float, y: float, number: int, diameter: float, size: float, angle: float = 0.0
    ) -> None:
        """A number in white on a black disc centred at (x, y), read at `angle`."""
        self.fill(shapely.Point(x, y).buffer(diameter / 2, quad_segs=16), BLACK)
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
        dashes: Sequence[float] | None,
        name: str | None,
    ) -> None:
        if not runs:
            return
        style: Any = "solid"
        if dashes:  # matplotlib counts dashes in line widths
            style = (0, [dash / width for dash in dashes])
        patch = PathPatch(
            _path([run * self._factor + self._shift for run in runs]),
            facecolor=face or "none",
            edgecolor=edge or "none",
            linewidth=width * self._factor / MM_PER_PT,
            linestyle=style,
            joinstyle="round",
            capstyle="butt",
            zorder=len(self.axes.get_children()),
            gid=name,
            clip_box=self._clip,
        )
        self.axes.add_artist(patch)  # as add_patch, but the page's limits are not asked for again


def _path(runs: Sequence[FloatArray]) -> Path:
    """One path of several runs, those that end where they began closed."""
    vertices, codes = [], []
    for run in runs:
        code = [Path.MOVETO] + [Path.LINETO] * (len(run) - 1)
        if np.array_equal(run[0], run[-1]):
            code[-1] = Path.CLOSEPOLY
        vertices.append(run)
        codes += code
    return Path(np.vstack(vertices), codes)
