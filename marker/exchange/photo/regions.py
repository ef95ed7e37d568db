"""What stands out from the ground: regions of paper, and closed lines drawn on it.

The colours of the ground are those along the edge of the frame. From there its light is followed
inward: it may change slowly, as in shadows, but not at once. What differs then is no ground.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.exchange.photo.picture import Picture, in_linear_light, vision
from marker.geometry.arrays import FloatArray

_LONG_SIDE_PX = 2000
_FIELD_SHRINK = 4
_BORDER = 0.03
_COLOURS = 8
_LEAST_SHARE = 0.02  # of the border: less is no colour of the ground
_PARTS, _THERE, _ALL_AROUND = 12, 0.08, 0.35  # of a side; of a part; of all parts
_SAME_HUE = 0.25
_DARK = 0.01  # linear light; below it noise is all there is
_NEAR = 0.22  # in logarithms of light: so far a colour counts as the ground's own
_LEAST_APART, _MOST_APART = 0.18, 0.5
_FOLLOWED = 14
_DUST_PX = 9  # what is narrower is dust, also where it touches a piece
_THINNEST = 0.3  # of what it encloses: a region that is less is a line

Mask = np.ndarray[tuple[int, ...], np.dtype[np.uint8]]


@dataclass(frozen=True, eq=False)
class Region:
    """Something that stands out. rough : (n, 2) its outer contour in pixels of the picture.
    holes : those inside. is_line : it is a line that encloses something. cut_off : the frame
    cuts it."""

    rough: FloatArray
    holes: tuple[FloatArray, ...]
    is_line: bool
    cut_off: bool


def standing_out(picture: Picture, least_px: float) -> tuple[list[Region], int]:
    """Regions of another colour than the ground of at least so many pixels, and how many smaller
    ones there are."""
    cv2 = vision()
    small, scale = shrunk(picture)
    colours = _log_colours(cv2.GaussianBlur(small, (0, 0), 1.0))
    ground = _ground_colours(colours)
    light = _light(colours, ground)
    away, _ = _nearest(colours, ground, light)
    level = float(np.clip(_otsu(away), _LEAST_APART, _MOST_APART))
    mask = (away > level).astype(np.uint8)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (_DUST_PX, _DUST_PX))
    mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, disc)
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, disc)
    return regions_of(mask, scale, least_px)


def drawn_lines(picture: Picture, least_px: float) -> tuple[list[Region], int]:
    """Closed dark lines, as `standing_out`."""
    cv2 = vision()
    small, scale = shrunk(picture)
    mask = dark_lines(small)
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    found, specks = regions_of(mask, scale, least_px)
    return [region for region in found if region.is_line], specks


def dark_lines(small: FloatArray) -> Mask:
    """Where a picture in linear light has narrow dark lines, whatever light lies on them."""
    cv2 = vision()
    grey = np.log(cv2.GaussianBlur(small, (0, 0), 0.8).mean(axis=2) + _DARK)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (15, 15))
    black = cv2.morphologyEx(grey, cv2.MORPH_CLOSE, disc) - grey
    return np.asarray(black > 0.35, dtype=np.uint8)


def regions_of(mask: Mask, scale: float, least_px: float) -> tuple[list[Region], int]:
    """The connected regions of a mask that is `scale` times smaller than the picture."""
    cv2 = vision()
    high, wide = mask.shape
    contours, tree = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    found: list[Region] = []
    specks = 0
    for k, contour in enumerate(contours):
        if tree[0][k][3] >= 0:
            continue
        filled = cv2.contourArea(contour) * scale**2
        if filled < least_px:
            specks += 1
            continue
        inside = [contours[j] for j in range(len(contours)) if tree[0][j][3] == k]
        empty = sum(cv2.contourArea(hole) for hole in inside) * scale**2
        x, y, w, h = cv2.boundingRect(contour)
        found.append(
            Region(
                _in_picture(contour, scale),
                tuple(
                    _in_picture(hole, scale)
                    for hole in inside
                    if cv2.contourArea(hole) * scale**2 >= least_px
                ),
                is_line=filled - empty < _THINNEST * filled,
                cut_off=x <= 1 or y <= 1 or x + w >= wide - 1 or y + h >= high - 1,
            )
        )
    return found, specks


def shrunk(picture: Picture) -> tuple[FloatArray, float]:
    """The picture in linear light (h, w, 3), made as small as regions are looked for in, and how
    many of its pixels are one there along a side."""
    cv2 = vision()
    wide, high = picture.size
    scale = max(wide, high) / _LONG_SIDE_PX
    shown = picture.shown
    if scale > 1:
        size = round(wide / scale), round(high / scale)
        shown = cv2.resize(shown, size, interpolation=cv2.INTER_AREA)
    linear = in_linear_light(np.arange(256.0)).astype(np.float32)
    return cv2.LUT(shown, linear), max(scale, 1.0)


def _in_picture(contour: FloatArray, scale: float) -> FloatArray:
    """A contour of the small picture in pixels of the large one; centres of pixels are whole."""
    return np.asarray((contour[:, 0, :] + 0.5) * scale - 0.5, dtype=np.float64)


def _log_colours(linear: FloatArray) -> FloatArray:
    """(h, w, 3): logarithm of light, and of red and blue over green, which shadows leave alone."""
    log = np.log(linear + _DARK)
    return np.dstack([log.mean(axis=2), log[:, :, 0] - log[:, :, 1], log[:, :, 2] - log[:, :, 1]])


def _ground_colours(colours: FloatArray) -> FloatArray:
    """(k, 3) colours that make up the border of the frame: those that are met all around it, and
    their like in other light. What is met on one stretch alone is a piece that the frame cuts."""
    cv2 = vision()
    high, wide = colours.shape[:2]
    edge = max(4, int(_BORDER * min(high, wide)))
    strips = (
        colours[:edge].swapaxes(0, 1),
        colours[-edge:].swapaxes(0, 1),
        colours[:, :edge],
        colours[:, -edge:],
    )
    parts = [part.reshape(-1, 3)[::7] for strip in strips for part in np.array_split(strip, _PARTS)]
    border = np.concatenate(parts).astype(np.float32)
    cv2.setRNGSeed(0)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 30, 0.01)
    _, labels, centres = cv2.kmeans(border, _COLOURS, None, stop, 2, cv2.KMEANS_PP_CENTERS)
    part = np.repeat(np.arange(len(parts)), [len(each) for each in parts])
    count = np.zeros((len(parts), _COLOURS))
    np.add.at(count, (part, labels[:, 0]), 1)
    share = count.sum(axis=0) / len(border)
    spread = (count > _THERE * count.sum(axis=1, keepdims=True)).mean(axis=0)
    around = (share >= _LEAST_SHARE) & ((spread >= _ALL_AROUND) | (share == share.max()))
    hue = np.hypot(*(centres[:, None, 1:] - centres[None, around, 1:]).transpose(2, 0, 1))
    alike = (share >= _LEAST_SHARE) & (hue.min(axis=1) < _SAME_HUE)
    return np.asarray(centres[around | alike])


def _nearest(colours: FloatArray, ground: FloatArray, light: FloatArray) -> tuple[FloatArray, Mask]:
    """How far each pixel is from the nearest colour of the ground in its light, and which."""
    best = np.full(colours.shape[:2], np.inf, dtype=np.float32)
    which = np.zeros(colours.shape[:2], dtype=np.uint8)
    lit = colours[:, :, 0] - light
    for k, (level, red, blue) in enumerate(ground):
        away = (lit - level) ** 2
        away += 1.5 * ((colours[:, :, 1] - red) ** 2 + (colours[:, :, 2] - blue) ** 2)
        nearer = away < best
        best[nearer], which[nearer] = away[nearer], k
    return np.sqrt(best), which


def _light(colours: FloatArray, ground: FloatArray) -> FloatArray:
    """How much lighter (in logarithms) the ground is at each pixel than along the border, followed
    inward from there."""
    cv2 = vision()
    high, wide = colours.shape[:2]
    size = wide // _FIELD_SHRINK, high // _FIELD_SHRINK
    small = cv2.resize(colours, size, interpolation=cv2.INTER_AREA)
    light = np.zeros(small.shape[:2], dtype=np.float32)
    known = np.zeros(small.shape[:2], dtype=np.uint8)
    edge = max(3, int(_BORDER * min(size)))
    known[:edge] = known[-edge:] = known[:, :edge] = known[:, -edge:] = 1
    reach = np.ones((41, 41), np.uint8)
    for _ in range(_FOLLOWED):
        away, which = _nearest(small, ground, light)
        near = (away < _NEAR) & (cv2.dilate(known, reach) > 0)
        weight = near.astype(np.float32)
        other = (small[:, :, 0] - ground[which, 0]) * weight
        total = cv2.GaussianBlur(weight, (0, 0), 9.0)
        light = cv2.GaussianBlur(other, (0, 0), 9.0) / np.maximum(total, 1e-4)
        far = cv2.GaussianBlur(other, (0, 0), 40.0) / np.maximum(
            cv2.GaussianBlur(weight, (0, 0), 40.0), 1e-6
        )
        light = np.where(total > 0.02, light, far)
        known = near.astype(np.uint8)
    return np.asarray(cv2.resize(light, (wide, high), interpolation=cv2.INTER_LINEAR))


def _otsu(away: FloatArray) -> float:
    cv2 = vision()
    grey = np.clip(away * 128, 0, 255).astype(np.uint8)
    level, _ = cv2.threshold(grey, 0, 1, cv2.THRESH_OTSU)
    return float(level) / 128
