"""A layout and its pieces in little. Paper mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.pen import BLACK, DARK, PALE, PAPER_WHITE, Pen
from marker.drawing.diagram.labels import CALLOUT
from marker.drawing.diagram.wording import badge_diameter
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.drawing.scene.spread_cloth import Ground
from marker.drawing.signs import CUT, FOLD_DASHES, arrow_in, draw_grain, hatching
from marker.geometry.arrays import FloatArray
from marker.geometry.beside import LabelPlaces, leader_start
from marker.words import counted

NUMBER_PT = 6.5
AROUND = 7.0  # room for numbers beside the cloth, where it is too full for them
_NOTCH, _LONGEST_ARROW = 0.9, 9.0
_MISSED = 40  # numbers in a row without a place: what is left is full, and each look takes long
_BARRED = 1.2  # between lines of hatching
_CLEAR = 0.4  # between a number's disc and the piece's edge


@dataclass(frozen=True)
class NumberSpot:
    """A piece's number; `leader` is the point of the edge it belongs to where it stands outside."""

    number: int
    at: tuple[float, float]
    diameter: float
    leader: tuple[float, float] | None = None


@dataclass(frozen=True)
class SmallLayout:
    """The cloth shrunk by `share`, its lower left corner at (0, 0).

    size : of the cloth on the table, selvages and end allowances included.
    cloth : its parts, where it lies in one ply and where in two.
    barred : what of them is not there, or has a flaw.
    """

    share: float
    size: tuple[float, float]
    cloth: tuple[shapely.Polygon, ...]
    barred: tuple[shapely.Polygon, ...]
    pieces: tuple[shapely.Polygon, ...]
    numbers: tuple[NumberSpot, ...]
    near_edge: str

    @property
    def extent(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Low and high corner of the cloth and of the numbers beside it."""
        discs = [shapely.box(0.0, 0.0, *self.size), *map(_disc, self.numbers)]
        low_x, low_y, high_x, high_y = shapely.union_all(discs).bounds
        return (low_x, low_y), (high_x, high_y)


def small_layout(scene: Scene, room: tuple[float, float]) -> SmallLayout:
    """The layout as large as it fits the room with AROUND on every side, lying along it."""
    corner = np.array([scene.end_mm, scene.selvage_mm])
    whole = np.array([scene.length_mm, scene.width_mm]) + 2 * corner
    share = float(min((np.array(room) - 2 * AROUND) / whole))

    def small(points: FloatArray) -> FloatArray:
        placed: FloatArray = (points + corner) * share
        return placed

    pieces = tuple(
        shapely.Polygon(small(piece.outline), [small(hole) for hole in piece.cutouts])
        for piece in scene.pieces
    )
    cloth = tuple(
        shapely.box(*small(np.array([area.low, area.high])).ravel())
        for area in scene.areas
        if area.ground in (Ground.CLOTH, Ground.TWO_PLIES)
    )
    outlines = (*scene.lacking, *(flaw.outline for flaw in scene.flaws))
    barred = tuple(shapely.Polygon(small(outline)) for outline in outlines)
    size = (float(whole[0]) * share, float(whole[1]) * share)
    numbers = _numbers([piece.number for piece in scene.pieces], pieces, size)
    return SmallLayout(share, size, cloth, barred, pieces, numbers, scene.near_edge)


def _numbers(
    numbers: Sequence[int], pieces: Sequence[shapely.Polygon], size: tuple[float, float]
) -> tuple[NumberSpot, ...]:
    """In the middle of each piece's widest place, outside on a leader where that is too narrow;
    none where all places are taken."""
    spots, homeless = [], []
    for number, piece in zip(numbers, pieces, strict=True):
        spot = _inside(number, piece)
        if spot:
            spots.append(spot)
        else:
            homeless.append((number, piece))
    if homeless:
        ground = shapely.box(0.0, 0.0, *size).buffer(AROUND, join_style="mitre")
        places = LabelPlaces(pieces, ground, [_disc(spot) for spot in spots])
        spots += _outside(homeless, places)
    return tuple(sorted(spots, key=lambda spot: spot.number))


def _inside(number: int, piece: shapely.Polygon) -> NumberSpot | None:
    diameter = badge_diameter(number, NUMBER_PT)
    radius = shapely.maximum_inscribed_circle(piece, tolerance=0.1)
    if radius.length < diameter / 2 + _CLEAR:
        return None
    x, y = shapely.get_coordinates(radius)[0]
    return NumberSpot(number, (float(x), float(y)), diameter)


def _outside(
    homeless: Sequence[tuple[int, BaseGeometry]], places: LabelPlaces
) -> Iterator[NumberSpot]:
    """On leaders from pieces too narrow, where there is a place, until many in a row have none."""
    missed = 0
    for number, piece in homeless:
        if missed == _MISSED:
            break
        diameter = badge_diameter(number, NUMBER_PT)
        point = piece.representative_point()
        at = places.nearest(point, (diameter, diameter), CALLOUT)
        if at is not None:
            spot = NumberSpot(number, at, diameter, leader_start(piece, point, at))
            places.take(shapely.LineString([(point.x, point.y), at]).buffer(0.3), _disc(spot))
            yield spot
        missed = missed + 1 if at is None else 0


def _disc(spot: NumberSpot) -> BaseGeometry:
    disc: BaseGeometry = shapely.Point(spot.at).buffer(spot.diameter / 2)
    return disc


def layout_words(layout: SmallLayout) -> str:
    """What is written under the picture."""
    scale = f"1 : {1 / layout.share:.0f}"
    words = f"start of the cloth on the left, near {layout.near_edge} below · {scale}"
    missing = len(layout.pieces) - len(layout.numbers)
    if missing:
        words += f" · {counted(missing, 'number')} without room here: see the diagram"
    return words


def draw_small_layout(pen: Pen, layout: SmallLayout) -> None:
    """The layout, the near end of the cloth's start at (0, 0)."""
    for part in layout.cloth:
        pen.fill(part, PALE, DARK, 0.2)
    for part in layout.barred:
        pen.fill(part, PAPER_WHITE, DARK, 0.2)
        for slope in (1.0, -1.0):
            pen.lines(hatching(part, _BARRED, slope), 0.1, DARK)
    for piece in layout.pieces:
        pen.fill(piece, PAPER_WHITE, BLACK, 0.2)
    for spot in layout.numbers:
        if spot.leader:
            pen.lines([np.array([spot.leader, spot.at])], 0.18, BLACK)
        pen.badge(*spot.at, spot.number, spot.diameter, NUMBER_PT)


def draw_thumbnail(pen: Pen, piece: PieceDrawing, room: tuple[float, float]) -> None:
    """The piece as large as it fits, in the middle of the room at (0, 0), with its fold, notches
    and grain; a tall one lies on its side."""
    tall = np.ptp(piece.outline, axis=0)[1] > np.ptp(piece.outline, axis=0)[0]
    turn = np.array([[0.0, 1.0], [-1.0, 0.0]]) if tall else np.eye(2)
    outline = piece.outline @ turn
    low, size = outline.min(axis=0), np.ptp(outline, axis=0)
    share = float(min(np.array(room) / size))
    corner = (np.array(room) - size * share) / 2

    def small(points: FloatArray) -> FloatArray:
        placed: FloatArray = (points @ turn - low) * share + corner
        return placed

    shape = shapely.Polygon(small(piece.outline), [small(hole) for hole in piece.cutouts])
    pen.fill(shape, PAPER_WHITE, BLACK, CUT / 2)
    if piece.fold_line is not None:
        pen.lines([small(piece.fold_line)], 0.15, BLACK, [dash / 2 for dash in FOLD_DASHES])
    pen.lines([small(tick) for tick in piece.ticks(_NOTCH / share)], 0.3, BLACK)
    along, across = np.array(piece.grain.direction) @ turn
    grain = replace(piece.grain, direction=(float(along), float(across)))
    middle = shape.representative_point()
    arrow = arrow_in(shape.buffer(-0.3), grain, (middle.x, middle.y), _LONGEST_ARROW)
    if arrow is not None:
        draw_grain(pen, arrow, grain)


def draw_sketch(pen: Pen, lines: Sequence[FloatArray], width: float) -> None:
    """How the cloth lies, as lines of a `SpreadSketch`, from (0, 0) on."""
    pen.lines([line * width for line in lines], 0.4, BLACK)
