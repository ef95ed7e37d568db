"""Empty rectangles: the largest one along the axes that fits a region, and one of a given size."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from marker.geometry.arrays import FloatArray

_SHRINK_MM = 1e-3
"""Grid cells are tested a hair smaller, so that a cell which only touches an edge is free."""

_ROUNDS = 3


def largest_rectangle(region: BaseGeometry, cell: float, least: float) -> FloatArray | None:
    """Low and high corner, (2, 2), of a rectangle inside the region, sides along the axes and none
    shorter than `least`; None if there is none. The largest made of whole cells, about `cell` wide,
    then moved out to the region's edges.

    It takes the grid of cells wholly inside, row after row, with a stack over the heights of
    columns of free cells. Its time is linear in the cells (Vandevoorde 1998, 'The maximal rectangle
    problem', Dr. Dobb's Journal; from memory).
    """
    if region.is_empty:
        return None
    low_x, low_y, high_x, high_y = region.bounds
    columns = max(1, round((high_x - low_x) / cell))
    rows = max(1, round((high_y - low_y) / cell))
    xs, ys = np.linspace(low_x, high_x, columns + 1), np.linspace(low_y, high_y, rows + 1)
    pitch = (float(np.diff(xs)[0]), float(np.diff(ys)[0]))
    free = _free(region, xs, ys)
    # what lies between grid lines is a cell short at each end, and may yet be wide enough
    boxes = [
        _widened(np.array([[xs[left], ys[low]], [xs[right], ys[high]]]), region, max(pitch))
        for limit in (least - _SHRINK_MM, least - 2 * max(pitch))
        for left, low, right, high in _largest_of(free, *pitch, limit)
    ]
    wide = [box for box in boxes if np.diff(box, axis=0).min() >= least - 2 * _SHRINK_MM]
    return max(wide, key=lambda box: float(np.prod(box[1] - box[0])), default=None)


def _free(region: BaseGeometry, xs: FloatArray, ys: FloatArray) -> NDArray[np.bool_]:
    """(rows, columns): whether each cell lies inside."""
    shapely.prepare(region)
    x, y = np.meshgrid(xs[:-1], ys[:-1])
    far_x, far_y = np.meshgrid(xs[1:], ys[1:])
    hair = _SHRINK_MM
    cells = shapely.box(x + hair, y + hair, far_x - hair, far_y - hair)
    return np.asarray(shapely.contains(region, cells))


def _largest_of(
    free: NDArray[np.bool_], width: float, height: float, least: float
) -> list[tuple[int, int, int, int]]:
    """Left, bottom, right, top (beyond the last) of the largest rectangle of free cells, no side
    shorter than `least`; none if there is none."""
    best = 0.0
    found: list[tuple[int, int, int, int]] = []
    columns = free.shape[1]
    heights = np.zeros(columns + 1, dtype=np.int64)  # the last stays 0 and empties the stack
    for row, cells in enumerate(free):
        heights[:columns] = np.where(cells, heights[:columns] + 1, 0)
        stack: list[tuple[int, int]] = []  # (first column, height) of open rectangles, rising
        for column, tall in enumerate(heights.tolist()):
            start = column
            while stack and stack[-1][1] >= tall:
                start, open_height = stack.pop()
                sides = (column - start) * width, open_height * height
                if min(sides) >= least and sides[0] * sides[1] > best:
                    best = sides[0] * sides[1]
                    found = [(start, row + 1 - open_height, column, row + 1)]
            stack.append((start, tall))
    return found


def _widened(box: FloatArray, region: BaseGeometry, cell: float) -> FloatArray:
    """The box with each side moved out as far as the region allows, at most a cell, by bisection;
    the side that gains most first."""
    best = box.copy()
    for _ in range(_ROUNDS):
        for end, axis in ((0, 0), (1, 0), (0, 1), (1, 1)):
            step = cell
            while step > _SHRINK_MM:
                trial = best.copy()
                trial[end, axis] += step if end else -step
                if region.contains(_inner(trial)):
                    best = trial
                else:
                    step /= 2
    return best


def _inner(box: FloatArray) -> BaseGeometry:
    (x, y), (far_x, far_y) = box + np.array([[_SHRINK_MM], [-_SHRINK_MM]])
    inner: BaseGeometry = shapely.box(x, y, far_x, far_y)
    return inner


_TRIALS = 13  # odd, so that one row of trial places runs down the middle of a strip
_SLENDER = 2.5
_DUST = 1e-9  # part of an area by which floating point may miss it


@dataclass(frozen=True)
class RectanglePlace:
    """A rectangle's place: centre, and the angle its width makes with the page, degrees."""

    centre: tuple[float, float]
    angle_deg: float

    def box(self, width: float, height: float) -> BaseGeometry:
        """The rectangle, lying here."""
        x, y = self.centre
        upright = shapely.box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
        if self.angle_deg == 0.0:
            return upright
        return affinity.rotate(upright, self.angle_deg, origin=self.centre)


