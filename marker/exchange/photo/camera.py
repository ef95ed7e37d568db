"""Where cameras stood and how their lenses bend, from edges that are straight and known on paper.

A camera is a pinhole whose picture is bent about its middle by two terms of the radius. All that
is known goes into one least-squares fit. It is points on the sides of sheets of known size, sheets
that several photos show, edges as good as straight, and how lenses usually are.
Methods: Zhang 2000 (planar sheets), Brown 1971 (lens terms, straight lines).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from marker.exchange.photo.picture import vision
from marker.geometry.arrays import FloatArray, IntArray

# how lenses usually are, in halves of the diagonal of the frame: experience, no source
_USUAL_FOCAL, _FOCAL_SPREAD, _TOLD_SPREAD = 1.25, 0.35, 0.06
_MIDDLE_SPREAD = 0.01  # how far the axis may miss the middle of the frame
_BENT_SPREAD = 0.05, 0.02
_SCANNERS_FOCAL, _SCANNERS_BENT = 100.0, (1e-4, 1e-4)  # as from far away, without a lens
_MOST_UNUSUAL = 3.0  # times what is usual: no camera
_POINT_PX = 0.3  # how well a point of an edge is seen, its neighbours erring alike
_ALIKE = 2.0  # neighbours err alike, so that less is known than their number says
_OWN = 11  # numbers of a camera: focal, middle, two lens terms, turn, place
_UNBENDING = 7  # steps until a bent point is followed back to less than a hundredth of a pixel
_LEAST_RMS = 0.1  # of what is expected: better is luck


@dataclass(frozen=True, eq=False)
class Side:
    """A straight side of a sheet. sheet : its number. ends : (2, 2) mm on the sheet, y up.
    points : (n, 2) pixels where it is seen."""

    sheet: int
    ends: FloatArray
    points: FloatArray


@dataclass(frozen=True, eq=False)
class View:
    """What a photo shows of the sheets. size : wide, high in pixels. focal, scanned : as of a
    picture. straights : (n, 2) pixels along each edge of a piece that is taken to be straight."""

    size: tuple[int, int]
    focal: float | None
    scanned: bool
    sides: Sequence[Side]
    straights: Sequence[FloatArray] = ()


@dataclass(frozen=True, eq=False)
class Camera:
    """One photo's way from pixels to mm on the table. numbers : those that are fitted."""

    size: tuple[int, int]
    numbers: FloatArray

    def on_table(self, pixels: FloatArray) -> FloatArray:
        """(n, 2) pixels -> (n, 2) mm, y up."""
        log_focal, middle_x, middle_y, one, two = self.numbers[:5]
        half = np.hypot(*self.size) / 2
        seen = (pixels - (np.array(self.size) - 1) / 2) / half
        own = (seen**2).sum(axis=1)
        square = own
        for _ in range(_UNBENDING):
            square = own / (1 + one * square + two * square**2) ** 2
        straight = seen / (1 + one * square + two * square**2)[:, None] - (middle_x, middle_y)
        rays = np.column_stack([straight / np.exp(log_focal), np.ones(len(straight))])
        there = rays @ np.linalg.inv(_plane(self.numbers[5:])).T
        return np.asarray(there[:, :2] / there[:, 2:])

    def in_picture(self, table: FloatArray, near: FloatArray) -> FloatArray:
        """(n, 2) mm -> (n, 2) pixels, found from pixels (n, 2) near them (Newton's method)."""
        pixels = near.copy()
        for _ in range(4):
            here = self.on_table(pixels)
            across, down = (self.on_table(pixels + way) - here for way in np.eye(2))
            step = np.linalg.solve(np.stack([across, down], axis=2), (table - here)[:, :, None])
            pixels = pixels + step[:, :, 0]
        return np.asarray(pixels)

    def mm_per_px(self, pixel: FloatArray) -> float:
        """The scale at a pixel (2,)."""
        across = self.on_table(np.vstack([pixel, pixel + np.eye(2)]))
        (ax, ay), (bx, by) = across[1:] - across[0]
        return float(np.sqrt(abs(ax * by - ay * bx)))

    def placed_on(self, sheet: FloatArray) -> Camera:
        """The camera where what lay at the origin lies at (x, y, turn)."""
        cv2 = vision()
        turn = cv2.Rodrigues(self.numbers[5:8].reshape(3, 1))[0]
        c, s = np.cos(sheet[2]), np.sin(sheet[2])
        turned = turn @ np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
        place = self.numbers[8:] - turned[:, :2] @ sheet[:2] / 1000
        pose = np.concatenate([cv2.Rodrigues(turned)[0][:, 0], place])
        return Camera(self.size, np.concatenate([self.numbers[:5], pose]))

    @property
    def bent(self) -> float:
        """By what share the lens draws a corner of the frame inward; less than 0 outward."""
        return float(-self.numbers[3] - self.numbers[4])


