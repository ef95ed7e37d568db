"""The garments that can be drafted, each with the picture of its pieces, on one page."""

from __future__ import annotations

import math

import numpy as np
import shapely

from marker.blocks.body import Body
from marker.blocks.catalogue import GARMENTS, picture_outlines
from marker.blocks.garment import Garment
from marker.canvas.lettering import wrapped
from marker.canvas.pen import BLACK, DARK, PALE, Pen
from marker.canvas.rendering import rendered
from marker.drawing.diagram.sheets import MARGIN, PAPER
from marker.geometry.arrays import FloatArray

SAMPLE = "38"
"""The size that is drawn."""

_ACROSS = 4
_FOOT = MARGIN + 6.0
_WORDS, _GAP = 13.0, 5.0  # below a picture, and between two
_NAME_PT, _SMALL_PT = 9.0, 6.0
_NAME_DROP, _FIRST_DROP, _DROP = 4.0, 7.0, 2.6  # baselines below the picture
_LINE = 0.25


def render_garments() -> dict[str, bytes]:
    """File name -> contents: 'garments.pdf', '.svg' and '.png' (see `rendered`)."""
    pen = Pen(PAPER)
    down = math.ceil(len(GARMENTS) / _ACROSS)
    cell = (PAPER[0] - 2 * MARGIN) / _ACROSS, (PAPER[1] - MARGIN - _FOOT) / down
    for place, garment in enumerate(GARMENTS.values()):
        column, row = place % _ACROSS, place // _ACROSS
        corner = np.array([MARGIN + cell[0] * column, PAPER[1] - MARGIN - cell[1] * (row + 1)])
        _draw(pen, garment, corner, np.array(cell) - _GAP)
    words = f"Each picture has a scale of its own. Pieces are drawn in size {SAMPLE}, on their "
    pen.text(MARGIN, MARGIN, words + "stitching lines, bands and ties left out.", 7.0, colour=DARK)
    return rendered("garments", [pen.page], "Garments from measures")


def _draw(pen: Pen, garment: Garment, corner: FloatArray, room: FloatArray) -> None:
    """One garment in a room whose lower left corner is given, paper mm."""
    body = Body.of_size(SAMPLE)
    block = garment.drafted({SAMPLE: body}, SAMPLE, {}).sizes[SAMPLE]
    outlines = [each.outline * [1.0, -1.0] for each in picture_outlines(block)]
    low = np.min([outline.min(axis=0) for outline in outlines], axis=0)
    extent = np.max([outline.max(axis=0) for outline in outlines], axis=0) - low
    scale = float((extent / (room - [0.0, _WORDS])).max())
    at = corner + np.array([(room[0] - extent[0] / scale) / 2, _WORDS])
    for outline in outlines:
        pen.fill(shapely.Polygon((outline - low) / scale + at), PALE, BLACK, _LINE)
    middle, top = corner[0] + room[0] / 2, corner[1] + _WORDS
    pen.text(middle, top - _NAME_DROP, garment.name, _NAME_PT, bold=True, align="center")
    for k, line in enumerate(wrapped(_needs(garment), room[0], _SMALL_PT)):
        pen.text(middle, top - _FIRST_DROP - k * _DROP, line, _SMALL_PT, align="center")


def _needs(garment: Garment) -> str:
    names = [name.replace("_", " ") for name in garment.measures]
    return f"from {', '.join(names)}" if names else "from its options alone"
