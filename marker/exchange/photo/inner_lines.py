"""What is drawn on the pieces: a dark arrow is the grain, a red line along an edge the fold."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from marker.exchange.photo.picture import Picture, vision
from marker.exchange.photo.regions import Mask, dark_lines, shrunk
from marker.geometry.arrays import FloatArray

# in pixels of the shrunk picture, half a millimetre or so each
_LEAST_PX = 50.0
_STRAIGHT_PX = 2.5  # most of a line lies within this of its axis
_HEAD_PX = 2.5  # a head is wider than its line by so much
_AWAY_PX = 7  # from the edge of the piece: its own edge is no line
_END = 0.15  # of its length, where a head is looked for
_RED = 1.8  # times the green and the blue, in linear light


@dataclass(frozen=True, eq=False)
class InnerLine:
    """A straight line on a piece. ends : (2, 2) pixels, the head of an arrow last. is_red : it
    names the fold; else it is an arrow."""

    ends: FloatArray
    is_red: bool


def inner_lines(picture: Picture, contour: FloatArray, drawn: bool) -> list[InnerLine]:
    """The arrows and red lines inside a contour (n, 2) in pixels.

    drawn : the contour is itself a line that was drawn.
    """
    cv2 = vision()
    small, scale = shrunk(picture)
    ring = np.round((contour + 0.5) / scale - 0.5).astype(np.int32)
    x, y, w, h = cv2.boundingRect(ring)
    part = small[max(y, 0) : y + h, max(x, 0) : x + w]
    corner = np.array([max(x, 0), max(y, 0)])
    inside = np.zeros(part.shape[:2], np.uint8)
    cv2.fillPoly(inside, [ring - corner.astype(np.int32)], 1)
    away = _AWAY_PX + 4 if drawn else _AWAY_PX
    inside = cv2.erode(inside, np.ones((away, away), np.uint8), borderValue=0)
    red = (part[:, :, 0] > _RED * np.maximum(part[:, :, 1:].max(axis=2), 0.01)).astype(np.uint8)
    red &= inside
    dark = dark_lines(part) & inside & (1 - cv2.dilate(red, np.ones((5, 5), np.uint8)))
    found = [InnerLine(ends, True) for ends, _ in _straight_parts(red)]
    found += [InnerLine(ends, False) for ends, headed in _straight_parts(dark) if headed]
    return [InnerLine((line.ends + corner + 0.5) * scale - 0.5, line.is_red) for line in found]


def _straight_parts(mask: Mask) -> Iterator[tuple[FloatArray, bool]]:
    """Each straight long part of a mask as (2, 2) ends, and whether it has a head; then the head is
    last, of two the upper one."""
    cv2 = vision()
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask)
    for k in range(1, count):
        x, y, w, h, area = stats[k]
        if max(w, h) < 0.7 * _LEAST_PX or area < _LEAST_PX:
            continue
        rows, columns = np.nonzero(labels[y : y + h, x : x + w] == k)
        points = np.column_stack([columns + x, rows + y]).astype(float)
        middle = np.median(points, axis=0)
        axis = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)[2][0]
        along = (points - middle) @ axis
        across = (points - middle) @ np.array([-axis[1], axis[0]])
        across -= np.median(across)
        low, high = along.min(), along.max()
        if high - low < _LEAST_PX or np.quantile(np.abs(across), 0.7) > _STRAIGHT_PX:
            continue
        ends = middle + np.array([low, high])[:, None] * axis
        reach = _END * (high - low)
        body = np.quantile(np.abs(across[(along > low + reach) & (along < high - reach)]), 0.95)
        wide = [
            float(np.abs(across[own]).max()) > body + _HEAD_PX
            for own in (along <= low + reach, along >= high - reach)
        ]
        up_last = ends if ends[1, 1] <= ends[0, 1] else ends[::-1]
        yield (up_last if wide[0] == wide[1] else ends[:: 1 if wide[1] else -1]), any(wide)
