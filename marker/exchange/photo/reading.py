"""Photos read: the reference gives the scale, then every outline is measured on the table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.exchange.photo.camera import Camera, Fitted, View, fitted, laid
from marker.exchange.photo.first_guess import first_guess
from marker.exchange.photo.inner_lines import InnerLine, inner_lines
from marker.exchange.photo.marks_sheet import PRINTED_MM
from marker.exchange.photo.picture import Bytes, Picture
from marker.exchange.photo.reference import WORST_MM, Reference, Sighted, sighted
from marker.exchange.photo.refit import refitted, runs_between_corners
from marker.exchange.photo.regions import Region, drawn_lines, standing_out
from marker.exchange.photo.subpixel import ROUNDED_PX, Flags, thinned, traced_edge, traced_line
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import sharp_vertices, stretch_points

LEAST_MM2 = 400.0  # anything smaller is no piece: common practice, no source
UNSURE_MM = 5.0  # a measure that is no surer is none
_LEAST_SIDE_PX = 24.0
_STRAIGHT_FROM_MM = 120.0  # edges this long help to see how the lens bends
_STRAIGHT_SHARE = 0.006  # of its length: so far off a line an edge may still be straight
_SURE = 2.0  # standard deviations: 95 %
_EDGES_PX = 1.0  # how well two edges of a piece are seen
_IN_FRAME_PX = 12.0
_SHOWN_MM = 3.0  # what one photo cuts, another shows to within this
_SAME_SHARE = 0.3  # of the smaller of two outlines that are one piece
_DRAWN_MM = 10.0  # between points of an edge in the photo
_SHEETS_MARGIN = 3.0  # times the reference's area: it is grown together with a piece


@dataclass(frozen=True, eq=False)
class Contour:
    """An outline in one photo. pixels : (n, 2). lines : what is drawn inside."""

    photo: int
    pixels: FloatArray
    cut_off: bool
    lines: tuple[InnerLine, ...]


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


@dataclass(frozen=True, eq=False)
class Measured:
    """A piece. outline : (n, 2) mm, y up. plus_minus_mm : how sure its length and width are, at
    95 %. arrows, reds : (2, 2) mm, as `InnerLine`. photo : the one that shows most of it.
    edges_in_photo : pixels (k, 2) there along each edge, as `edges_of` numbers them."""

    outline: FloatArray
    plus_minus_mm: float
    arrows: tuple[FloatArray, ...]
    reds: tuple[FloatArray, ...]
    photo: int
    edges_in_photo: tuple[FloatArray, ...]


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
    contours = []
    for region in drawn if lines else [each for each in regions if not each.is_line]:
        area = shapely.Polygon(region.rough).buffer(0)
        if any(_share(area, sheet) > 0.5 for sheet in taken):
            if area.area > _SHEETS_MARGIN * max(sheet.area for sheet in taken) and not lines:
                raise Unusable(
                    "the reference touches a piece, or lies on one",
                    "Lay it where the ground shows all around it",
                )
            if area.area < _SHEETS_MARGIN * max(sheet.area for sheet in taken):
                continue
        trace = traced_line if lines else traced_edge
        pixels = trace(picture, region.rough).points
        if len(pixels) >= 12:
            inside = tuple(inner_lines(picture, pixels, drawn=lines))
            contours.append(Contour(number, pixels, region.cut_off, inside))
    return Seen(
        picture.name,
        number,
        picture.size,
        picture.focal,
        picture.scanned,
        picture.shown,
        known,
        tuple(contours),
        specks,
    )


def measured(seen: Sequence[Seen], reference: Reference) -> tuple[list[Measured], list[PhotoRead]]:
    """The pieces in all photos, in reading order, and what is known of each photo.

    Raises Unusable where they can't be measured well enough.
    """
    groups = list(_groups(seen)) if reference.sides_mm is None else [[each] for each in seen]
    pieces: list[Measured] = []
    told: list[PhotoRead] = []
    for group in groups:
        fit = _fitted(group)
        pieces += _pieces(group, fit, reference.sides_mm is None)
        told += [
            _told(each, camera, rms)
            for each, camera, rms in zip(group, fit.cameras, fit.rms_mm, strict=True)
        ]
    return pieces, told


def _share(one: BaseGeometry, other: BaseGeometry) -> float:
    """How much of the smaller region lies in the other."""
    return float(one.intersection(other).area / max(min(one.area, other.area), 1e-9))


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
        for run in runs_between_corners(table, _rounded_mm(camera, contour)):
            length = float(np.hypot(*(run.points[-1] - run.points[0])))
            bow_mm = run.bow if strict else run.bow - _STRAIGHT_SHARE * length
            if length < _STRAIGHT_FROM_MM or not (run.is_straight if strict else bow_mm <= 0):
                continue
            line = shapely.LineString(run.points)
            own = shapely.distance(shapely.points(table), line) < 0.3
            if own.sum() >= 12:
                yield thinned(contour.pixels[own], 20)


def _rounded_mm(camera: Camera, contour: Contour) -> float:
    return ROUNDED_PX * camera.mm_per_px(contour.pixels.mean(axis=0))


def _told(seen: Seen, camera: Camera, rms: float) -> PhotoRead:
    scale = camera.mm_per_px(np.array(seen.size) / 2)
    blur = seen.reference.blur_px * scale
    return PhotoRead(seen.name, rms, scale, camera.bent, blur, seen.specks)


def _pieces(group: Sequence[Seen], fit: Fitted, of_marks: bool) -> list[Measured]:
    """The pieces that a group of photos shows, upright as the first of them."""
    turn = _upright(fit.cameras[0])
    place = {each.number: k for k, each in enumerate(group)}
    every: list[tuple[Contour, FloatArray]] = []
    for each, camera in zip(group, fit.cameras, strict=True):
        every += [(contour, camera.on_table(contour.pixels)) for contour in each.contours]
    sheets = shapely.union_all([_page(lies) for lies in fit.sheets.values() if of_marks])
    every = [
        (contour, table)
        for contour, table in every
        if _region(table).area >= LEAST_MM2 and not _mostly_in(_region(table), sheets)
    ]
    found = []
    for same in _same_piece([table for _, table in every]):
        table, own = _joined([every[k] for k in same], group, place)
        camera = fit.cameras[place[own.photo]]
        outline = refitted(runs_between_corners(table, _rounded_mm(camera, own)))
        if not shapely.Polygon(outline).is_valid:
            raise Unusable(
                "an outline in it crosses itself", "Lay the pieces flat, clear of one another"
            )
        lines = [
            (line.is_red, fit.cameras[place[each.photo]].on_table(line.ends) @ turn)
            for each in [every[k][0] for k in same]
            for line in each.lines
        ]
        found.append(
            Measured(
                outline @ turn,
                _plus_minus_mm(fit, place[own.photo], own),
                tuple(ends for is_red, ends in lines if not is_red),
                tuple(ends for is_red, ends in lines if is_red),
                own.photo,
                tuple(_in_photo(edge, camera, own) for edge in edges_of(outline)),
            )
        )
    return sorted(found, key=_reading_order)


def _page(place: FloatArray) -> BaseGeometry:
    """What is printed on a sheet of markers, where it lies on the table."""
    wide, high = PRINTED_MM
    corners = np.array([[-wide, -high], [wide, -high], [wide, high], [-wide, high]]) / 2
    return shapely.Polygon(laid(place, corners))


def _mostly_in(region: BaseGeometry, sheets: BaseGeometry) -> bool:
    return bool(region.intersection(sheets).area > 0.5 * region.area)


def _region(table: FloatArray) -> shapely.Polygon:
    return shapely.Polygon(table).buffer(0)


def edges_of(outline: FloatArray) -> list[FloatArray]:
    """The edges (k, 2) of an outline from corner to corner, in the order of their numbers."""
    corners = sharp_vertices(outline)
    if len(corners) < 2:
        return [np.vstack([outline, outline[:1]])]
    return [
        stretch_points(outline, int(a), int(b))
        for a, b in zip(corners, np.roll(corners, -1), strict=True)
    ]


def _in_photo(edge: FloatArray, camera: Camera, contour: Contour) -> FloatArray:
    """An edge in steps, for a straight one is bent in the photo."""
    from scipy.spatial import cKDTree

    steps = shapely.get_coordinates(shapely.segmentize(shapely.LineString(edge), _DRAWN_MM))
    near = cKDTree(camera.on_table(contour.pixels)).query(steps)[1]
    return camera.in_picture(steps, contour.pixels[near])


def _plus_minus_mm(fit: Fitted, view: int, contour: Contour) -> float:
    """How sure the length and width of a piece are. Raises Unusable where they are not."""

    def extents(camera: Camera) -> FloatArray:
        points = camera.on_table(contour.pixels[::4])
        centred = points - points.mean(axis=0)
        axes = np.linalg.svd(centred, full_matrices=False)[2]
        return np.asarray(np.ptp(centred @ axes.T, axis=0))

    edges_mm = _EDGES_PX * fit.cameras[view].mm_per_px(contour.pixels.mean(axis=0))
    sure_to = float(np.hypot(_SURE * fit.spread(view, extents).max(), edges_mm))
    if not sure_to <= UNSURE_MM:
        raise Unusable(
            f"a piece in it is known to ± {sure_to:.0f} mm only, so far from the reference",
            "Lay the reference in the middle, or sheets of `marker print --reference` at four "
            "corners",
        )
    return sure_to


def _reading_order(piece: Measured) -> tuple[int, int, float]:
    x, y = piece.outline.mean(axis=0)
    return piece.photo, round(-y / 250), x


def _upright(camera: Camera) -> FloatArray:
    """(2, 2) that turns the table so that right in the photo is right."""
    middle = np.array(camera.size) / 2
    a, b = camera.on_table(np.array([middle, middle + np.array([50.0, 0.0])]))
    c, s = (b - a) / np.hypot(*(b - a))
    return np.array([[c, -s], [s, c]])


def _same_piece(tables: Sequence[FloatArray]) -> Iterator[list[int]]:
    """Numbers of outlines that lie on one another: seen in several photos."""
    regions = [_region(table) for table in tables]
    left = list(range(len(regions)))
    while left:
        same = [left.pop(0)]
        while near := [
            k for k in left if any(_share(regions[k], regions[j]) > _SAME_SHARE for j in same)
        ]:
            same.append(near[0])
            left.remove(near[0])
        yield same


def _joined(
    parts: Sequence[tuple[Contour, FloatArray]], group: Sequence[Seen], place: dict[int, int]
) -> tuple[FloatArray, Contour]:
    """The contour of a piece on the table, and the photo that shows most of it."""
    whole = [each for each in parts if not each[0].cut_off]
    if whole:
        best = max(whole, key=lambda each: len(each[0].pixels))
        return best[1], best[0]
    largest = max(parts, key=lambda each: float(_region(each[1]).area))[0]
    cuts = [
        table[_at_frame(contour.pixels, group[place[contour.photo]].size)]
        for contour, table in parts
    ]
    shown = [  # the frame spoils what is near it
        _region(table) - shapely.MultiPoint(cut).buffer(2 * _SHOWN_MM)
        for (_, table), cut in zip(parts, cuts, strict=True)
    ]
    union = shapely.union_all(shown)
    for k, cut in enumerate(cuts):
        others = shapely.union_all([*shown[:k], *shown[k + 1 :]]).buffer(_SHOWN_MM)
        if union.geom_type != "Polygon" or not shapely.contains_xy(others, *cut.T).all():
            raise Unusable(
                "something in it is cut off by the frame",
                "Step back until all of it shows, or take away what is no piece; with marks, "
                "photograph the rest of it too, with a sheet in common",
            )
    return shapely.get_coordinates(shapely.get_exterior_ring(union))[:-1], largest


def _at_frame(pixels: FloatArray, size: tuple[int, int]) -> Flags:
    low = (pixels < _IN_FRAME_PX).any(axis=1)
    return np.asarray(low | (pixels > np.array(size) - 1 - _IN_FRAME_PX).any(axis=1))
