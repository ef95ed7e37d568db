"""What one photo shows, in its pixels: the reference, and the contours of pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from marker.exchange.photo.camera import View
from marker.exchange.photo.inner_lines import InnerLine, inner_lines
from marker.exchange.photo.picture import Bytes, Picture
from marker.exchange.photo.reference import Reference, Sighted, sighted
from marker.exchange.photo.regions import Region, drawn_lines, standing_out
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
    lines: tuple[InnerLine, ...]
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
    inside = tuple(inner_lines(picture, pixels, drawn=lines)) if len(pixels) > 3 else ()
    return Contour(number, pixels, region.cut_off, inside, region.holes)


def share_of_smaller(one: BaseGeometry, other: BaseGeometry) -> float:
    """How much of the smaller region lies in the other."""
    return float(one.intersection(other).area / max(min(one.area, other.area), 1e-9))
