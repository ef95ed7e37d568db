"""What is drawn on the cloth beside its pieces: repeats and border, rectangles left over, what a
remnant lacks. Paper mm."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.fonts import text_width
from marker.canvas.lettering import SMALLEST_PT
from marker.canvas.pen import ACCENT, DARK, GREY, PAPER_WHITE, Pen
from marker.drawing.diagram.paper_piece import window
from marker.drawing.diagram.sheets import Sheet
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.signs import hatching
from marker.units import length

REPEAT, REPEAT_DASHES = 0.3, (0.3, 1.4)  # dots, unlike any line of a piece
_BORDER, _BORDER_DASHES = 0.3, (4.0, 0.8, 0.3, 0.8, 0.3, 0.8)
_LEFT, _LEFT_DASHES = 0.12, (2.5, 1.5)
_LACKING_EDGE, _LACKING_HATCH = 0.6, 3.0
_CLOSEST = 1.2  # lines nearer than this on paper would be a grey ground
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
        pen.lines([shapely.get_coordinates(inner)], _LEFT, GREY, _LEFT_DASHES)
        along, across = box[1] - box[0]
        text = f"{length(along)} × {length(across)} left"
        x, y, far_x, far_y = inner.bounds
        if text_width(text, SMALLEST_PT) < far_x - x and far_y - y > _ROOM:
            middle = (x + far_x) / 2, (y + far_y) / 2 - 0.7
            pen.text(*middle, text, SMALLEST_PT, colour=DARK, align="center")


def draw_lacking(pen: Pen, scene: Scene, sheet: Sheet) -> None:
    """Cover what is not there, hatch it sparsely, and draw the edge of what is."""
    for outline in scene.lacking:
        part = shapely.Polygon(sheet.to_paper(outline)).intersection(window(sheet))
        for each in shapely.get_parts(part):
            if each.area > 0:
                pen.fill(each, PAPER_WHITE, DARK, _LACKING_EDGE)
                for slope in (1.0, -1.0):
                    pen.lines(hatching(each, _LACKING_HATCH, slope), 0.1, GREY)


def draw_repeat(pen: Pen, scene: Scene, sheet: Sheet, texts: BaseGeometry) -> None:
    """Where repeats begin, on the stretch of cloth that the sheet shows, and the border's line; not
    in the texts of pieces, whose dots and figures they would spoil."""
    lines = scene.repeat
    near, far = sheet.y(-scene.selvage_mm), sheet.y(scene.width_mm + scene.selvage_mm)
    left, right = sheet.x(sheet.start_mm), sheet.x(sheet.end_mm)
    runs = [
        np.array([[sheet.x(x), near], [sheet.x(x), far]])
        for x in shown_lines(lines.along_mm, sheet.scale)
        if sheet.start_mm <= x <= sheet.end_mm
    ]
    across = [sheet.y(y) for y in shown_lines(lines.across_mm, sheet.scale)]
    runs += [np.array([[left, y], [right, y]]) for y in across]
    bare = shapely.MultiLineString(runs).difference(texts) if runs else shapely.LineString()
    runs = [shapely.get_coordinates(part) for part in shapely.get_parts(bare) if part.length > 0]
    if runs:
        pen.lines(runs, REPEAT, DARK, REPEAT_DASHES, name="repeat")
    if lines.border_mm is not None:
        y = sheet.y(lines.border_mm)
        pen.lines(
            [np.array([[left, y], [right, y]])], _BORDER, ACCENT, _BORDER_DASHES, name="border"
        )


def shown_lines(places: tuple[float, ...], scale: int) -> tuple[float, ...]:
    """Every line, or every second, fifth or so of them where all would stand too close on paper.

    scale : mm of cloth for each mm of paper.
    """
    if len(places) < 2:
        return places
    apart = (places[1] - places[0]) / scale
    step = next((step for step in (1, 2, 5, 10, 20, 50) if step * apart >= _CLOSEST), 100)
    return places[::step]
