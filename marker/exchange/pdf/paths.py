"""The path that a PDF page is drawing (ISO 32000-1, 8.5.2)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from svgelements import Close, CubicBezier, Line, Move, Path


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
