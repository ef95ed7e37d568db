"""Pieces on the table: contours that one or several photos show, with how sure they are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.exchange.photo.camera import Camera, Fitted, laid
from marker.exchange.photo.looking import Contour, Seen, share_of_smaller
from marker.exchange.photo.marks_sheet import PRINTED_MM
from marker.exchange.photo.refit import refitted, runs_between_corners
from marker.exchange.photo.subpixel import ROUNDED_PX, Flags
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import sharp_vertices, stretch_points

LEAST_MM2 = 400.0  # anything smaller is no piece: common practice, no source
UNSURE_MM = 5.0  # a measure that is no surer is none
_SURE = 2.0  # standard deviations: 95 %
_EDGES_PX = 1.0  # how well two edges of a piece are seen
_IN_FRAME_PX = 12.0
_SHOWN_MM = 3.0  # what one photo cuts, another shows to within this
_SAME_SHARE = 0.3  # of the smaller of two outlines that are one piece
_DRAWN_MM = 10.0  # between points of an edge in the photo


@dataclass(frozen=True, eq=False)
class Measured:
    """A piece. outline : (n, 2) mm, y up. plus_minus_mm : how sure its length and width are, at
    95 %. arrows, reds : (2, 2) mm, the ends of each line; the head of an arrow last. photo : the
    one that shows most of it. edges_in_photo : pixels (k, 2) there along each edge, as `edges_of`
    numbers them. holes : how many its contour has, of the size of a piece."""

    outline: FloatArray
    plus_minus_mm: float
    arrows: tuple[FloatArray, ...]
    reds: tuple[FloatArray, ...]
    photo: int
    edges_in_photo: tuple[FloatArray, ...]
    holes: int


def rounded_mm(camera: Camera, contour: Contour) -> float:
    """How far from a corner a contour is rounded by blur."""
    return ROUNDED_PX * camera.mm_per_px(contour.pixels.mean(axis=0))


def pieces_of(group: Sequence[Seen], fit: Fitted, of_marks: bool) -> list[Measured]:
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
        parts = [every[k] for k in same]
        table, own = _joined(parts, group, place)
        lines = next((c for c in (own, *(c for c, _ in parts)) if c.lines), own)
        found.append(_piece(table, own, lines, fit, place, turn))
    return sorted(found, key=_reading_order)


def _piece(
    table: FloatArray,
    own: Contour,
    marked: Contour,
    fit: Fitted,
    place: dict[int, int],
    turn: FloatArray,
) -> Measured:
    """A piece of a contour on the table. own : the same where most of it is seen; marked : where
    its lines are. place : photo -> its number in the fit. turn : what makes it upright."""
    camera = fit.cameras[place[own.photo]]
    outline = refitted(runs_between_corners(table, rounded_mm(camera, own)))
    if not shapely.Polygon(outline).is_valid:
        raise Unusable(
            "an outline in it crosses itself", "Lay the pieces flat, clear of one another"
        )
    other = fit.cameras[place[marked.photo]]
    lines = [(line.is_red, other.on_table(line.ends) @ turn) for line in marked.lines]
    return Measured(
        outline @ turn,
        _plus_minus_mm(fit, place[own.photo], own),
        tuple(ends for is_red, ends in lines if not is_red),
        tuple(ends for is_red, ends in lines if is_red),
        own.photo,
        tuple(_in_photo(edge, camera, own) for edge in edges_of(outline)),
        sum(_region(camera.on_table(hole)).area >= LEAST_MM2 for hole in own.holes),
    )


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
            k
            for k in left
            if any(share_of_smaller(regions[k], regions[j]) > _SAME_SHARE for j in same)
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
