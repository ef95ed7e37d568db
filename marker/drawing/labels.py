"""Labels of the pieces on one sheet: text inside each piece, or its number outside on a leader."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.drawing.fitting import Shaft, Spot, TextRoom, arrow_beside, arrow_in
from marker.drawing.scene import PieceDrawing, Scene
from marker.drawing.sheets import Sheet
from marker.drawing.wording import Block, badge_block, wordings

_EDGE_CLEAR = 0.35  # text to cut line
_LINE_CLEAR = 0.3  # text to stitching and fold lines
_ARROW_CLEAR = 0.45
_ARROW_ENOUGH = 5.0
_LEADER_RADII = np.arange(3.5, 90.0, 1.5)
_LEADER_ANGLES = np.radians(np.arange(15.0, 375.0, 15.0))


@dataclass(frozen=True)
class Label:
    """A piece's text on one sheet, paper mm.

    leader : the point in the piece a number outside it refers to; None when the text is inside.
    arrow : None where the outline has no room for one.
    """

    piece: PieceDrawing
    block: Block
    spot: Spot
    arrow: Shaft | None
    leader: tuple[float, float] | None = None

    @property
    def box(self) -> BaseGeometry:
        """What the text covers."""
        return self.spot.box(self.block.width_mm, self.block.height_mm)


def place_labels(scene: Scene, sheet: Sheet) -> tuple[Label, ...]:
    """Labels of the pieces seen on `sheet`, in the order of their numbers.

    A piece broken over sheets is labelled on each where its text or number fits, and at least on
    the one that shows most of it.
    """
    seen = [(piece, visible(piece, sheet)) for piece in scene.pieces]
    seen = [(piece, region) for piece, region in seen if not region.is_empty]
    labels, homeless = [], []
    for piece, region in seen:
        label = _inside(piece, region, sheet)
        if label is not None:
            labels.append(label)
        elif region.area >= 0.5 * paper_polygon(piece, sheet).area:
            homeless.append((piece, region))
    labels += _callouts(homeless, [region for _, region in seen], labels, sheet, scene.width_mm)
    return tuple(sorted(labels, key=lambda label: label.piece.number))


def paper_polygon(piece: PieceDrawing, sheet: Sheet) -> BaseGeometry:
    """The piece's cut outline on the sheet's paper, cut-outs left out."""
    holes = [sheet.to_paper(hole) for hole in piece.cutouts]
    polygon: BaseGeometry = shapely.Polygon(sheet.to_paper(piece.outline), holes)
    return polygon


def visible(piece: PieceDrawing, sheet: Sheet) -> BaseGeometry:
    """The largest part of the piece within the sheet's window."""
    low, high = sheet.x(sheet.start_mm), sheet.x(sheet.end_mm)
    polygon = paper_polygon(piece, sheet)
    return _largest(polygon.intersection(shapely.box(low, -1e5, high, 1e5)))


def _largest(region: BaseGeometry) -> BaseGeometry:
    parts = [part for part in shapely.get_parts(region) if part.area > 0]
    return max(parts, key=lambda part: part.area, default=shapely.Polygon())


def _inside(piece: PieceDrawing, region: BaseGeometry, sheet: Sheet) -> Label | None:
    """The fullest wording that fits with a grain arrow beside it; at worst the number alone."""
    arrow_room = region.buffer(-_ARROW_CLEAR)
    if piece.fold_line is not None:  # an arrow on the fold line would not be seen
        fold = shapely.LineString(sheet.to_paper(piece.fold_line))
        arrow_room = arrow_room.difference(fold.buffer(4 * _LINE_CLEAR))
    centre = (region.centroid.x, region.centroid.y)
    alone = arrow_in(arrow_room, piece.grain, centre)
    enough = min(_ARROW_ENOUGH, 0.8 * alone.length) if alone else np.inf
    rooms = [TextRoom(room) for room in _text_regions(piece, region, sheet)]
    for texts in wordings(piece):
        for room in rooms:
            for block, spot in room.spots(piece.number, texts):
                arrow = arrow_beside(arrow_room, piece.grain, block, spot, enough)
                if arrow is not None:
                    return Label(piece, block, spot, arrow)
    badge = badge_block(piece.number)
    for room in rooms:
        spot = room.spot(badge.width_mm, badge.height_mm, 0.0)
        if spot is not None:
            arrow = arrow_beside(arrow_room, piece.grain, badge, spot, min(enough, 2.0))
            return Label(piece, badge, spot, arrow) if arrow else None
    return None


