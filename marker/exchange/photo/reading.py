"""Photos read: the reference gives the scale, then every outline is measured on the table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from marker.exchange.photo.camera import Camera, Fitted, fitted, laid
from marker.exchange.photo.looking import Seen
from marker.exchange.photo.pieces import Measured, pieces_of, rounded_mm
from marker.exchange.photo.reference import WORST_MM, Reference, Sighted
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
    cameras, sheets = _first_guess([each.reference for each in group])
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
    return PhotoRead(seen.name, rms, scale, camera.bent, seen.specks)


def _first_guess(seen: Sequence[Sighted]) -> tuple[list[Camera], dict[int, FloatArray]]:
    """Cameras of photos and places (x, y, turn) of sheets; each photo but the first shares a sheet
    with one before it."""
    sheets: dict[int, FloatArray] = {}
    cameras = []
    for own in seen:
        shared = next((sheet for sheet in own.sheets if sheet in sheets), None)
        places = {sheet: _place(own, sheet) for sheet in own.sheets}
        base = np.zeros(3) if shared is None else _after(sheets[shared], _back(places[shared]))
        for sheet in own.sheets:
            sheets.setdefault(sheet, _after(base, places[sheet]))
        cameras.append(own.camera.placed_on(base))
    return cameras, sheets


def _place(own: Sighted, sheet: int) -> FloatArray:
    """Where a sheet lies, as the first guess of the camera sees it."""
    sides = [side for side in own.sides if side.sheet == sheet]
    seen = np.array([own.camera.on_table(side.points).mean(axis=0) for side in sides])
    known = np.array([side.ends.mean(axis=0) for side in sides])
    a, b = known - known.mean(axis=0), seen - seen.mean(axis=0)
    turn = np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum())
    place = np.array([0.0, 0.0, turn])
    return np.array([*(seen.mean(axis=0) - laid(place, known.mean(axis=0))), turn])


def _after(first: FloatArray, then: FloatArray) -> FloatArray:
    """The place of what lies at `then` on something that lies at `first`."""
    return np.array([*laid(first, then[:2]), first[2] + then[2]])


def _back(place: FloatArray) -> FloatArray:
    """The place of the table as seen from something that lies at `place` on it."""
    return np.array([*laid(np.array([0.0, 0.0, -place[2]]), -place[:2]), -place[2]])
