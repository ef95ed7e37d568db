"""Where an edge or a drawn line runs between the pixels.

Edges are looked for along the normals of a rough contour, in linear light, where the brightness is
half way between its two sides. Blur that is the same on both sides does not move that place.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.exchange.photo.picture import LUMA, Bytes, Picture, as_shown, in_linear_light, vision
from marker.geometry.arrays import FloatArray

Flags = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]

STEP_PX = 3.0  # between points along a contour
_SEARCHES = ((6.0, 10.0), (2.0, 7.0))  # smoothed along the contour, looked across it, pixels
ROUNDED_PX = 8.0  # from a corner: what is seen there is of both edges
_SAMPLE_PX = 0.5
_ALONG = 0.8  # points along a contour are smoothed by
_SIDE_PX = 5.0, 6.0, 7.0, 8.0  # the colour of a side is seen here: a JPEG's colours are blurred
_FAINT = 0.25  # of the usual contrast of a contour: no edge is seen there
_STRAY_PX = 1.0  # from its neighbours: dust, or a corner


@dataclass(frozen=True, eq=False)
class Traced:
    """A closed contour. points : (n, 2) pixels, the first not repeated. blur_px : how far it takes
    from a quarter to three quarters of the way between both sides, the median."""

    points: FloatArray
    blur_px: float


def traced_edge(picture: Picture, rough: FloatArray) -> Traced:
    """The edge that a rough contour (n, 2) runs along within a few pixels."""
    points, blur = rough, 0.0
    for smooth_px, reach_px in _SEARCHES:
        points, normals = spaced(points, smooth_px)
        offsets, seen, blur = _half_way(picture, points, normals, reach_px)
        points = (points + offsets[:, None] * normals)[_steady(offsets, seen)]
    return Traced(points, blur)


def traced_line(picture: Picture, rough: FloatArray) -> Traced:
    """The middle of the dark line that a rough contour runs along."""
    points = rough
    for smooth_px, reach_px in _SEARCHES:
        points, normals = spaced(points, smooth_px)
        profiles, at = _profiles(picture, points, normals, reach_px)
        dark = -profiles
        dark -= np.median(dark, axis=1, keepdims=True)
        dark = np.where(dark > 0.3 * dark.max(axis=1, keepdims=True), dark, 0.0)
        dark *= np.exp(-((at / (0.6 * reach_px)) ** 2))
        weight = dark.sum(axis=1)
        offsets = (dark * at).sum(axis=1) / np.maximum(weight, 1e-9)
        seen = weight > _FAINT * np.median(weight)
        points = (points + offsets[:, None] * normals)[_steady(offsets, seen)]
    return Traced(points, 0.0)


def spaced(points: FloatArray, smooth_px: float) -> tuple[FloatArray, FloatArray]:
    """A closed contour in even steps, smoothed along itself, and its outward or inward normals."""
    from scipy.ndimage import gaussian_filter1d

    closed = np.vstack([points, points[:1]])
    steps = np.hypot(*np.diff(closed, axis=0).T)
    reached = np.concatenate([[0.0], np.cumsum(steps)])
    count = max(int(reached[-1] / STEP_PX), 8)
    at = np.linspace(0, reached[-1], count, endpoint=False)
    even = np.column_stack([np.interp(at, reached, closed[:, k]) for k in (0, 1)])
    even = gaussian_filter1d(even, smooth_px / STEP_PX, axis=0, mode="wrap")
    along = np.roll(even, -1, axis=0) - np.roll(even, 1, axis=0)
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    return even, np.column_stack([along[:, 1], -along[:, 0]])


def _profiles(
    picture: Picture, points: FloatArray, normals: FloatArray, reach_px: float
) -> tuple[FloatArray, FloatArray]:
    """(n, k) light across the contour, and (k,) how far out each lies."""
    from scipy.ndimage import gaussian_filter1d

    at = np.arange(-reach_px, reach_px + 1e-9, _SAMPLE_PX)
    where = points[:, None, :] + at[None, :, None] * normals[:, None, :]
    profiles = _sampled(picture.light, where)
    return np.asarray(gaussian_filter1d(profiles, _ALONG, axis=0, mode="wrap")), at


def _sampled(image: FloatArray | Bytes, where: FloatArray) -> FloatArray:
    """An image between its pixels, at (n, k, 2)."""
    cv2 = vision()
    found = []
    for begin in range(0, len(where), 20_000):  # the library takes maps of 32 767 rows
        x, y = (where[begin : begin + 20_000, :, k].astype(np.float32) for k in (0, 1))
        found.append(cv2.remap(image, x, y, cv2.INTER_LINEAR, None, cv2.BORDER_REPLICATE))
    return np.concatenate(found).astype(np.float64)


def _half_way(
    picture: Picture, points: FloatArray, normals: FloatArray, reach_px: float
) -> tuple[FloatArray, Flags, float]:
    """Offset of each edge, whether it is seen at all, and how blurred they are.

    A JPEG's luma is sharper than its colours, so the luma is followed, to the level that it has
    where light of both sides is mixed in halves.
    """
    profiles, at = _profiles(picture, points, normals, reach_px)
    low, high = (_side(picture, points, sign * normals) for sign in (-1.0, 1.0))
    mixed = [_light_of((1 - share) * low + share * high) for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    sign = np.where(mixed[4] >= mixed[0], 1.0, -1.0)
    quarter, half, three = (
        _crossing(sign[:, None] * profiles, at, sign * level) for level in mixed[1:4]
    )
    contrast = np.abs(mixed[4] - mixed[0])
    seen = (contrast > _FAINT * np.median(contrast)) & np.isfinite(half)
    blur = np.abs(three - quarter)[seen]
    return np.nan_to_num(half), seen, float(np.nanmedian(blur)) if blur.size else np.inf


def _side(picture: Picture, points: FloatArray, normals: FloatArray) -> FloatArray:
    """(n, 3) colours in linear light on one side of a contour."""
    from scipy.ndimage import gaussian_filter1d

    at = np.array(_SIDE_PX)
    where = points[:, None, :] + at[None, :, None] * normals[:, None, :]
    shown = _sampled(picture.shown, where).mean(axis=1)
    return in_linear_light(gaussian_filter1d(shown, _ALONG, axis=0, mode="wrap"))


def _light_of(linear: FloatArray) -> FloatArray:
    """What a picture's `light` shows of colours in linear light (n, 3)."""
    return in_linear_light(as_shown(linear) @ np.array(LUMA))


