"""The reference in a photo: a sheet of paper, a square, or our printed sheets of markers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from marker.exchange.photo.camera import (
    Camera,
    Side,
    View,
    fitted,
    is_a_camera,
    off_line,
    started,
)
from marker.exchange.photo.marks_sheet import PER_SHEET, PRINTED_MM, dictionary, marker_corners
from marker.exchange.photo.picture import Picture, vision
from marker.exchange.photo.regions import Region
from marker.exchange.photo.subpixel import (
    Traced,
    thinned,
    traced_edge,
    traced_line,
    traced_side,
)
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.units import NotALength, parse_length

WORST_MM = 1.5  # points of the reference may lie so far off their places, on average
_SHARPEST_MM = 2.0  # a blur of more hides corners
_FEWEST_MARKERS = 4  # of a sheet
_BOW = 0.015  # of a side's length: more than a lens bends it
_CORNER = 0.06  # of a side's length is left out at either end
_AS_GOOD = 2.0  # times the best: that could be the sheet as well
_SQUARE_MM = 50.0, 1000.0


class NotAReference(ValueError):
    """The text names no reference; the message says what would."""


@dataclass(frozen=True)
class Reference:
    """What is looked for. sides_mm : of a sheet or square; None for our printed sheets."""

    name: str
    sides_mm: tuple[float, float] | None

    @property
    def is_square(self) -> bool:
        """It may be drawn, then, as well as cut out."""
        return self.sides_mm is not None and self.sides_mm[0] == self.sides_mm[1]


# ISO 216; ANSI Y14.1
_PAPERS = {"a4": (210.0, 297.0), "a3": (297.0, 420.0), "letter": (215.9, 279.4)}
MARKS = Reference("marks", None)


def reference_named(text: str) -> Reference:
    """The reference called 'a4', 'a3', 'letter', 'marks', or '10 cm' for a square. Raises
    NotAReference."""
    name = text.strip().lower()
    if name == MARKS.name:
        return MARKS
    if name in _PAPERS:
        return Reference(name, _PAPERS[name])
    try:
        side = parse_length(name)
    except NotALength as error:
        known = [*_PAPERS, MARKS.name]
        raise NotAReference(
            f"{Unusable.unknown('reference', text, known)} Of a square give its side, such as "
            "'10 cm'."
        ) from error
    if not _SQUARE_MM[0] <= side <= _SQUARE_MM[1]:
        raise NotAReference(
            f"a square of {text!r} is no use; take one of 5 cm to 1 m, such as 10 cm"
        )
    return Reference(name, (side, side))


@dataclass(frozen=True, eq=False)
class Sighted:
    """The reference as one photo shows it. taken : pixels (n, 2) around each sheet, so that it is
    not read as a piece. camera : a first guess, with sheet `sides[0].sheet` at the origin."""

    sides: tuple[Side, ...]
    taken: tuple[FloatArray, ...]
    blur_px: float
    camera: Camera

    @property
    def sheets(self) -> tuple[int, ...]:
        return tuple(dict.fromkeys(side.sheet for side in self.sides))


def sighted(picture: Picture, reference: Reference, regions: Sequence[Region]) -> Sighted:
    """The reference in a picture. Raises Unusable where it is not there, cut off or not sharp."""
    found = (
        _marks(picture)
        if reference.sides_mm is None
        else _sheet(picture, reference, reference.sides_mm, regions)
    )
    scale = found.camera.mm_per_px(found.sides[0].points.mean(axis=0))
    if not found.blur_px * scale <= _SHARPEST_MM:
        raise Unusable(
            f"the photo is blurred: an edge takes {found.blur_px * scale:.1f} mm",
            "Hold the camera still, in more light, and wait until it has focused",
        )
    return found


# ---------------------------------------------------------------- a sheet of paper, or a square


def _sheet(
    picture: Picture, reference: Reference, sides_mm: tuple[float, float], regions: Sequence[Region]
) -> Sighted:
    tried: list[tuple[float, Sighted]] = []
    for region in regions:
        if not region.cut_off and (quad := _quad(picture, region)) is not None:
            tried += _fits(picture, *quad, sides_mm)
    if not tried:
        raise _no_reference(reference, any(region.cut_off for region in regions))
    tried.sort(key=lambda each: each[0])
    best, found = tried[0]
    others = [each for cost, each in tried[1:] if cost < _AS_GOOD * best + 0.02]
    if any(each.taken[0] is not found.taken[0] for each in others):
        raise Unusable(
            f"two things in it could be the reference {reference.name}",
            "Take away what has its shape, or use `marker print --reference` and --reference marks",
        )
    return found


def _no_reference(reference: Reference, cut_off: bool) -> Unusable:
    what = "printed marks are" if reference.sides_mm is None else f"{reference.name} is"
    why = ", or the frame cuts it off" if cut_off else ""
    return Unusable(
        f"no reference is seen in it: no {what} there{why}",
        "Lay the reference flat on the table, whole in the frame, touching no piece, on a ground "
        "that it stands out from",
    )


def _quad(picture: Picture, region: Region) -> tuple[Traced, list[FloatArray]] | None:
    """Its contour and the points along its four sides, counter-clockwise as seen; None where it
    has not four straight ones."""
    cv2 = vision()
    rough = region.rough.astype(np.float32)
    corners = cv2.approxPolyDP(rough, 0.02 * cv2.arcLength(rough, True), True)[:, 0, :]
    if len(corners) != 4 or not cv2.isContourConvex(corners):
        return None
    traced = (
        traced_line(picture, region.rough) if region.is_line else traced_edge(picture, region.rough)
    )
    if len(traced.points) < 40:
        return None
    ring = shapely.Polygon(corners)
    if not ring.exterior.is_ccw:  # y down: clockwise in the array is counter-clockwise as seen
        corners = corners[::-1]
    corners = corners[::-1].astype(float)
    sides = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        length = np.hypot(*(b - a))
        along = (b - a) / length
        there = (traced.points - a) @ along
        off = (traced.points - a) @ np.array([along[1], -along[0]])
        reach = 0.03 * length + 4
        own = traced.points[
            (there > _CORNER * length) & (there < (1 - _CORNER) * length) & (np.abs(off) < reach)
        ]
        if len(own) < 8 or np.abs(off_line(own)).max() > _BOW * length + 1.5:
            return None
        sides.append(thinned(own, 60))
    return traced, sides


def _fits(
    picture: Picture, traced: Traced, sides: Sequence[FloatArray], sides_mm: tuple[float, float]
) -> list[tuple[float, Sighted]]:
    """The region taken for the sheet, lying either way, each with how badly it fits."""
    found = []
    ways = {sides_mm, sides_mm[::-1]}
    for wide, high in sorted(ways):
        corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], dtype=float)
        known = tuple(
            Side(0, np.array([a, b]), own)
            for a, b, own in zip(corners, np.roll(corners, -1, axis=0), sides, strict=True)
        )
        view = View(picture.size, picture.focal, picture.scanned, known)
        seen = _crossings(sides)
        fit = fitted([view], [started(view, seen, corners)], {0: np.zeros(3)})
        cost = fit.cost / sum(map(len, sides))
        if fit.rms_mm[0] <= WORST_MM and is_a_camera(view, fit.cameras[0]):
            found.append((cost, Sighted(known, (traced.points,), traced.blur_px, fit.cameras[0])))
    return found


def _crossings(sides: Sequence[FloatArray]) -> FloatArray:
    """(4, 2) where each side meets the one before it."""
    lines = []
    for points in sides:
        middle = points.mean(axis=0)
        lines.append((middle, np.linalg.svd(points - middle, full_matrices=False)[2][0]))
    corners = []
    for (p, u), (q, v) in zip([lines[-1], *lines[:-1]], lines, strict=True):
        along = np.linalg.solve(np.column_stack([u, -v]), q - p)[0]
        corners.append(p + along * u)
    return np.array(corners)


# ------------------------------------------------------------------------- our printed sheets


def _marks(picture: Picture) -> Sighted:
    cv2 = vision()
    grey = cv2.cvtColor(picture.shown, cv2.COLOR_RGB2GRAY)
    share = min(1.0, 2400 / max(picture.size))
    small = cv2.resize(grey, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    corners, numbers, _ = cv2.aruco.ArucoDetector(dictionary()).detectMarkers(small)
    seen = {
        int(number): (quad[0].astype(float) + 0.5) / share - 0.5
        for quad, number in zip(corners, [] if numbers is None else np.ravel(numbers), strict=True)
    }
    sheets: dict[int, list[int]] = {}
    for number in sorted(seen):
        sheets.setdefault(number // PER_SHEET, []).append(number)
    whole = {sheet: own for sheet, own in sheets.items() if len(own) >= _FEWEST_MARKERS}
    if not whole:
        raise _no_reference(MARKS, bool(seen))
    sides: list[Side] = []
    blurs: list[float] = []
    for sheet, own in whole.items():
        for number in own:
            known = marker_corners(number)
            for k in range(4):
                traced = traced_side(picture, seen[number][k], seen[number][(k + 1) % 4])
                if len(traced.points) >= 4:
                    blurs.append(traced.blur_px)
                    sides.append(Side(sheet, known[[k, (k + 1) % 4]], thinned(traced.points, 5)))
    if not sides:
        raise _no_reference(MARKS, cut_off=True)
    first = sides[0].sheet
    own = whole[first]
    view = View(picture.size, picture.focal, picture.scanned, sides)
    table = np.concatenate([marker_corners(number) for number in own])
    camera = started(view, np.concatenate([seen[number] for number in own]), table)
    taken = [_around({n: seen[n] for n in mine}) for mine in whole.values()]
    taken += [seen[n] for sheet, mine in sheets.items() if sheet not in whole for n in mine]
    return Sighted(tuple(sides), tuple(taken), float(np.median(blurs)), camera)


def _around(seen: dict[int, FloatArray]) -> FloatArray:
    """(4, 2) pixels of the corners of what is printed on a sheet, from the markers seen."""
    cv2 = vision()
    table = np.concatenate([marker_corners(number) for number in seen])
    to_picture = cv2.findHomography(table, np.concatenate(list(seen.values())))[0]
    wide, high = np.array(PRINTED_MM) / 2
    page = np.array([[[-wide, high], [wide, high], [wide, -high], [-wide, -high]]])
    return np.asarray(cv2.perspectiveTransform(page, to_picture)[0])
