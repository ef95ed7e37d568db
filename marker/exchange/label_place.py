"""What is written on the pieces of a drawing, where, and how large: inside where that can be read,
else beside the piece on a leader."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from marker.exchange.flat_piece import FlatPiece
from marker.exchange.laid_flat import Sheet, notch_ticks
from marker.exchange.piece_text import annotation_lines, system_lines
from marker.geometry.arrays import FloatArray
from marker.geometry.beside import LabelPlaces, Reach
from marker.geometry.rectangles import RectangleRoom

LETTER_WIDTH, LINE_STEP = 0.6, 1.3  # of the letters' size
_SIZES_MM = (10.0, 8.0, 6.5, 5.0, 4.2, 3.5, 3.0, 2.5, 2.0)
_LEGIBLE_MM = 3.5  # its capitals are 2.5 mm high, a usual least on drawings (ISO 3098, from memory)
_BETWEEN = 3  # letters between two texts in one row
_CLEAR_MM = 1.0  # between a label and the lines around it
_RISE_MM = 4.0  # of a leader at least, so that it does not run along the texts
_REACH = Reach(nearest=6.0, farthest=600.0, step=6.0, off_pieces=60.0, off_edges=np.inf)

Rows = Sequence[Sequence[str]]


@dataclass(frozen=True)
class Line:
    """A text, and from the label's centre to the middle of its baseline, as one reads it."""

    text: str
    right_mm: float
    up_mm: float


@dataclass(frozen=True)
class Label:
    """Texts around a centre, (2,) mm, y up.

    size_mm : of the letters. angle_deg : how far the lines are turned counter-clockwise.
    leader : (2, 2) from a label beside its piece into the piece; None for one inside.
    """

    lines: tuple[Line, ...]
    centre: FloatArray
    size_mm: float
    angle_deg: float = 0.0
    leader: FloatArray | None = None

    def start(self, line: Line) -> FloatArray:
        """Where the baseline of a line begins, (2,) mm, letters being as wide as one another."""
        left = line.right_mm - LETTER_WIDTH * len(line.text) * self.size_mm / 2
        along = np.array([np.cos(np.radians(self.angle_deg)), np.sin(np.radians(self.angle_deg))])
        return np.asarray(self.centre + left * along + line.up_mm * np.array([-along[1], along[0]]))

    @property
    def box(self) -> BaseGeometry:
        """What the texts cover."""
        half_width = max(
            abs(line.right_mm) + LETTER_WIDTH * len(line.text) * self.size_mm / 2
            for line in self.lines
        )
        half_height = LINE_STEP * self.size_mm * len({line.up_mm for line in self.lines}) / 2
        x, y = self.centre
        upright = shapely.box(x - half_width, y - half_height, x + half_width, y + half_height)
        turned: BaseGeometry = affinity.rotate(upright, self.angle_deg, origin=(x, y))
        return turned


def labels(sheet: Sheet, upright: bool = False) -> list[Label]:
    """The label of each piece. upright : no line is turned, for what can't write upwards."""
    found = [label_inside(piece, upright) for piece in sheet.pieces]
    small = [k for k, label in enumerate(found) if label.size_mm < _LEGIBLE_MM]
    if small:
        outlines = [shapely.Polygon(piece.outline) for piece in sheet.pieces]
        whole = shapely.box(0.0, 0.0, sheet.width_mm, sheet.height_mm)
        taken = [label.box for k, label in enumerate(found) if k not in small]
        places = LabelPlaces(outlines, whole, taken)
        for k in small:
            found[k] = _beside(sheet.pieces[k], places) or found[k]
    return found


def _texts(piece: FlatPiece) -> list[str]:
    return [*system_lines(piece), *annotation_lines(piece)]


def label_inside(piece: FlatPiece, upright: bool = False) -> Label:
    """In the largest letters for which there is a clear place, one text below the other before
    several in a row, and upright before turned. The smallest ones are taken whether they fit or
    not.

    The lines are the piece's `system_lines` and `annotation_lines`, in that order.
    """
    texts, parts = _texts(piece), _clear_parts(piece)
    inner = [part.buffer(-_CLEAR_MM) for part in parts]
    rooms = [RectangleRoom(each) for each in inner if not each.is_empty]
    for size, count in product(_SIZES_MM, range(len(texts), 0, -1)):
        rows = [list(each) for each in np.array_split(texts, count)]
        wide, high = LETTER_WIDTH * _letters(rows) * size, LINE_STEP * count * size
        for room in rooms:
            for angle in (0.0,) if upright else room.angles:
                place = room.place(wide, high, angle)
                if place is not None:
                    return _block(rows, np.array(place.centre), size, angle)
    middle = parts[0].representative_point()
    return _block([[text] for text in texts], np.array([middle.x, middle.y]), _SIZES_MM[-1])


def _letters(rows: Rows) -> int:
    """How many letters wide the widest row is."""
    return max(sum(map(len, row)) + _BETWEEN * (len(row) - 1) for row in rows)


def _block(rows: Rows, centre: FloatArray, size: float, angle: float = 0.0) -> Label:
    lines = []
    for number, row in enumerate(rows):
        up = (LINE_STEP * ((len(rows) - 1) / 2 - number) - 0.35) * size
        left = -_letters([row]) / 2
        for text in row:
            lines.append(Line(str(text), (left + len(text) / 2) * LETTER_WIDTH * size, up))
            left += len(text) + _BETWEEN
    return Label(tuple(lines), centre, size, angle)


def _clear_parts(piece: FlatPiece) -> list[shapely.Polygon]:
    """The parts of a piece that no line runs through, the largest first."""
    lines = [line for line in (piece.grain, piece.fold) if line is not None]
    lines += [*(mark.points for mark in piece.inner_marks), *notch_ticks(piece)]
    drawn = shapely.union_all([_line(points).buffer(_CLEAR_MM) for points in lines])
    whole = shapely.Polygon(piece.outline, piece.cutouts)
    parts = shapely.get_parts(whole.difference(drawn)) if lines else [whole]
    clear = [part for part in parts if isinstance(part, shapely.Polygon)] or [whole]
    return sorted(clear, key=lambda part: -part.area)


def _line(points: FloatArray) -> BaseGeometry:
    return shapely.LineString(points) if len(points) > 1 else shapely.Point(points[0])


def _beside(piece: FlatPiece, places: LabelPlaces) -> Label | None:
    """The nearest free place, on no piece if any such is near; None where all is taken."""
    foot = shapely.Polygon(piece.outline, piece.cutouts).representative_point()
    block = _block([[text] for text in _texts(piece)], np.zeros(2), _LEGIBLE_MM)
    low_x, low_y, high_x, high_y = block.box.buffer(_CLEAR_MM).bounds
    half = (high_y - low_y) / 2
    reach = replace(_REACH, rise=half + _RISE_MM)  # the leader begins above or below the texts
    centre = places.nearest(foot, (high_x - low_x, high_y - low_y), reach)
    if centre is None:
        return None
    x, y = centre
    leader = np.array([[x, y + (half if foot.y > y else -half)], [foot.x, foot.y]])
    box = shapely.box(x + low_x, y + low_y, x + high_x, y + high_y)
    places.take(box, shapely.LineString(leader))
    return replace(block, centre=np.array(centre), leader=leader)
