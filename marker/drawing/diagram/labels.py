"""Labels of the pieces on one sheet: text inside each piece, or its number outside on a leader."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.drawing.diagram.fitting import Shaft, Spot, TextRoom, arrow_beside, arrow_in
from marker.drawing.diagram.paper_piece import (
    DISC,
    cut_polygon,
    fold_stroke,
    largest,
    match_discs,
    notch_ticks,
    stitching_ring,
    window,
)
from marker.drawing.diagram.sheets import Sheet
from marker.drawing.diagram.wording import (
    DIAGRAM,
    Block,
    Lettering,
    badge_block,
    bare_block,
    wordings,
)
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.geometry.beside import FreePlaces, Reach, leader_start

_ROOMY, _TIGHT = 0.6, 0.35  # text to cut line
_LINE_CLEAR = 0.6  # text and arrows to fold lines and notches
_ARROW_CLEAR = 0.45
_CALLOUT_CLEAR = 0.3
CALLOUT = Reach(nearest=3.5, farthest=90.0, step=1.5, off_pieces=12.0, off_edges=20.0)
_ARROW_ENOUGH, _ARROW_LEAST = 5.0, 1.6


@dataclass(frozen=True)
class Label:
    """A piece's text on one sheet, paper mm.

    leader : the point of the cut line that a number outside points to; None for text inside.
    arrow : None where the outline has no room for one and the grain lies along the cloth.
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


_NOWHERE = shapely.Polygon()


def place_labels(
    scene: Scene,
    sheet: Sheet,
    lettering: Lettering = DIAGRAM,
    keep_off: BaseGeometry = _NOWHERE,
) -> tuple[Label, ...]:
    """Labels of the pieces seen on `sheet`, in the order of their numbers.

    A piece broken over sheets is labelled on each where its text or number fits, and at least on
    those that show half of it.
    keep_off : paper that no text inside a piece may cover.
    """
    labels, homeless, outlines = [], [], []
    for piece in scene.pieces:
        whole = cut_polygon(piece, sheet)
        region = largest(whole.intersection(window(sheet)))
        if region.is_empty:
            continue
        outlines.append(region)
        label = _inside(piece, region, sheet, lettering, keep_off)
        if label is not None:
            labels.append(label)
        elif region.area >= 0.49 * whole.area:
            homeless.append((piece, region))
    if homeless:
        cloth = shapely.box(
            sheet.x(sheet.start_mm), sheet.y(0.0), sheet.x(sheet.end_mm), sheet.y(scene.width_mm)
        )
        taken = [label.box for label in labels]
        taken += [_line(label.arrow.tail, label.arrow.head) for label in labels if label.arrow]
        places = FreePlaces(outlines, cloth, taken)
        labels += _callouts(homeless, places, lettering.arrow_mm)
    return tuple(sorted(labels, key=lambda label: label.piece.number))


def _inside(
    piece: PieceDrawing,
    region: BaseGeometry,
    sheet: Sheet,
    lettering: Lettering,
    keep_off: BaseGeometry,
) -> Label | None:
    """The fullest wording that fits with a grain arrow beside it; at worst the number alone."""
    lines = [shapely.LineString(tick) for tick in notch_ticks(piece, sheet)]
    discs = [shapely.Point(centre).buffer(DISC / 2) for _, centre, _ in match_discs(piece, sheet)]
    marks = shapely.unary_union([fold_stroke(piece, sheet), *lines, *discs]).buffer(_LINE_CLEAR)
    arrow_room = region.buffer(-_ARROW_CLEAR).difference(marks)
    longest = lettering.arrow_mm
    alone = arrow_in(arrow_room, piece.grain, (region.centroid.x, region.centroid.y), longest)
    enough = min(_ARROW_ENOUGH, 0.8 * alone.length) if alone else np.inf
    rooms = _text_rooms(piece, region, marks, sheet, keep_off)
    for room in rooms:
        for texts in wordings(piece):
            for block, spot in room.spots(piece, texts, lettering):
                arrow = arrow_beside(arrow_room, piece.grain, block, spot, (enough, longest))
                if arrow is not None:
                    return Label(piece, block, spot, arrow)
    return _number_inside(piece, rooms, arrow_room, longest)


def _text_rooms(
    piece: PieceDrawing,
    region: BaseGeometry,
    marks: BaseGeometry,
    sheet: Sheet,
    keep_off: BaseGeometry,
) -> list[TextRoom]:
    """Inside every inner line, and, for pieces too narrow for that, inside the cut line."""
    inner = region
    if len(piece.stitching):
        inner = inner.intersection(shapely.Polygon(stitching_ring(piece, sheet)))
    regions = (
        largest(room.difference(keep_off))
        for room in (inner.buffer(-_ROOMY).difference(marks), region.buffer(-_TIGHT))
    )
    return [TextRoom(found) for found in regions if not found.is_empty]


def _number_inside(
    piece: PieceDrawing, rooms: list[TextRoom], arrow_room: BaseGeometry, longest: float
) -> Label | None:
    """The number with an arrow, or without one where the grain goes without saying."""
    for block in (badge_block(piece.number), bare_block(piece.number)):
        for room in rooms:
            spot = room.spot(block.width_mm, block.height_mm, 0.0)
            if spot is None:
                continue
            arrow = arrow_beside(arrow_room, piece.grain, block, spot, (_ARROW_LEAST, longest))
            if arrow or (block.bare and piece.grain.goes_without_saying):
                return Label(piece, block, spot, arrow)
    return None


def _callouts(
    homeless: list[tuple[PieceDrawing, BaseGeometry]], places: FreePlaces, longest_arrow: float
) -> list[Label]:
    """Numbers outside the pieces, clear of text, of each other and of other small pieces."""
    placed = []
    for piece, region in homeless:
        point = region.representative_point()
        arrow = arrow_in(region.buffer(-0.2), piece.grain, (point.x, point.y), longest_arrow)
        badge = badge_block(piece.number)
        small = [other for _, other in homeless if other is not region]
        size = badge.width_mm + 2 * _CALLOUT_CLEAR
        at = places.nearest(point, (size, size), CALLOUT, small) or (point.x, point.y)
        start = leader_start(region, point, at)
        label = Label(piece, badge, Spot(at, 0.0), arrow, leader=start)
        places.take(label.box, _line(start, at))
        placed.append(label)
    return placed


def _line(start: tuple[float, float], stop: tuple[float, float]) -> BaseGeometry:
    return shapely.LineString([start, stop]).buffer(0.5)
