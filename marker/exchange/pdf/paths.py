"""The path that a PDF page is drawing (ISO 32000-1, 8.5.2), and lines that are drawn as filled
bands."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
import shapely
from svgelements import Close, CubicBezier, Line, Move, Path

from marker.geometry.arrays import FloatArray

WIDEST_BAND_MM = 2.0  # a filled shape no wider stands for a line: common practice, no source
_SHORTEST_BAND_MM = 150.0  # and goes round at least so far, as no letter does
_MOST_BAND_POINTS = 4_000


class PathBuilder:
    """The current path. parts : its sub-paths, each of svgelements' segments."""

    def __init__(self) -> None:
        self.parts: list[list[Any]] = []
        self._at = self._start = (0.0, 0.0)

    def move(self, numbers: Sequence[float]) -> None:
        self._at = self._start = (numbers[0], numbers[1])
        self.parts.append([Move(self._at)])

    def line(self, numbers: Sequence[float]) -> None:
        self._open().append(Line(self._at, (numbers[0], numbers[1])))
        self._at = (numbers[0], numbers[1])

    def curve(self, numbers: Sequence[float]) -> None:
        x1, y1, x2, y2, x3, y3 = numbers
        self._open().append(CubicBezier(self._at, (x1, y1), (x2, y2), (x3, y3)))
        self._at = (x3, y3)

    def curve_from_here(self, numbers: Sequence[float]) -> None:
        self.curve([*self._at, *numbers])

    def curve_to_control(self, numbers: Sequence[float]) -> None:
        self.curve([*numbers, *numbers[2:]])

    def close(self, _numbers: Sequence[float] = ()) -> None:
        if self.parts and not isinstance(self.parts[-1][-1], Close):
            self.parts[-1].append(Close(self._at, self._start))
            self._at = self._start

    def rectangle(self, numbers: Sequence[float]) -> None:
        x, y, across, up = numbers
        self.move((x, y))
        for corner in ((x + across, y), (x + across, y + up), (x, y + up)):
            self.line(corner)
        self.close()

    def _open(self) -> list[Any]:
        """The sub-path being drawn; after a close, a new one from where that began."""
        if not self.parts or isinstance(self.parts[-1][-1], Close):
            self.move(self._at)
        return self.parts[-1]

    def drawn(self) -> list[Path]:
        """The sub-paths that draw something."""
        return [Path(*part) for part in self.parts if len(part) > 1]


BUILD: dict[bytes, Callable[[PathBuilder, Sequence[float]], None]] = {
    b"m": PathBuilder.move,
    b"l": PathBuilder.line,
    b"c": PathBuilder.curve,
    b"v": PathBuilder.curve_from_here,
    b"y": PathBuilder.curve_to_control,
    b"h": PathBuilder.close,
    b"re": PathBuilder.rectangle,
}


def middles(rings: Sequence[FloatArray]) -> Iterator[tuple[FloatArray, bool]]:
    """The middle lines of a filled shape that is nowhere wider than a pen, and whether each closes;
    nothing for any other shape.

    rings : (n, 2) mm, of its sub-paths. Two rings around one another are a band that closes, a
    narrow quadrilateral is a straight line.
    """
    if not 1 <= len(rings) <= 2 or sum(map(len, rings)) > _MOST_BAND_POINTS:
        return
    shapes = sorted(
        (shapely.Polygon(ring) for ring in rings if len(ring) > 2), key=lambda shape: -shape.area
    )
    if len(shapes) != len(rings) or not all(shape.is_valid for shape in shapes):
        return
    outer = shapes[0]
    if len(shapes) == 2:
        apart = shapely.hausdorff_distance(outer.exterior, shapes[1].exterior)
        around = outer.length >= _SHORTEST_BAND_MM
        if around and outer.contains(shapes[1]) and apart <= WIDEST_BAND_MM:
            width = (outer.area - shapes[1].area) / ((outer.length + shapes[1].length) / 2)
            yield from _inset(outer, width / 2)
    elif len(rings[0]) == 4:
        sides = np.hypot(*(np.roll(rings[0], -1, axis=0) - rings[0]).T)
        first = 0 if sides[0] + sides[2] < sides[1] + sides[3] else 1
        ends = np.array(
            [rings[0][k] + np.roll(rings[0], -1, axis=0)[k] for k in (first, first + 2)]
        )
        if sides[[first, first + 2]].max() <= WIDEST_BAND_MM < sides[first + 1] / 4:
            yield ends / 2, False


def _inset(outer: shapely.Polygon, by: float) -> Iterator[tuple[FloatArray, bool]]:
    inside = outer.buffer(-by, join_style="mitre", mitre_limit=10.0)
    for part in shapely.get_parts(inside):
        if isinstance(part, shapely.Polygon) and not part.is_empty:
            yield shapely.get_coordinates(part.exterior)[:-1], True