class RectangleRoom:
    """A region in which places are sought for rectangles, as those that texts cover."""

    def __init__(self, region: BaseGeometry) -> None:
        self._region, self._area, self._home = region, region.area * (1 + _DUST), region.centroid
        self._turned: dict[float, tuple[BaseGeometry, tuple[float, float, float, float]]] = {}

    @cached_property
    def angles(self) -> tuple[float, ...]:
        """Degrees at which rectangles may lie so that a text in them is read: upright, along a
        slender region, and from the right."""
        return _reading_angles(self._region)

    def may_hold(self, width: float, height: float) -> bool:
        """Whether its area, and its bounds at one of the angles, have room for a width × height
        rectangle."""
        return width * height <= self._area and any(
            high_x - low_x >= width and high_y - low_y >= height
            for low_x, low_y, high_x, high_y in (self._at(angle)[1] for angle in self.angles)
        )

    def place(self, width: float, height: float, angle: float) -> RectanglePlace | None:
        """The fitting place nearest the centroid for a width × height rectangle, or None."""
        turned, (low_x, low_y, high_x, high_y) = self._at(angle)
        if high_x - low_x < width or high_y - low_y < height or width * height > self._area:
            return None
        home = self._home
        if turned.contains(RectanglePlace((home.x, home.y), 0.0).box(width, height)):
            return RectanglePlace((home.x, home.y), angle)
        xs = np.linspace(low_x + width / 2, high_x - width / 2, _TRIALS)
        ys = np.linspace(low_y + height / 2, high_y - height / 2, _TRIALS)
        x, y = _fitting(turned, np.tile(xs, _TRIALS), np.repeat(ys, _TRIALS), (width, height))
        if not len(x):
            return None
        best = int(np.argmin(np.hypot(x - home.x, y - home.y)))
        found = affinity.rotate(shapely.Point(x[best], y[best]), angle, origin=home)
        return RectanglePlace((found.x, found.y), angle)

    def _at(self, angle: float) -> tuple[BaseGeometry, tuple[float, float, float, float]]:
        """The region as it lies where rectangles at this angle lie upright, and its bounds."""
        if angle not in self._turned:
            turned = self._region
            if angle:
                turned = affinity.rotate(turned, -angle, origin=self._home)
            shapely.prepare(turned)
            self._turned[angle] = turned, turned.bounds
        return self._turned[angle]


def _fitting(
    region: BaseGeometry, x: FloatArray, y: FloatArray, size: tuple[float, float]
) -> tuple[FloatArray, FloatArray]:
    """Those of the centres (n,) whose upright rectangle of this size lies in a region. A corner
    outside rules out most of them, at a fraction of what the whole rectangle costs."""
    across, up = size[0] / 2, size[1] / 2
    for right, above in ((-across, -up), (across, up), (-across, up), (across, -up)):
        inside = shapely.intersects_xy(region, x + right, y + above)
        x, y = x[inside], y[inside]
    boxes = shapely.box(x - across, y - up, x + across, y + up)
    fits = shapely.contains(region, boxes)
    return x[fits], y[fits]


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