@dataclass(frozen=True, eq=False)
class Fitted:
    """Cameras of the views. rms_mm : how far points of the sheets lie off their sides, of each
    view. sheets : number -> (x, y, turn) of each on the table."""

    cameras: tuple[Camera, ...]
    rms_mm: tuple[float, ...]
    sheets: Mapping[int, FloatArray]
    cost: float
    _spread: FloatArray = field(repr=False)

    def spread(self, view: int, measure: Callable[[Camera], FloatArray]) -> FloatArray:
        """Standard deviations (k,) of measures (k,) that follow from a camera."""
        camera = self.cameras[view]
        own = slice(view * (_OWN), (view + 1) * (_OWN))
        covariance = self._spread[own, own]
        values, axes = np.linalg.eigh(covariance)
        base = measure(camera)
        total = np.zeros_like(base)
        for value, axis in zip(values, axes.T, strict=True):
            step = np.sqrt(max(value, 0.0)) * axis
            moved = measure(Camera(camera.size, camera.numbers + step))
            total += (moved - base) ** 2
        return np.asarray(np.sqrt(total))


def _plane(pose: FloatArray) -> FloatArray:
    """(3, 3) from (x, y, 1) on the table to the camera's rays. pose : turn (3,), place (3,), of
    which the place is in metres."""
    cv2 = vision()
    turn = cv2.Rodrigues(pose[:3].reshape(3, 1))[0]
    return np.column_stack([turn[:, :2], pose[3:] * 1000])


def started(view: View, pixels: FloatArray, table: FloatArray) -> Camera:
    """A first guess from at least four points (n, 2) on the table, seen without a lens."""
    cv2 = vision()
    half = np.hypot(*view.size) / 2
    focal = _SCANNERS_FOCAL if view.scanned else view.focal or _USUAL_FOCAL
    seen = (pixels - (np.array(view.size) - 1) / 2) / half
    points = np.column_stack([table, np.zeros(len(table))])
    lens = np.diag([focal, focal, 1.0])
    _, turn, place = cv2.solvePnP(points, seen, lens, None, flags=cv2.SOLVEPNP_IPPE)
    pose = np.concatenate([turn[:, 0], place[:, 0] / 1000])
    return Camera(view.size, np.concatenate([[np.log(focal), 0, 0, 0, 0], pose]))


def fitted(
    views: Sequence[View], cameras: Sequence[Camera], sheets: Mapping[int, FloatArray]
) -> Fitted:
    """All cameras and sheets together. sheets : a first guess of each (x, y, turn); the first of
    them stays where it is."""
    from scipy.optimize import least_squares

    first, *others = sheets
    start = np.concatenate([*(c.numbers for c in cameras), *(sheets[each] for each in others)])
    order = {sheet: k for k, sheet in enumerate(sheets)}
    points = [_Points(view, camera, order) for view, camera in zip(views, cameras, strict=True)]

    def misses(x: FloatArray) -> FloatArray:
        places = np.vstack([sheets[first], x[len(views) * _OWN :].reshape(-1, 3)])
        own = x[: len(views) * _OWN].reshape(-1, _OWN)
        parts = [each.off(mine, places) for each, mine in zip(points, own, strict=True)]
        return np.concatenate(parts)

    best = least_squares(
        misses, start, loss="soft_l1", f_scale=2.0, x_scale="jac", ftol=1e-6, xtol=1e-7, max_nfev=40
    )
    places = np.vstack([sheets[first], best.x[len(views) * _OWN :].reshape(-1, 3)])
    found = tuple(
        Camera(view.size, best.x[k * _OWN : (k + 1) * _OWN]) for k, view in enumerate(views)
    )
    rms = [each.rms_mm(camera, places) for each, camera in zip(points, found, strict=True)]
    seen = max(r / each.scale / _POINT_PX for r, each in zip(rms, points, strict=True))
    inflated = _ALIKE * max(seen, _LEAST_RMS) ** 2
    spread = np.linalg.pinv(best.jac.T @ best.jac / inflated + 1e-12 * np.eye(len(start)))
    return Fitted(
        found, tuple(rms), dict(zip(sheets, places, strict=True)), float(best.cost), spread
    )


