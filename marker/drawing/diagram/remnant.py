"""The shape of a remnant: what it lacks of its rectangle is left white. Paper mm."""

from __future__ import annotations

import shapely

from marker.canvas.pen import DARK, PAPER_WHITE, Pen
from marker.drawing.diagram.paper_piece import window
from marker.drawing.diagram.scene import Scene
from marker.drawing.diagram.sheets import Sheet

_EDGE = 0.25


def draw_lacking(pen: Pen, scene: Scene, sheet: Sheet) -> None:
    """Cover what is not there, and draw the edge of what is."""
    for outline in scene.lacking:
        part = shapely.Polygon(sheet.to_paper(outline)).intersection(window(sheet))
        for each in shapely.get_parts(part):
            if each.area > 0:
                pen.fill(each, PAPER_WHITE, DARK, _EDGE)
