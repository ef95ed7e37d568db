"""Where a text block and a grain arrow lie inside an outline. Paper mm; shapely geometry."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from marker.drawing.diagram.wording import Block, Lettering, blocks
from marker.drawing.scene.piece_drawing import Grain, PieceDrawing

GRID = 13  # odd, so that one row of trial places runs down the middle of a strip
ARROW_SHARE, ARROW_ENOUGH = 0.45, 6.0
_SCAN_LINES = 31
_SLENDER = 2.5


@dataclass(frozen=True)
class Spot:
    """A rectangle's place: centre, and the angle its width makes with the page, degrees."""

    centre: tuple[float, float]
    angle_deg: float

    def box(self, width: float, height: float) -> BaseGeometry:
        """The rectangle, lying here."""
        x, y = self.centre
        upright = shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
        return affinity.rotate(upright, self.angle_deg, origin=self.centre)


@dataclass(frozen=True)
class Shaft:
    """Grain arrow from `tail` to `head`."""

    tail: tuple[float, float]
    head: tuple[float, float]

    @property
    def length(self) -> float:
        """Between its ends, mm."""
        return float(np.hypot(self.head[0] - self.tail[0], self.head[1] - self.tail[1]))


class TextRoom:
    """The part of an outline that text may cover, ready for many trials."""

    def __init__(self, region: BaseGeometry) -> None:
        self._centroid = region.centroid
        self.angles = _reading_angles(region)
        self._turned = {
            angle: affinity.rotate(region, -angle, origin=self._centroid) for angle in self.angles
        }
        for turned in self._turned.values():
            shapely.prepare(turned)

    def spot(self, width: float, height: float, angle: float) -> Spot | None:
        """The fitting place nearest the centroid for a width × height rectangle, or None."""
        turned = self._turned[angle]
        low_x, low_y, high_x, high_y = turned.bounds
        if high_x - low_x < width or high_y - low_y < height:
            return None
        xs = np.linspace(low_x + width / 2, high_x - width / 2, GRID)
        ys = np.linspace(low_y + height / 2, high_y - height / 2, GRID)
        x, y = (axis.ravel() for axis in np.meshgrid(xs, ys))
        home = self._centroid
        x, y = np.append(x, home.x), np.append(y, home.y)
        boxes = shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
        fits = shapely.contains(turned, boxes)
        if not fits.any():
            return None
        far = np.where(fits, np.hypot(x - home.x, y - home.y), np.inf)
        best = int(np.argmin(far))
        found = affinity.rotate(shapely.Point(x[best], y[best]), angle, origin=home)
        return Spot((found.x, found.y), angle)

    def spots(
        self, piece: PieceDrawing, texts: tuple[str, ...], lettering: Lettering
    ) -> Iterator[tuple[Block, Spot]]:
        """Every size and angle at which one wording fits, upright and large first."""
        for angle in self.angles:
            for block in blocks(piece, texts, lettering):
                spot = self.spot(block.width_mm, block.height_mm, angle)
                if spot is not None:
                    yield block, spot


def _reading_angles(region: BaseGeometry) -> tuple[float, ...]:
    """Upright, along a slender outline, and read from the right."""
    corners = shapely.get_coordinates(region.minimum_rotated_rectangle)
    sides = np.diff(corners[:3], axis=0)
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    long = sides[int(np.argmax(lengths))]
    tilt = float(np.degrees(np.arctan2(long[1], long[0])))
    tilt = (tilt + 90.0) % 180.0 - 90.0
    slender = lengths.max() > _SLENDER * lengths.min()
    oblique = slender and min(abs(tilt), 90.0 - abs(tilt)) > 3.0
    return (0.0, tilt, 90.0) if oblique else (0.0, 90.0)


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
    lines = [shapely.LineString([(low_x - 1, y), (high_x + 1, y)]) for y in ys]
    target = affinity.rotate(shapely.Point(near), -angle, origin=(0, 0))
    best, best_score = None, -np.inf
    for chord in shapely.get_parts(shapely.intersection(lying, lines)):
        if chord.length <= 0:
            continue
        start, _, stop, y = chord.bounds
        length = min(longest, stop - start)
        middle = float(np.clip(target.x, start + length / 2, stop - length / 2))
        score = length - 0.4 * float(np.hypot(middle - target.x, y - target.y))
        score -= 1e-3 * y  # of two equal places the lower
        if score > best_score:
            best, best_score = (middle - length / 2, middle + length / 2, y), score
    if best is None:
        return None
    start, stop, y = best
    ends = affinity.rotate(shapely.LineString([(start, y), (stop, y)]), angle, origin=(0, 0))
    tail, head = ends.coords[::-1] if backwards else ends.coords
    return Shaft((tail[0], tail[1]), (head[0], head[1]))
