"""What one photo shows, in its pixels: the reference, the contours of pieces, and lines on them.

A dark arrow is the grain, a red line along an edge the fold.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.exchange.photo.camera import View
from marker.exchange.photo.picture import Bytes, Picture, vision
from marker.exchange.photo.reference import Reference, Sighted, sighted
from marker.exchange.photo.regions import (
    Mask,
    Region,
    dark_lines,
    drawn_lines,
    shrunk,
    standing_out,
)
from marker.exchange.photo.subpixel import traced_edge, traced_line
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray

_LEAST_SIDE_PX = 24.0
_FEWEST_POINTS = 12
_SHEETS_MARGIN = 3.0  # times the reference's area: it is grown together with a piece


@dataclass(frozen=True, eq=False)
class Contour:
    """An outline in one photo. pixels : (n, 2). lines : what is drawn inside. holes : (k, 2) each,
    where the ground shows; inside a drawn outline there is one, or several where lines divide it.
    """

    photo: int
    pixels: FloatArray
    cut_off: bool
    lines: tuple[_InnerLine, ...]
    holes: tuple[FloatArray, ...]


@dataclass(frozen=True, eq=False)
class Seen:
    """What was found in a photo, in pixels. shown : the photo, to draw on."""

    name: str
    number: int
    size: tuple[int, int]
    focal: float | None
    scanned: bool
    shown: Bytes
    reference: Sighted
    contours: tuple[Contour, ...]
    specks: int

    def view(self, straights: Sequence[FloatArray] = ()) -> View:
        """What its camera is fitted by."""
        return View(self.size, self.focal, self.scanned, self.reference.sides, straights)


def look_at(picture: Picture, number: int, reference: Reference, lines: bool) -> Seen:
    """The reference and the contours in a photo, the `number`-th.

    lines : pieces are drawn as lines; else they are cut out. Raises Unusable where it can't be
    measured by.
    """
    regions, specks = standing_out(picture, _LEAST_SIDE_PX**2)
    drawn: list[Region] = []
    if lines or reference.is_square:
        drawn, _ = drawn_lines(picture, _LEAST_SIDE_PX**2)
    known = sighted(picture, reference, [*regions, *drawn])
    taken = [shapely.Polygon(each).buffer(0) for each in known.taken]
    if lines:
        apart = [each for each in drawn if not _is_reference(each, taken, may_touch=True)]
    else:
        cut = [each for each in regions if not each.is_line]
        apart = [each for each in cut if not _is_reference(each, taken, may_touch=False)]
    contours = [_contour(picture, number, each, lines) for each in apart]
    return Seen(
        picture.name,
        number,
        picture.size,
        picture.focal,
        picture.scanned,
        picture.shown,
        known,
        tuple(each for each in contours if len(each.pixels) >= _FEWEST_POINTS),
        specks,
    )


def _is_reference(region: Region, taken: Sequence[BaseGeometry], may_touch: bool) -> bool:
    """Whether a region is the reference or a part of it. Raises Unusable where it is grown together
    with a piece, unless it may lie on one, as on paper that is drawn on."""
    area = shapely.Polygon(region.rough).buffer(0)
    if not any(share_of_smaller(area, sheet) > 0.5 for sheet in taken):
        return False
    if area.area <= _SHEETS_MARGIN * max(sheet.area for sheet in taken):
        return True
    if may_touch:
        return False
    raise Unusable(
        "the reference touches a piece, or lies on one",
        "Lay it where the ground shows all around it",
    )


def _contour(picture: Picture, number: int, region: Region, lines: bool) -> Contour:
    trace = traced_line if lines else traced_edge
    pixels = trace(picture, region.rough).points
    inside = tuple(_inner_lines(picture, pixels, drawn=lines)) if len(pixels) > 3 else ()
    return Contour(number, pixels, region.cut_off, inside, region.holes)


def share_of_smaller(one: BaseGeometry, other: BaseGeometry) -> float:
    """How much of the smaller region lies in the other."""
    return float(one.intersection(other).area / max(min(one.area, other.area), 1e-9))


# in pixels of the shrunk picture, half a millimetre or so each
_LEAST_PX = 50.0
_STRAIGHT_PX = 2.5  # most of a line lies within this of its axis
_HEAD_PX = 2.5  # a head is wider than its line by so much
_AWAY_PX = 7  # from the edge of the piece: its own edge is no line
_END = 0.15  # of its length, where a head is looked for
_RED = 1.8  # times the green and the blue, in linear light


@dataclass(frozen=True, eq=False)
class _InnerLine:
    """A straight line on a piece. ends : (2, 2) pixels, the head of an arrow last. is_red : it
    names the fold; else it is an arrow."""

    ends: FloatArray
    is_red: bool


def _inner_lines(picture: Picture, contour: FloatArray, drawn: bool) -> list[_InnerLine]:
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
    found = [_InnerLine(ends, True) for ends, _ in _straight_parts(red)]
    found += [_InnerLine(ends, False) for ends, headed in _straight_parts(dark) if headed]
    return [_InnerLine((line.ends + corner + 0.5) * scale - 0.5, line.is_red) for line in found]


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
