"""Where a piece's grain line is drawn: a chord of its outline along the grain."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely

from marker.geometry.arrays import FloatArray

_LINES = 31
_SHARE = 0.3  # of the piece's breadth from its near side, so that its middle stays free for words
_END_SHARE, _SLENDER = 0.06, 3.0  # near the end of a piece so much broader than it is long
_NEARER = 0.5  # of a line's length that lying nearer that place is worth


def grain_chord(outline: FloatArray, cutouts: Sequence[FloatArray] = ()) -> FloatArray:
    """(2, 2) from edge to edge along +x, the grain: long, and off the middle of the piece.

    outline : (n, 2), mm, first point not repeated. The same outline gives the same line, so that a
    piece shows it in one place wherever it is drawn; all its copies share the work.
    """
    return _chord(outline.tobytes(), tuple(each.tobytes() for each in cutouts)).copy()


@lru_cache(maxsize=1024)
def _chord(ring: bytes, rings: tuple[bytes, ...]) -> FloatArray:
    outline, *cutouts = (np.frombuffer(each).reshape(-1, 2) for each in (ring, *rings))
    whole = shapely.Polygon(outline, cutouts)
    low_x, low_y, high_x, high_y = whole.bounds
    breadth = high_y - low_y
    share = _END_SHARE if breadth > _SLENDER * (high_x - low_x) else _SHARE
    target = low_y + share * breadth
    heights = np.append(np.linspace(low_y, high_y, _LINES + 2)[1:-1], target)
    rows = [shapely.LineString([(low_x - 1.0, y), (high_x + 1.0, y)]) for y in heights]
    parts = shapely.get_parts(shapely.intersection(whole, rows))
    chords = [part for part in parts if part.geom_type == "LineString" and part.length > 0]
    best = max(chords, key=lambda chord: _worth(chord, target))
    start, y, end, _ = best.bounds
    return np.array([[start, y], [end, y]])


def chord_through(
    outline: FloatArray, cutouts: Sequence[FloatArray], line: FloatArray
) -> FloatArray:
    """(2, 2) the line (2, 2), drawn on both ways to the edges of the piece that it lies in."""
    whole = shapely.Polygon(outline, cutouts)
    low_x, low_y, high_x, high_y = whole.bounds
    middle, way = line.mean(axis=0), line[1] - line[0]
    far = way / np.hypot(*way) * np.hypot(high_x - low_x, high_y - low_y)
    across = shapely.intersection(whole, shapely.LineString([middle - far, middle + far]))
    parts = [part for part in shapely.get_parts(across) if part.length > 0]
    chord = min(parts, key=lambda part: part.distance(shapely.Point(middle)))
    ends = shapely.get_coordinates(chord)[[0, -1]]
    return np.asarray(ends)


def _worth(chord: shapely.LineString, target: float) -> float:
    return float(chord.length - _NEARER * abs(chord.bounds[1] - target))


def shortened(chord: FloatArray, share: float = 0.1) -> FloatArray:
    """(2, 2) the chord without this share of its length at either end."""
    spare = share * (chord[1] - chord[0])
    return np.array([chord[0] + spare, chord[1] - spare])
