"""Signs and line styles that all drawings share: cut, stitching and fold lines, arrows, hatching.

Paper mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from marker.canvas.pen import ACCENT, BLACK, PAPER_WHITE, Pen
from marker.drawing.scene.piece_drawing import Grain
from marker.geometry.arrays import FloatArray
from marker.pattern.inner_marks import MarkKind
from marker.units import System, cut_length, shown

CUT, STITCH, FOLD = 0.38, 0.16, 0.18  # widths of lines
STITCH_DASHES, FOLD_DASHES, BREAK_DASHES = (0.9, 0.6), (3.2, 0.7, 0.5, 0.7), (1.6, 1.0)
SIZE_DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (6.0, 1.5),
    (2.2, 1.3),
    (8.0, 1.2, 1.2, 1.2),
    (0.7, 1.1),
    (8.0, 1.2, 1.2, 1.2, 1.2, 1.2),
    (14.0, 3.0),
    (4.0, 1.2, 0.7, 1.2, 0.7, 1.2, 0.7, 1.2),
)
"""Lines by which sizes are told apart without colour: on and off in turn, mm at full size."""

_BAR_HIGH = 1.3
_INNER_DASHES = {  # solid where none are named
    MarkKind.PLACEMENT: (2.0, 0.8),
    MarkKind.FOLD_LINE: FOLD_DASHES,
    MarkKind.ROLL_LINE: (2.4, 0.6, 0.4, 0.6, 0.4, 0.6),
    MarkKind.LINE: STITCH_DASHES,
    MarkKind.GATHER: (0.4, 0.4),
}
_POINT = 0.5  # half across
_LINE = 0.28
_HEAD_LENGTH, _HEAD_HALF = 2.0, 0.62
_LONGEST_OF_HEADS = 24.0  # an arrow longer than so many heads, at full size, gets larger ones
_LONGEST_HEAD = 8.0
_BARB = np.array([-0.8, 0.8])  # pile strokes lean back from the way the nap runs
_BARBS_AT = (0.8, 1.6, 2.4)

ARROW_SHARE, ARROW_ENOUGH = 0.45, 6.0  # of the room a grain arrow takes; never less, mm
_SCAN_LINES = 31


@dataclass(frozen=True)
class Shaft:
    """Grain arrow from `tail` to `head`."""

    tail: tuple[float, float]
    head: tuple[float, float]

    @property
    def length(self) -> float:
        """Between its ends, mm."""
        return float(np.hypot(self.head[0] - self.tail[0], self.head[1] - self.tail[1]))


def hatching(region: BaseGeometry, spacing: float, slope: float) -> list[FloatArray]:
    """Lines at 45° through a region, rising if `slope` is positive, `spacing` apart along the page;
    in step with the page and not with the region."""
    low_x, low_y, high_x, high_y = region.bounds
    tall = high_y - low_y
    foot, head = (low_y, high_y) if slope > 0 else (high_y, low_y)
    first = np.floor((low_x - tall) / spacing) * spacing
    starts = np.arange(first, high_x + tall, spacing)
    rays = [shapely.LineString([(x, foot), (x + tall, head)]) for x in starts]
    parts = shapely.get_parts(shapely.intersection(region, rays))
    return [shapely.get_coordinates(line) for line in parts if line.length > 0]


def arrow_in(
    room: BaseGeometry, grain: Grain, near: tuple[float, float], longest: float
) -> Shaft | None:
    """A long grain arrow inside `room` close to `near`; None where there is no room at all."""
    angle = float(np.degrees(np.arctan2(grain.direction[1], grain.direction[0])))
    backwards = not -90.0 < angle <= 90.0  # searched the other way, so that like pieces look alike
    angle = angle - 180.0 if backwards else angle
    lying = affinity.rotate(room, -angle, origin=(0, 0))
    if lying.is_empty:
        return None
    low_x, low_y, high_x, high_y = lying.bounds
    longest = min(longest, max(ARROW_ENOUGH, ARROW_SHARE * (high_x - low_x)))
    ys = np.linspace(low_y, high_y, _SCAN_LINES + 2)[1:-1]
    rows = np.empty((_SCAN_LINES, 2, 2))
    rows[:, :, 0], rows[:, :, 1] = (low_x - 1, high_x + 1), ys[:, np.newaxis]
    crossed = shapely.intersection(lying, shapely.linestrings(rows))
    start, y, stop, _ = shapely.bounds(shapely.get_parts(crossed)).T
    wide = stop > start
    start, y, stop = start[wide], y[wide], stop[wide]
    if not len(start):
        return None
    target = affinity.rotate(shapely.Point(near), -angle, origin=(0, 0))
    length = np.minimum(longest, stop - start)
    middle = np.clip(target.x, start + length / 2, stop - length / 2)
    score = length - 0.4 * np.hypot(middle - target.x, y - target.y)
    best = int(np.argmax(score - 1e-3 * y))  # of two equal places the lower
    half = length[best] / 2
    start, stop, y = middle[best] - half, middle[best] + half, y[best]
    ends = affinity.rotate(shapely.LineString([(start, y), (stop, y)]), angle, origin=(0, 0))
    tail, head = ends.coords[::-1] if backwards else ends.coords
    return Shaft((tail[0], tail[1]), (head[0], head[1]))


def draw_grain(pen: Pen, shaft: Shaft, grain: Grain) -> None:
    """Two heads if either way is allowed, else one; pile strokes at the tail where nap matters."""
    tail, head = np.array(shaft.tail), np.array(shaft.head)
    along = np.array(grain.direction)
    length = min(max(_HEAD_LENGTH, shaft.length / _LONGEST_OF_HEADS), _LONGEST_HEAD)
    length = min(length, 0.45 * shaft.length)
    start = tail + along * length * 0.8 if grain.either_way else tail
    pen.lines([np.array([start, head - along * length * 0.8])], _LINE, ACCENT, name="grain")
    _draw_head(pen, head, along, length)
    if grain.either_way:
        _draw_head(pen, tail, -along, length)
    if grain.nap:
        _draw_pile(pen, tail, along, shaft.length - length)


def draw_inner_mark(
    pen: Pen, kind: MarkKind, points: FloatArray, bare: BaseGeometry, scale: float = 1.0
) -> None:
    """A mark inside a piece, paper mm; its line within `bare` only. scale : of lines and signs.

    The words of a text, and the names of other marks, are for who draws the piece large.
    """
    if kind is MarkKind.TEXT:
        return
    if kind.is_point:
        ring = shapely.get_coordinates(shapely.Point(points[0]).buffer(_POINT * scale))
        arms = _POINT * scale * np.array([[[-1.0, 0.0], [1.0, 0.0]], [[0.0, -1.0], [0.0, 1.0]]])
        cross = list(arms + points[0]) if kind is MarkKind.BUTTON else []
        pen.lines([ring, *cross], STITCH * scale, BLACK, name=kind.value)
        return
    seen = shapely.LineString(points).intersection(bare)
    runs = [shapely.get_coordinates(part) for part in shapely.get_parts(seen) if part.length > 0]
    dashes = _INNER_DASHES.get(kind)
    spaced = [dash * scale for dash in dashes] if dashes else None
    pen.lines(runs, STITCH * scale, BLACK, spaced, name=kind.value)


@dataclass(frozen=True)
class Bar:
    """A printed length to check a page by, in parts by turns black and white."""

    mm: float
    parts: int

    def __str__(self) -> str:
        return cut_length(self.mm)


def check_bar(*, small: bool = False) -> Bar:
    """A bar that is round in the units that lead."""
    if shown().lead is System.METRIC:
        return Bar(40.0, 4) if small else Bar(100.0, 10)
    return Bar(1.5 * 25.4, 3) if small else Bar(4 * 25.4, 8)


def draw_bar(pen: Pen, bar: Bar) -> None:
    """From (0, 0) on."""
    length, parts = bar.mm, bar.parts
    for k in range(parts):
        part = shapely.box(k * length / parts, 0.0, (k + 1) * length / parts, _BAR_HIGH)
        pen.fill(part, BLACK if k % 2 == 0 else PAPER_WHITE)
    whole = shapely.get_coordinates(shapely.box(0.0, 0.0, length, _BAR_HIGH))
    pen.lines([whole], 0.15, BLACK, name="bar")


def draw_nap(pen: Pen, x: float, y: float) -> None:
    """The cloth's own nap arrow, along +x from (x, y), with its name."""
    pen.text(x, y + 1.6, "NAP", 6.0, bold=True, colour=ACCENT)
    grain = Grain((1.0, 0.0), either_way=False, nap=True)
    draw_grain(pen, Shaft((x, y), (x + 8.0, y)), grain)


def _draw_head(pen: Pen, tip: FloatArray, along: FloatArray, length: float) -> None:
    side = np.array([-along[1], along[0]]) * _HEAD_HALF * length / _HEAD_LENGTH
    back = tip - along * length
    pen.fill(shapely.Polygon([tip, back + side, back - side]), ACCENT)


def _draw_pile(pen: Pen, tail: FloatArray, along: FloatArray, room: float) -> None:
    side = np.array([-along[1], along[0]])
    strokes = []
    for at in _BARBS_AT:
        if at <= room:
            foot = tail + along * at
            for hand in (1.0, -1.0):
                strokes.append(np.array([foot, foot + along * _BARB[0] + side * hand * _BARB[1]]))
    pen.lines(strokes, _LINE * 0.8, ACCENT)
