"""Photos read: the reference gives the scale, then every outline is measured on the table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from marker.exchange.photo.camera import Camera, Fitted, fitted
from marker.exchange.photo.first_guess import first_guess
from marker.exchange.photo.looking import Seen
from marker.exchange.photo.pieces import Measured, pieces_of, rounded_mm
from marker.exchange.photo.reference import WORST_MM, Reference
from marker.exchange.photo.refit import runs_between_corners
from marker.exchange.photo.subpixel import thinned
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray

_STRAIGHT_FROM_MM = 120.0  # edges this long help to see how the lens bends
_STRAIGHT_SHARE = 0.006  # of its length: so far off a line an edge may still be straight


@dataclass(frozen=True)
class PhotoRead:
    """What is known of a photo. rms_mm : how far the reference's points lie off their places.
    bent : share by which its lens draws corners of the frame inward. specks : of dust, dropped."""

    name: str
    rms_mm: float
    mm_per_px: float
    bent: float
    blur_mm: float
    specks: int


def measured(seen: Sequence[Seen], reference: Reference) -> tuple[list[Measured], list[PhotoRead]]:
    """The pieces in all photos, in reading order, and what is known of each photo.

    Raises Unusable where they can't be measured well enough.
    """
    groups = list(_groups(seen)) if reference.sides_mm is None else [[each] for each in seen]
    pieces: list[Measured] = []
    told: list[PhotoRead] = []
    for group in groups:
        fit = _fitted(group)
        pieces += pieces_of(group, fit, reference.sides_mm is None)
        told += [
            _told(each, camera, rms)
            for each, camera, rms in zip(group, fit.cameras, fit.rms_mm, strict=True)
        ]
    return pieces, told


def _groups(seen: Sequence[Seen]) -> Iterator[list[Seen]]:
    """Photos that show sheets in common, or lead from one to the other."""
    left = list(seen)
    while left:
        group = [left.pop(0)]
        sheets = set(group[0].reference.sheets)
        while near := [each for each in left if sheets & set(each.reference.sheets)]:
            group.append(near[0])
            sheets |= set(near[0].reference.sheets)
            left.remove(near[0])
        yield group


def _fitted(group: Sequence[Seen]) -> Fitted:
    """Cameras by the reference alone, then by the pieces' straight edges too."""
    cameras, sheets = first_guess([each.reference for each in group])
    fit = fitted([each.view() for each in group], cameras, sheets)
    for strict in (False, True):
        views = [
            each.view(list(_straights(each, camera, strict)))
            for each, camera in zip(group, fit.cameras, strict=True)
        ]
        fit = fitted(views, fit.cameras, fit.sheets)
    for each, rms in zip(group, fit.rms_mm, strict=True):
        if not rms <= WORST_MM:
            raise Unusable(
                f"in {each.name} the reference is {rms:.1f} mm off its shape, more than "
                f"{WORST_MM:g} mm",
                "Lay it flat, check that it is the size you said, and photograph from above",
            )
    return fit


def _straights(seen: Seen, camera: Camera, strict: bool) -> Iterator[FloatArray]:
    """Pixels along each edge that is taken to be straight."""
    for contour in seen.contours:
        if contour.cut_off:
            continue
        table = camera.on_table(contour.pixels)
        for run in runs_between_corners(table, rounded_mm(camera, contour)):
            length = float(np.hypot(*(run.points[-1] - run.points[0])))
            bow_mm = run.bow if strict else run.bow - _STRAIGHT_SHARE * length
            if length < _STRAIGHT_FROM_MM or not (run.is_straight if strict else bow_mm <= 0):
                continue
            line = shapely.LineString(run.points)
            own = shapely.distance(shapely.points(table), line) < 0.3
            if own.sum() >= 12:
                yield thinned(contour.pixels[own], 20)


def _told(seen: Seen, camera: Camera, rms: float) -> PhotoRead:
    scale = camera.mm_per_px(np.array(seen.size) / 2)
    blur = seen.reference.blur_px * scale
    return PhotoRead(seen.name, rms, scale, camera.bent, blur, seen.specks)
