"""What is drawn on the cloth beside its pieces: repeats and border, flaws, rectangles left over,
what a remnant lacks. Paper mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.canvas.lettering import DROP, RISE, SMALLEST_PT
from marker.canvas.pen import ACCENT, DARK, GREY, PAPER_WHITE, Pen
from marker.drawing.diagram.labels import Label
from marker.drawing.diagram.paper_piece import cut_polygon, window
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
                fill_lacking(pen, each)


def fill_lacking(pen: Pen, part: BaseGeometry, spacing: float = _LACKING_HATCH) -> None:
    """One part of paper where there is no cloth."""
    pen.fill(part, PAPER_WHITE, DARK, _LACKING_EDGE)
    for slope in (1.0, -1.0):
        pen.lines(hatching(part, spacing, slope), 0.1, GREY)


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


_SPACING = 0.9
_EDGE = 0.25
_MARGIN = 0.5  # around a name
_NEAREST, _FARTHEST, _STEP = 1.0, 40.0, 1.0
_ANGLES = np.radians(np.arange(0.0, 360.0, 15.0))


def draw_flaws(pen: Pen, scene: Scene, sheet: Sheet) -> None:
    """Each flaw that the sheet shows, hatched both ways."""
    for _, region in _shown(scene, sheet):
        for slope in (1.0, -1.0):
            pen.lines(hatching(region, _SPACING, slope), 0.12, ACCENT)
        rings = [part.exterior for part in shapely.get_parts(region)]
        pen.lines([shapely.get_coordinates(ring) for ring in rings], _EDGE, ACCENT)


def name_flaws(pen: Pen, scene: Scene, sheet: Sheet, labels: Sequence[Label]) -> None:
    """The name of each flaw, inside it where there is room, else on the nearest free cloth."""
    flaws = _shown(scene, sheet)
    if not flaws:
        return
    arrows = [label.arrow for label in labels if label.arrow]
    taken = [label.box for label in labels]
    taken += [shapely.LineString([arrow.tail, arrow.head]).buffer(_MARGIN) for arrow in arrows]
    taken += [cut_polygon(piece, sheet) for piece in scene.pieces]
    hatched = [region for _, region in flaws]
    for name, region in flaws:
        width = text_width(name, SMALLEST_PT, bold=True) + 2 * _MARGIN
        height = (RISE + DROP) * SMALLEST_PT * MM_PER_PT + 2 * _MARGIN
        others = [*taken, *(other for other in hatched if other is not region)]
        plate = _plate(region, width, height, shapely.unary_union(others), _cloth(scene, sheet))
        _write(pen, name, plate, region)
        taken.append(plate)


def _shown(scene: Scene, sheet: Sheet) -> list[tuple[str, BaseGeometry]]:
    """Name and region of each flaw as far as the sheet shows it."""
    seen = _cloth(scene, sheet)
    found = [
        (flaw.name, shapely.Polygon(sheet.to_paper(flaw.outline)).intersection(seen))
        for flaw in scene.flaws
    ]
    return [(name, _solid(region)) for name, region in found if region.area > 0]


def _solid(region: BaseGeometry) -> BaseGeometry:
    """Its polygons alone: a clip may leave points and lines where it only touches."""
    parts = [part for part in shapely.get_parts(region) if part.area > 0]
    solid: BaseGeometry = shapely.MultiPolygon(parts)
    return solid


def _cloth(scene: Scene, sheet: Sheet) -> BaseGeometry:
    """The cloth on the sheet, ends and selvages included."""
    end, selvage = scene.end_mm, scene.selvage_mm
    corners = np.array([[-end, -selvage], [scene.length_mm + end, scene.width_mm + selvage]])
    (x, y), (far_x, far_y) = sheet.to_paper(corners)
    seen: BaseGeometry = shapely.box(x, y, far_x, far_y).intersection(window(sheet))
    return seen


def _plate(
    region: BaseGeometry, width: float, height: float, taken: BaseGeometry, cloth: BaseGeometry
) -> BaseGeometry:
    """The box of a name: in the middle of its flaw if it fits or nothing near is free, else at the
    nearest free place."""
    middle = shapely.point_on_surface(region)
    radius, angle = np.meshgrid(np.arange(_NEAREST, _FARTHEST, _STEP), _ANGLES, indexing="ij")
    x = np.append(middle.x, middle.x + (radius * np.cos(angle)).ravel())
    y = np.append(middle.y, middle.y + (radius * np.sin(angle)).ravel())
    plates = shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
    for part in (taken, cloth, region):
        shapely.prepare(part)
    inside = shapely.contains(region, plates)
    beside = ~shapely.intersects(region, plates) & shapely.contains(cloth, plates)
    free = (inside | beside) & ~shapely.intersects(taken, plates)
    best: BaseGeometry = plates[int(np.argmax(free))]  # the first is the middle
    return best


def _write(pen: Pen, name: str, plate: BaseGeometry, region: BaseGeometry) -> None:
    """The name on white; outside its flaw with a line to it."""
    x, y = plate.centroid.x, plate.bounds[1] + _MARGIN + DROP * SMALLEST_PT * MM_PER_PT
    if not plate.intersects(region):
        pen.lines([shapely.get_coordinates(shapely.shortest_line(plate, region))], 0.15, ACCENT)
    pen.fill(plate, PAPER_WHITE)
    pen.text(x, y, name, SMALLEST_PT, bold=True, colour=ACCENT, align="center")
