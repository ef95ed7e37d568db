"""The largest rectangles left over, drawn lightly with their size. Paper mm."""

from __future__ import annotations

import numpy as np
import shapely

from marker.canvas.fonts import text_width
from marker.canvas.lettering import SMALLEST_PT
from marker.canvas.pen import GREY, Pen
from marker.drawing.diagram.paper_piece import window
from marker.drawing.diagram.scene import Scene
from marker.drawing.diagram.sheets import Sheet

_DASHES = (0.6, 0.8)
_INSET = 0.5  # so that the dashes stay clear of cut lines
_ROOM = 4.0  # for a line of text


def draw_leftovers(pen: Pen, scene: Scene, sheet: Sheet) -> None:
    """Each rectangle as far as it lies on the cloth drawn; its size where there is room for it."""
    for box in scene.spare_boxes:
        drawn = np.minimum(box, [scene.length_mm, scene.width_mm])
        (x, y), (far_x, far_y) = sheet.to_paper(drawn)
        seen = shapely.box(x, y, far_x, far_y).intersection(window(sheet))
        inner = seen.buffer(-_INSET, join_style="mitre")
        if inner.area == 0:
            continue
        pen.lines([shapely.get_coordinates(inner)], 0.12, GREY, _DASHES)
        along, across = box[1] - box[0]
        text = f"{along / 10:.0f} × {across / 10:.0f} cm left"
        x, y, far_x, far_y = inner.bounds
        if text_width(text, SMALLEST_PT) < far_x - x and far_y - y > _ROOM:
            middle = (x + far_x) / 2, (y + far_y) / 2 - 0.7
            pen.text(*middle, text, SMALLEST_PT, colour=GREY, align="center")
