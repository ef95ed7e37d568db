"""Labels of the pieces on one sheet: text inside each piece, or its number outside on a leader."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import tee

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.drawing.diagram.paper_piece import (
    LETTER,
    cut_polygon,
    inner_strokes,
    largest,
    notch_letters,
    sharp_marks,
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
    blocks,
    least_extent,
    smallest_block,
    wordings,
)
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.drawing.signs import Shaft
from marker.geometry.beside import LabelPlaces, Reach, leader_start
from marker.geometry.rectangles import RectanglePlace, RectangleRoom

_ROOMY, _TIGHT = 0.6, 0.35  # text to cut line
_LINE_CLEAR = 0.6  # text and arrows to fold lines and notches
_GRAIN_CLEAR, _CLEAR_OF_TEXT = 1.0, 0.6  # text to the grain line, and to the ends it leaves of it
_ARROW_INSIDE = 0.2
_CALLOUT_CLEAR = 0.3
CALLOUT = Reach(nearest=3.5, farthest=90.0, step=1.5, off_pieces=12.0, off_edges=20.0)
_ARROW_ENOUGH, _ARROW_LEAST = 5.0, 1.6
_NOWHERE = shapely.Polygon()


@dataclass(frozen=True)
class Label:
    """A piece's text on one sheet, paper mm.

    leader : the point of the cut line that a number outside points to; None for text inside.
    arrow : None where the outline has no room for one and the grain lies along the cloth.
    """

    piece: PieceDrawing
    block: Block
    spot: RectanglePlace
    arrow: Shaft | None
    leader: tuple[float, float] | None = None

    @property
    def box(self) -> BaseGeometry:
        """What the text covers."""
        return self.spot.box(self.block.width_mm, self.block.height_mm)


def place_labels(
    scene: Scene,
    sheet: Sheet,
    lettering: Lettering = DIAGRAM,
    keep_off: BaseGeometry = _NOWHERE,
) -> tuple[Label, ...]:
    """Labels of the pieces seen on `sheet`, in the order of their numbers.

    A piece broken over sheets is labelled on each where its text or number fits, and at least on
    those that show half of it.
    keep_off : paper that no text inside a piece may cover, and that stops its grain arrow.
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
        taken += [sharp_marks(label.piece, sheet) for label in labels]
        places = LabelPlaces(outlines, cloth, taken)
        labels += _callouts(homeless, places, sheet)
    return tuple(sorted(labels, key=lambda label: label.piece.number))


def _inside(
    piece: PieceDrawing,
    region: BaseGeometry,
    sheet: Sheet,
    lettering: Lettering,
    keep_off: BaseGeometry,
) -> Label | None:
    """The fullest wording that fits clear of the grain line, or of enough of it; at worst the
    number alone."""
    letters = [shapely.Point(at).buffer(LETTER / 2) for at, _ in notch_letters(piece, sheet)]
    grain = _grain_seen(piece, _without(region, keep_off, *letters), sheet)
    alone = _arrow(piece, grain)
    if alone is None:
        grain = _grain_seen(piece, region, sheet)
        alone = _arrow(piece, grain)
    enough = min(_ARROW_ENOUGH, 0.8 * alone.length) if alone else 0.0
    for_words, *for_number = tee(_text_rooms(piece, region, sheet, keep_off), 3)
    for room, texts in _hopeful(piece, region, for_words, lettering):
        for block, spot in _fitting(room, piece, texts, lettering):
            arrow = _arrow(piece, grain, spot.box(block.width_mm, block.height_mm))
            if arrow is not None and arrow.length >= enough:
                return Label(piece, block, spot, arrow)
    return _number_inside(piece, grain, for_number)


def _hopeful(
    piece: PieceDrawing,
    region: BaseGeometry,
    rooms: Iterable[RectangleRoom],
    lettering: Lettering,
) -> Iterator[tuple[RectangleRoom, tuple[str, ...]]]:
    """Each room with the wordings that its bounds do not rule out."""
    low_x, low_y, high_x, high_y = region.bounds
    if np.hypot(high_x - low_x, high_y - low_y) < np.hypot(*least_extent(piece)):
        return
    every: dict[tuple[str, ...], tuple[float, float]] = {}
    least: dict[tuple[str, ...], Block] = {}
    for room in rooms:
        if not room.may_hold(*least_extent(piece)):
            continue
        every = every or {texts: least_extent(piece, len(texts)) for texts in wordings(piece)}
        for texts, extent in every.items():
            if not room.may_hold(*extent):
                continue
            if texts not in least:
                least[texts] = smallest_block(piece, texts, lettering)
            if room.may_hold(least[texts].width_mm, least[texts].height_mm):
                yield room, texts


