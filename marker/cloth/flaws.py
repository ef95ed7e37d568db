"""Places of a cloth that are not to be used."""

from __future__ import annotations

from dataclasses import dataclass

from marker.geometry.arrays import FloatArray


@dataclass(frozen=True, eq=False)
class Flaw:
    """A stain, a hole, a thick thread: no piece may lie on it.

    outline : (n, 2) float64, mm, counter-clockwise, simple; x along the cloth from the end where
        the layout starts, y across it from the near selvage's inner edge. It may reach onto the
        selvages.
    """

    name: str
    outline: FloatArray
