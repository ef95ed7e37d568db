"""The drafting kit's lines: straight ones, Bézier curves and arcs, and solving for a length.

Points are complex numbers in mm: x to the right, away from the centre line, and y (the imaginary
part) down the body, as on an SVG sheet. A direction is a complex number of any length.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from marker.geometry.arrays import FloatArray

ACROSS = 1 + 0j  # direction away from the centre line
DOWN = 1j  # direction down the body
CLOCKWISE = 1j  # a direction times this is turned by a right angle, clockwise on the sheet

_GAUSS = np.polynomial.legendre.leggauss(16)
_PANELS = 4  # that a curve is cut into to be measured
_SHARES = ((_GAUSS[0] + 1) / 2 + np.arange(_PANELS)[:, None]).ravel() / _PANELS
_WEIGHTS = np.tile(_GAUSS[1] / 2, _PANELS) / _PANELS
_WIDEST_ARC_DEG = 45.0  # one Bézier curve strays from so much of an arc by 4e-6 of its radius


class CannotBeDrafted(ValueError):
    """Measures and options do not go together: why, and what to change."""

    def __init__(self, problem: str, remedy: str) -> None:
        self.problem, self.remedy = problem, remedy
        super().__init__(f"{problem}. {remedy}.")


@dataclass(frozen=True)
class Curve:
    """A straight line, or a cubic Bézier curve when `handles` are given."""

    start: complex
    end: complex
    handles: tuple[complex, complex] | None = None

    def at(self, t: float) -> complex:
        """Point at parameter t, from 0 at the start to 1 at the end."""
        if self.handles is None:
            return self.start + t * (self.end - self.start)
        s, (first, second) = 1 - t, self.handles
        ends = s**3 * self.start + t**3 * self.end
        return ends + 3 * s * s * t * first + 3 * s * t * t * second

    @property
    def length(self) -> float:
        """Length in mm (Gauss-Legendre quadrature of the speed; exact to 0.001 mm here)."""
        return self.length_until(1.0)

    def length_until(self, t: float) -> float:
        """Length in mm from the start to parameter t."""
        if self.handles is None:
            return t * abs(self.end - self.start)
        first, second = self.handles
        steps = np.diff(np.array([self.start, first, second, self.end]))
        at = t * _SHARES
        speed = (1 - at) ** 2 * steps[0] + 2 * (1 - at) * at * steps[1] + at**2 * steps[2]
        return float(_WEIGHTS @ np.abs(speed)) * 3 * t

    def moved(self, by: complex) -> Curve:
        """The same line, moved."""
        handles = self.handles and (self.handles[0] + by, self.handles[1] + by)
        return Curve(self.start + by, self.end + by, handles)

    @property
    def reversed(self) -> Curve:
        """The same line, walked the other way."""
        return Curve(self.end, self.start, self.handles and self.handles[::-1])

    def split(self, t: float) -> tuple[Curve, Curve]:
        """The line in two at parameter t (de Casteljau's construction)."""
        if self.handles is None:
            return Curve(self.start, self.at(t)), Curve(self.at(t), self.end)
        points = [self.start, *self.handles, self.end]
        heads, tails = [points[0]], [points[3]]
        while len(points) > 1:
            points = [p + t * (q - p) for p, q in pairwise(points)]
            heads.append(points[0])
            tails.append(points[-1])
        return (
            Curve(self.start, heads[3], (heads[1], heads[2])),
            Curve(heads[3], self.end, (tails[2], tails[1])),
        )

    def split_at(self, mm: float) -> tuple[Curve, Curve]:
        """The line in two, `mm` along it from its start."""
        return self.split(solve(self.length_until, mm, 0.0, 1.0))


def line(start: complex, end: complex) -> Curve:
    """Straight line."""
    return Curve(start, end)


def curve(
    start: complex, leaving: complex, end: complex, arriving: complex, pulls: tuple[float, float]
) -> Curve:
    """Curve that leaves and arrives in the given directions; `pulls` are handle lengths in mm."""
    out, into = pulls
    return Curve(start, end, (start + out * unit(leaving), end - into * unit(arriving)))


def arc(radius: float, from_deg: float, to_deg: float) -> tuple[Curve, ...]:
    """Arc of a circle around 0 in equal Bézier curves; angles from `ACROSS`, growing clockwise."""
    count = max(1, math.ceil(abs(to_deg - from_deg) / _WIDEST_ARC_DEG - 1e-9))
    step = math.radians(to_deg - from_deg) / count
    pull = 4 / 3 * math.tan(step / 4) * radius
    rays = [cmath.rect(1, math.radians(from_deg) + k * step) for k in range(count + 1)]
    return tuple(
        curve(
            radius * here,
            here * CLOCKWISE,
            radius * there,
            there * CLOCKWISE,
            (pull, pull),
        )
        for here, there in pairwise(rays)
    )


def unit(direction: complex) -> complex:
    """The direction with length 1."""
    return direction / abs(direction)


def toward(degrees: float) -> complex:
    """Direction this far below `ACROSS`, length 1."""
    return cmath.rect(1, math.radians(degrees))


def chain(*corners: complex) -> tuple[Curve, ...]:
    """Straight lines from corner to corner."""
    return tuple(line(p, q) for p, q in pairwise(corners))


def length_of(curves: Iterable[Curve]) -> float:
    """Length of all of them together, mm."""
    return sum(curve.length for curve in curves)


def backwards(curves: Sequence[Curve]) -> tuple[Curve, ...]:
    """Lines joined end to end, walked the other way."""
    return tuple(each.reversed for each in reversed(curves))


def points_on(curves: Iterable[Curve], steps: int = 40) -> FloatArray:
    """(n, 2) points along lines joined end to end, x right and y down, the last end left out."""
    shares = np.arange(steps) / steps
    points = [each.at(t) for each in curves for t in (shares if each.handles else shares[:1])]
    return np.array([(point.real, point.imag) for point in points])


def solve(length: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """The measure between `low` and `high` at which a growing `length` is as wanted (bisection).

    Raises CannotBeDrafted where none is.
    """
    if not length(low) - 1e-9 <= wanted <= length(high) + 1e-9:
        raise CannotBeDrafted(
            f"a line of {wanted:.0f} mm is wanted where only {length(low):.0f} to "
            f"{length(high):.0f} mm can be drawn",
            "Check the measures, one against the other",
        )
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if length(middle) < wanted else (low, middle)
    return low
