"""How near read outlines come to those known: matched by shape, laid on one another, measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from marker.geometry.arrays import FloatArray
from tests.exchange.photo.scenes import Known

WITHIN_MM, WITHIN_SHARE, AREA_SHARE = 1.0, 0.003, 0.005
_CORNER_WITHIN_MM = 4.0
_SAME_SHARE = 0.05


@dataclass(frozen=True)
class Compared:
    """One piece beside what was read of it. measures : (known, read) mm of each: edges along the
    outline, corners from one another, length and width. area : share by which it differs."""

    name: str
    measures: tuple[tuple[float, float], ...]
    area: float

    @property
    def worst_mm(self) -> float:
        return max(abs(read - known) for known, read in self.measures)

    @property
    def worst(self) -> float:
        """The worst measure's share of what is allowed; above 1 is too much."""
        return max(
            abs(read - known) / max(WITHIN_MM, WITHIN_SHARE * known)
            for known, read in self.measures
        )


def compared(
    known: Sequence[Known], found: Sequence[FloatArray]
) -> tuple[list[Compared], list[str], int]:
    """The pieces that were read, names of those missed, and how many were made up."""
    left = list(range(len(found)))
    pairs, missed = [], []
    for piece in known:
        tries = [(*_laid_on(piece, found[k]), k) for k in left if _alike(piece, found[k])]
        if not tries:
            missed.append(piece.name)
            continue
        _, laid, k = min(tries, key=lambda each: each[0])
        left.remove(k)
        pairs.append(_measured(piece, laid))
    return pairs, missed, len(left)


def _alike(piece: Known, outline: FloatArray) -> bool:
    a, b = shapely.Polygon(piece.outline), shapely.Polygon(outline)
    return abs(b.area / a.area - 1) < _SAME_SHARE and abs(b.length / a.length - 1) < _SAME_SHARE


def _laid_on(piece: Known, outline: FloatArray) -> tuple[float, FloatArray]:
    """The outline turned and moved onto the piece, and how far it is off on average."""
    ring = shapely.LinearRing(piece.outline)
    points = shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(outline), 4.0))
    middle = np.array(shapely.Polygon(outline).centroid.coords[0])
    target = np.array(shapely.Polygon(piece.outline).centroid.coords[0])
    best: tuple[float, FloatArray] = (np.inf, outline)
    for start in np.arange(0, 2 * np.pi, np.pi / 12):
        matrix, shift = _turned(start), target - middle @ _turned(start)
        for _ in range(4):
            matrix, shift = _nearer(points, matrix, shift, ring)
        if _apart(points @ matrix + shift, ring) < 4 * min(best[0], 25.0):
            for _ in range(40):
                matrix, shift = _nearer(points, matrix, shift, ring)
        apart = _apart(points @ matrix + shift, ring)
        if apart < best[0]:
            best = apart, outline @ matrix + shift
    return best


def _turned(angle: float) -> FloatArray:
    return np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])


def _apart(points: FloatArray, ring: shapely.LinearRing) -> float:
    return float(np.mean(shapely.distance(shapely.points(points), ring)))


def _nearer(
    points: FloatArray, matrix: FloatArray, shift: FloatArray, ring: shapely.LinearRing
) -> tuple[FloatArray, FloatArray]:
    """One step of putting each point on the nearest of the outline (Besl and McKay 1992)."""
    moved = points @ matrix + shift
    nearest = shapely.get_coordinates(ring.interpolate(ring.project(shapely.points(moved))))
    a, b = points - points.mean(axis=0), nearest - nearest.mean(axis=0)
    turn = np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum())
    new = _turned(turn)
    return new, nearest.mean(axis=0) - points.mean(axis=0) @ new


def _measured(piece: Known, outline: FloatArray) -> Compared:
    ring, own = shapely.LinearRing(outline), shapely.LinearRing(piece.outline)
    known = piece.outline[list(piece.corners)]
    away = np.hypot(*(outline[None] - known[:, None]).transpose(2, 0, 1))
    read = outline[away.argmin(axis=1)]
    lost = away.min(axis=1) > _CORNER_WITHIN_MM
    measures = []
    for a in range(len(known)):
        b = (a + 1) % len(known)
        measures.append((_along(own, known[a], known[b]), _along(ring, read[a], read[b])))
        for c in range(a):
            measures.append(
                (float(np.hypot(*(known[a] - known[c]))), float(np.hypot(*(read[a] - read[c]))))
            )
    for axis in (0, 1):
        measures.append((float(np.ptp(piece.outline[:, axis])), float(np.ptp(outline[:, axis]))))
    if lost.any():
        measures.append((0.0, float(away.min(axis=1).max())))
    area = shapely.Polygon(outline).area / shapely.Polygon(piece.outline).area - 1
    return Compared(piece.name, tuple(measures), area)


def _along(ring: shapely.LinearRing, start: FloatArray, end: FloatArray) -> float:
    """The way along an outline from one corner to another, the shorter one."""
    there = abs(ring.project(shapely.Point(end)) - ring.project(shapely.Point(start)))
    return float(min(there, ring.length - there))