def _fitting(
    room: RectangleRoom, piece: PieceDrawing, texts: tuple[str, ...], lettering: Lettering
) -> Iterator[tuple[Block, RectanglePlace]]:
    """Every size and angle at which one wording fits, upright and large first."""
    sized = tuple(blocks(piece, texts, lettering))
    for angle in room.angles:
        for block in sized:
            spot = room.place(block.width_mm, block.height_mm, angle)
            if spot is not None:
                yield block, spot


def _text_rooms(
    piece: PieceDrawing, region: BaseGeometry, sheet: Sheet, keep_off: BaseGeometry
) -> Iterator[RectangleRoom]:
    """Clear of every line; over the grain line; and in pieces too narrow for that, over the lines
    inside the piece, which then stop on both sides of the text. Never over a notch."""
    inner = region
    if len(piece.stitching):
        inner = inner.intersection(shapely.Polygon(stitching_ring(piece, sheet)))
    kept = _without(region.buffer(-_TIGHT), sharp_marks(piece, sheet).buffer(_LINE_CLEAR))
    lines = shapely.union_all(inner_strokes(piece, sheet)).buffer(_LINE_CLEAR)
    roomy = _without(kept.intersection(inner.buffer(-_ROOMY)), lines)
    grain = shapely.LineString(sheet.to_paper(piece.grain_line)).buffer(_GRAIN_CLEAR)
    for room in (_without(roomy, grain), roomy, kept):
        found = largest(_without(room, keep_off))
        if not found.is_empty:
            yield RectangleRoom(found)


def _without(region: BaseGeometry, *others: BaseGeometry) -> BaseGeometry:
    """What is left of a region. Mostly there is nothing to take away, which costs as much."""
    away = [other for other in others if not other.is_empty]
    if not away or region.is_empty:
        return region
    left: BaseGeometry = region.difference(away[0] if len(away) == 1 else shapely.union_all(away))
    return left


def _grain_seen(piece: PieceDrawing, region: BaseGeometry, sheet: Sheet) -> BaseGeometry:
    """What is seen of the piece's grain line."""
    line = shapely.LineString(sheet.to_paper(piece.grain_line))
    seen: BaseGeometry = line.intersection(region.buffer(-_ARROW_INSIDE))
    return seen


def _arrow(piece: PieceDrawing, grain: BaseGeometry, text: BaseGeometry = _NOWHERE) -> Shaft | None:
    """The longest stretch of what is seen of the grain line that is clear of the text."""
    free = grain
    if not text.is_empty:
        free = free.difference(text.buffer(_CLEAR_OF_TEXT, join_style="mitre"))
    parts = [part for part in shapely.get_parts(free) if part.length > 0]
    if not parts:
        return None
    ends = shapely.get_coordinates(max(parts, key=lambda part: part.length))[[0, -1]]
    if np.dot(ends[1] - ends[0], piece.grain_line[1] - piece.grain_line[0]) < 0:
        ends = ends[::-1]
    (tail_x, tail_y), (head_x, head_y) = ends.tolist()
    return Shaft((tail_x, tail_y), (head_x, head_y))


def _number_inside(
    piece: PieceDrawing, grain: BaseGeometry, rooms: Sequence[Iterable[RectangleRoom]]
) -> Label | None:
    """The number with an arrow, or without one where the grain goes without saying.

    rooms : all of them for the number in its disc, and again for the bare one.
    """
    marks = (badge_block(piece.number), bare_block(piece.number))
    for block, places in zip(marks, rooms, strict=True):
        for room in places:
            spot = room.place(block.width_mm, block.height_mm, 0.0)
            if spot is None:
                continue
            arrow = _arrow(piece, grain, spot.box(block.width_mm, block.height_mm))
            if arrow is not None and arrow.length < _ARROW_LEAST:
                arrow = None
            if arrow or (block.bare and piece.grain.goes_without_saying):
                return Label(piece, block, spot, arrow)
    return None


def _callouts(
    homeless: list[tuple[PieceDrawing, BaseGeometry]], places: LabelPlaces, sheet: Sheet
) -> list[Label]:
    """Numbers outside the pieces, clear of text, of each other and of other small pieces."""
    placed = []
    for piece, region in homeless:
        point = region.representative_point()
        arrow = _arrow(piece, _grain_seen(piece, region, sheet))
        badge = badge_block(piece.number)
        small = [other for _, other in homeless if other is not region]
        size = badge.width_mm + 2 * _CALLOUT_CLEAR
        at = places.nearest(point, (size, size), CALLOUT, small)
        at = at or places.nearest(point, (size, size), CALLOUT) or (point.x, point.y)
        start = leader_start(region, point, at)
        label = Label(piece, badge, RectanglePlace(at, 0.0), arrow, leader=start)
        places.take(label.box, _line(start, at))
        placed.append(label)
    return placed


def _line(start: tuple[float, float], stop: tuple[float, float]) -> BaseGeometry:
    return shapely.LineString([start, stop]).buffer(0.5)
