"""Flaws of the cloth on one sheet: hatched, and named beside or inside. Paper mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.canvas.lettering import DROP, RISE, SMALLEST_PT
from marker.canvas.pen import ACCENT, PAPER_WHITE, Pen
from marker.drawing.diagram.labels import Label
from marker.drawing.diagram.paper_piece import cut_polygon, window
from marker.drawing.diagram.sheets import Sheet
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.signs import hatching

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
