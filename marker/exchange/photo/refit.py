"""A contour of many points as few straight lines and smooth curves, its corners kept."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from marker.exchange.photo.camera import off_line
from marker.exchange.strokes import FLATTEN_MM
from marker.geometry.arrays import FloatArray, IntArray

STRAIGHT_MM = 0.35  # nowhere farther off a line: it is meant straight
_CLOSE_MM = 0.12  # a curve keeps this near to the points
_WINDOW_MM = 8.0  # looked along on either side of a corner, beyond what blur rounds
_STEP_MM = 1.0
_LEAST_TURN = np.radians(14.0)
_NEAR_ANOTHER = np.radians(25.0)  # the same where another corner is near, and curves are short
_LED_MM, _BEND_MM = 12.0, 14.0  # led on past an end, by the bend of so much before it
_LEAST_WINDOW_MM = 3.0  # the same between two corners
_PIECES = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32)  # of a curve, tried in turn


@dataclass(frozen=True, eq=False)
class Run:
    """Points (n, 2) mm from a corner to the next, the parts rounded by blur left out."""

    points: FloatArray

    @property
    def bow(self) -> float:
        """How far the points lie off the line that fits them best, but for the 2 % farthest."""
        return float(np.quantile(np.abs(off_line(self.points)), 0.98))

    @property
    def is_straight(self) -> bool:
        """Whether it is meant as a straight line."""
        return self.bow <= STRAIGHT_MM


def runs_between_corners(points: FloatArray, rounded_mm: float) -> list[Run]:
    """The runs of a closed contour (n, 2) mm; one alone where it has no corner.

    rounded_mm : so far from a corner the points are not to be trusted.
    """
    even = _even(points)
    skip = max(1, round(rounded_mm / _step(even)))
    corners = _corners(even, skip)
    if len(corners) == 0:
        return [Run(even)]
    runs = []
    for a, b in zip(corners, np.roll(corners, -1), strict=True):
        count = int(b - a) % len(even) or len(even)
        inside = (a + np.arange(skip, count - skip + 1)) % len(even)
        runs.append(Run(even[inside]))
    return [run for run in runs if len(run.points) >= 4]


def refitted(runs: list[Run]) -> FloatArray:
    """The outline (n, 2) that the runs make: lines and curves, meeting in sharp corners."""
    if len(runs) == 1:
        return _flattened(_smooth_ring(runs[0].points))
    curves = [_line(run.points) if run.is_straight else _curve(run.points) for run in runs]
    meeting = [
        _meeting(before, after)
        for before, after in zip([curves[-1], *curves[:-1]], curves, strict=True)
    ]
    parts = []
    for k, curve in enumerate(curves):
        start, end = meeting[k], meeting[(k + 1) % len(curves)]
        inner = curve[1:-1] if len(curve) > 2 else curve[:0]
        parts.append(_flattened(np.vstack([start, inner, end]))[:-1])
    return np.concatenate(parts)


def _even(points: FloatArray) -> FloatArray:
    """The contour in even steps."""
    closed = np.vstack([points, points[:1]])
    reached = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(16, round(reached[-1] / _STEP_MM))
    at = np.linspace(0, reached[-1], count, endpoint=False)
    return np.column_stack([np.interp(at, reached, closed[:, k]) for k in (0, 1)])


def _step(even: FloatArray) -> float:
    return float(np.hypot(*(even[1] - even[0]))) or _STEP_MM


def _corners(even: FloatArray, skip: int) -> IntArray:
    """Where the contour turns at once: what both sides lead to, seen without the middle."""
    from scipy.ndimage import uniform_filter1d

    step = _step(even)
    reach = skip + round(_WINDOW_MM / step)
    least = skip + round(_LEAST_WINDOW_MM / step)
    turn = np.abs(_turn(_heading(even, -reach, -skip), _heading(even, skip, reach)))
    # as far as both sides are seen without the middle, all places near a corner turn alike
    turn = uniform_filter1d(turn, 2 * skip + 1, mode="wrap")
    found: list[int] = []
    for k in map(int, np.argsort(-turn)):
        if turn[k] < _LEAST_TURN:
            break
        at = _nearer(even, k, skip, least)
        before = min(((at - j) % len(even) for j in found), default=len(even))
        after = min(((j - at) % len(even) for j in found), default=len(even))
        sides = min(reach, before - skip), min(reach, after - skip)
        if sides == (reach, reach) or (
            min(sides) >= least and _turns_at(even, at, skip, sides) >= _NEAR_ANOTHER
        ):
            found.append(at)
    return np.array(sorted(found), dtype=np.int64)


def _nearer(even: FloatArray, k: int, skip: int, least: int) -> int:
    """The point nearest to where both sides of a corner lead, which is about point k."""
    near = np.roll(even, -k + 2 * skip + least, axis=0)[: 4 * skip + 2 * least + 1]
    corner = _meeting(near[: least + 1], near[-least - 1 :])
    step = int(np.hypot(*(near - corner).T).argmin()) - 2 * skip - least
    return (k + step) % len(even) if abs(step) <= skip else k


def _turns_at(even: FloatArray, k: int, skip: int, sides: tuple[int, int]) -> float:
    """By how much it turns at one point, looking so far to either side and no farther, for there
    are other corners."""
    near = np.roll(even, -k + sides[0], axis=0)[: sum(sides) + 1]
    before, after = near[: sides[0] - skip + 1], near[sides[0] + skip :]
    (a, b), (c, d) = (_line(part) for part in (before, after))
    turn = _turn(np.arctan2(*(b - a)[::-1]), np.arctan2(*(d - c)[::-1]))
    return float(np.abs(turn))


def _heading(even: FloatArray, first: int, last: int) -> FloatArray:
    """At each point, the heading at it of the parabola through the points first to last on."""
    at = np.arange(first, last + 1, dtype=float)
    powers = np.column_stack([np.ones_like(at), at, at**2])
    slope = np.linalg.pinv(powers)[1]
    moved = np.stack([np.roll(even, -int(k), axis=0) for k in at])
    way = np.tensordot(slope, moved, axes=1)
    return np.asarray(np.arctan2(way[:, 1], way[:, 0]))


def _turn(before: FloatArray, after: FloatArray) -> FloatArray:
    """From one heading to another, radians."""
    return np.asarray((after - before + np.pi) % (2 * np.pi) - np.pi)


def _line(points: FloatArray) -> FloatArray:
    middle = points.mean(axis=0)
    along = np.linalg.svd(points - middle, full_matrices=False)[2][0]
    ends = (points[[0, -1]] - middle) @ along
    return np.asarray(middle + ends[:, None] * along)


def _curve(points: FloatArray) -> FloatArray:
    """A smooth curve of as few cubic pieces as come close, as points in small steps."""
    from scipy.interpolate import make_lsq_spline

    at = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    fine = np.linspace(0, at[-1], max(8, int(at[-1] / 0.5)))
    best = points
    for pieces in _PIECES:
        inner = np.linspace(0, at[-1], pieces + 1)[1:-1]
        knots = np.concatenate([[0.0] * 4, inner, [at[-1]] * 4])
        if len(points) < len(knots):
            break
        spline = make_lsq_spline(at, points, knots, 3)
        best = spline(fine)
        if np.quantile(np.hypot(*(spline(at) - points).T), 0.98) <= _CLOSE_MM:
            break
    return np.asarray(best)


def _smooth_ring(points: FloatArray) -> FloatArray:
    """A closed smooth curve."""
    from scipy.interpolate import splev, splprep

    closed = np.vstack([points, points[:1]])
    spline, _ = splprep(closed.T, s=len(closed) * 0.05**2, per=True)
    return np.column_stack(splev(np.linspace(0, 1, 4 * len(points), endpoint=False), spline))


def _meeting(before: FloatArray, after: FloatArray) -> FloatArray:
    """Where two curves lead to, on past their ends."""
    one, other = _led_on(before[::-1]), _led_on(after)
    gap = float(np.hypot(*(before[-1] - after[0])))
    met = shapely.intersection(shapely.LineString(one), shapely.LineString(other))
    points = shapely.get_coordinates(met)
    if len(points):
        away = np.hypot(*(points - (before[-1] + after[0]) / 2).T)
        if away.min() <= 2 * gap:
            return np.asarray(points[away.argmin()])
    return np.asarray((before[-1] + after[0]) / 2)


def _led_on(curve: FloatArray) -> FloatArray:
    """A curve led on before its start as it bends there, from within to without, mm by mm."""
    reached = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(curve, axis=0).T))])
    own = reached <= min(_BEND_MM, reached[-1])
    if own.sum() < 4:  # straight
        way = (curve[0] - curve[-1]) / max(reached[-1], 1e-9)
        return np.array([curve[0] - 2 * way, curve[0] + _LED_MM * way])
    terms = np.polynomial.polynomial.polyfit(reached[own], curve[own], 2)
    on = -np.arange(-2.0, _LED_MM, 0.5)
    return np.asarray(np.polynomial.polynomial.polyval(on, terms).T)


def _flattened(points: FloatArray) -> FloatArray:
    """The same line with no more points than it needs."""
    line = shapely.simplify(shapely.LineString(points), FLATTEN_MM)
    return np.asarray(shapely.get_coordinates(line))