class _Points:
    """All points of a view, as arrays."""

    def __init__(self, view: View, camera: Camera, order: Mapping[int, int]) -> None:
        """order : sheet -> its row in the places."""
        self._view = view
        parts = [*(side.points for side in view.sides), *view.straights]
        self._pixels = np.concatenate(parts)
        self._on_sides = sum(len(side.points) for side in view.sides)
        counts = [len(side.points) for side in view.sides]
        self._side = np.repeat(np.arange(len(counts)), counts)
        self._sheet = np.array([order[side.sheet] for side in view.sides])
        self._ends = np.array([side.ends for side in view.sides])
        ours = [len(each) for each in view.straights]
        self._straight = np.repeat(np.arange(len(ours)), ours)
        each = np.array([camera.mm_per_px(part.mean(axis=0)) for part in parts])
        self._scale = np.repeat(each, [len(part) for part in parts])
        self.scale = float(self._scale[: self._on_sides].mean())

    def off(self, numbers: FloatArray, places: FloatArray) -> FloatArray:
        """How far every point is off, in what is usual, and how unusual the lens is."""
        camera = Camera(self._view.size, numbers)
        table = camera.on_table(self._pixels)
        off = np.concatenate(
            [
                self._off_sides(table[: self._on_sides], places),
                _off_lines(table[self._on_sides :], self._straight),
            ]
        )
        return np.concatenate([off / (self._scale * _POINT_PX), _unusual(self._view, camera)])

    def rms_mm(self, camera: Camera, places: FloatArray) -> float:
        """How far points of sheets lie off their sides."""
        off = self._off_sides(camera.on_table(self._pixels[: self._on_sides]), places)
        return float(np.sqrt(np.mean(off**2)))

    def _off_sides(self, table: FloatArray, places: FloatArray) -> FloatArray:
        place = places[self._sheet]
        c, s = np.cos(place[:, 2]), np.sin(place[:, 2])
        turn = np.stack([np.stack([c, s], axis=1), np.stack([-s, c], axis=1)], axis=1)
        a, b = (self._ends[:, k, None, :] @ turn for k in (0, 1))
        a, along = a[:, 0] + place[:, :2], (b - a)[:, 0]
        along /= np.hypot(*along.T)[:, None]
        away = table - a[self._side]
        along = along[self._side]
        return np.asarray(away[:, 0] * along[:, 1] - away[:, 1] * along[:, 0])


def _off_lines(points: FloatArray, line: IntArray) -> FloatArray:
    """How far each point lies off the best line through those with its number."""
    if not len(points):
        return np.empty(0)
    count = np.bincount(line)
    middle = np.column_stack([np.bincount(line, points[:, k]) / count for k in (0, 1)])
    centred = points - middle[line]
    x, y = centred.T
    turn = 0.5 * np.arctan2(
        2 * np.bincount(line, x * y), np.bincount(line, x * x) - np.bincount(line, y * y)
    )
    return np.asarray(y * np.cos(turn)[line] - x * np.sin(turn)[line])


def laid(sheet: FloatArray, points: FloatArray) -> FloatArray:
    """Points of a sheet on the table, where it lies at (x, y, turn)."""
    c, s = np.cos(sheet[2]), np.sin(sheet[2])
    return np.asarray(points @ np.array([[c, s], [-s, c]]) + sheet[:2])


def off_line(points: FloatArray) -> FloatArray:
    """How far each point lies off the line that fits them best."""
    return _off_lines(points, np.zeros(len(points), dtype=np.int64))


def is_a_camera(view: View, camera: Camera) -> bool:
    """Whether there are such cameras: else what was taken for a sheet is none."""
    return bool(np.abs(_unusual(view, camera)).max() <= _MOST_UNUSUAL)


def _unusual(view: View, camera: Camera) -> FloatArray:
    """How unusual the lens is, each in its usual spread; as strong as some points of an edge."""
    log_focal, middle_x, middle_y, one, two = camera.numbers[:5]
    usual, spread, bent = _USUAL_FOCAL, _FOCAL_SPREAD, _BENT_SPREAD
    if view.scanned:
        usual, spread, bent = _SCANNERS_FOCAL, _TOLD_SPREAD, _SCANNERS_BENT
    elif view.focal is not None:
        usual, spread = view.focal, _TOLD_SPREAD
    return np.array(
        [
            (log_focal - np.log(usual)) / spread,
            middle_x / _MIDDLE_SPREAD,
            middle_y / _MIDDLE_SPREAD,
            one / bent[0],
            two / bent[1],
        ]
    )