def _crossing(values: FloatArray, at: FloatArray, level: FloatArray) -> FloatArray:
    """Where each profile passes its level upward, nearest to its middle; NaN where it does not."""
    over = values - level[:, None]
    up = (over[:, :-1] < 0) & (over[:, 1:] >= 0)
    far = np.where(up, np.abs(at[:-1] + _SAMPLE_PX / 2), np.inf)
    k = far.argmin(axis=1)
    row = np.arange(len(over))
    before, after = over[row, k], over[row, k + 1]
    place = at[k] - _SAMPLE_PX * before / np.where(after > before, after - before, 1.0)
    return np.where(np.isfinite(far[row, k]), place, np.nan)


def _steady(offsets: FloatArray, seen: Flags) -> Flags:
    """Points that are seen and do not stray from their neighbours."""
    from scipy.ndimage import median_filter

    usual = median_filter(offsets, 9, mode="wrap")
    return np.asarray(seen & (np.abs(offsets - usual) < _STRAY_PX))


def traced_side(picture: Picture, start: FloatArray, end: FloatArray) -> Traced:
    """Points of a straight edge from one pixel (2,) to another, its ends left out."""
    length = float(np.hypot(*(end - start)))
    along = (end - start) / max(length, 1e-9)
    at_end = 0.12 * length
    steps = np.arange(at_end, length - at_end, 1.5)
    points = start + steps[:, None] * along
    normals = np.tile([along[1], -along[0]], (len(points), 1))
    offsets, seen, blur = _half_way(picture, points, normals, _SEARCHES[-1][1])
    return Traced((points + offsets[:, None] * normals)[_steady(offsets, seen)], blur)


def thinned(points: FloatArray, most: int) -> FloatArray:
    """At most so many points (n, 2) of an edge that is about straight, in place of neighbours their
    mean."""
    if len(points) <= most:
        return points
    centred = points - points.mean(axis=0)
    along = centred @ np.linalg.svd(centred, full_matrices=False)[2][0]
    return np.array([part.mean(axis=0) for part in np.array_split(points[along.argsort()], most)])