def _text_regions(
    piece: PieceDrawing, region: BaseGeometry, sheet: Sheet
) -> list[BaseGeometry]:
    """Inside every inner line, and, for pieces too narrow for that, inside the cut line."""
    inner = region
    if len(piece.stitching):
        sewn = shapely.Polygon(sheet.to_paper(piece.stitching))
        inner = inner.intersection(sewn).buffer(-_LINE_CLEAR)
    if piece.fold_line is not None:
        inner = inner.difference(shapely.LineString(sheet.to_paper(piece.fold_line)).buffer(0.6))
    regions = (_largest(inner.buffer(-_EDGE_CLEAR)), _largest(region.buffer(-_EDGE_CLEAR)))
    return [found for found in regions if not found.is_empty]


def _callouts(
    homeless: list[tuple[PieceDrawing, BaseGeometry]],
    outlines: list[BaseGeometry],
    labels: list[Label],
    sheet: Sheet,
    width_mm: float,
) -> list[Label]:
    """Numbers outside the pieces, on leaders, clear of all pieces if possible and of all text."""
    taken = [label.box for label in labels]
    taken += [_arrow_line(label.arrow) for label in labels if label.arrow]
    placed = []
    for piece, region in homeless:
        point = region.representative_point()
        arrow = arrow_in(region.buffer(-0.2), piece.grain, (point.x, point.y))
        badge = badge_block(piece.number)
        spot = _callout_spot(point, badge.width_mm, outlines, taken, sheet, width_mm)
        label = Label(piece, badge, spot, arrow, leader=(point.x, point.y))
        taken += [label.box, shapely.LineString([(point.x, point.y), spot.centre])]
        placed.append(label)
    return placed


def _arrow_line(shaft: Shaft) -> BaseGeometry:
    return shapely.LineString([shaft.tail, shaft.head]).buffer(0.8)


def _callout_spot(
    point: shapely.Point,
    diameter: float,
    outlines: list[BaseGeometry],
    taken: list[BaseGeometry],
    sheet: Sheet,
    width_mm: float,
) -> Spot:
    """The nearest free place for a number: in the waste, else over a piece's bare part."""
    rings = np.meshgrid(_LEADER_RADII, _LEADER_ANGLES, indexing="ij")
    radius, angle = (axis.ravel() for axis in rings)
    x, y = point.x + radius * np.cos(angle), point.y + radius * np.sin(angle)
    discs = shapely.buffer(shapely.points(x, y), diameter / 2 + 0.3)
    feet = np.full((len(x), 2), [point.x, point.y])
    leaders = shapely.linestrings(np.stack([feet, np.column_stack([x, y])], axis=1))
    free = (x > sheet.x(sheet.start_mm) + diameter) & (x < sheet.x(sheet.end_mm) - diameter)
    free &= (y > sheet.y(0.0) + diameter) & (y < sheet.y(width_mm) - diameter)
    if taken:
        text = shapely.unary_union(taken)
        shapely.prepare(text)
        free &= ~shapely.intersects(text, discs) & ~shapely.intersects(text, leaders)
    cloth = shapely.unary_union(outlines)
    shapely.prepare(cloth)
    waste = free & ~shapely.intersects(cloth, discs)
    chosen = waste if waste.any() else free
    best = int(np.argmax(chosen)) if chosen.any() else 0
    return Spot((float(x[best]), float(y[best])), 0.0)
