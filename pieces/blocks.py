"""Blocks that more than one garment is drafted from."""

from __future__ import annotations

from dataclasses import dataclass

from drafting import ACROSS, CLOCKWISE, Draft, Edge, curve, line, polygon, solve, toward


def waistline(middle: complex, side_drop: float, arriving: complex, length: float) -> Edge:
    """Waist of the given length from the fold to the side, which it meets along `arriving`."""

    def to(across: float) -> Edge:
        side = middle + complex(across, side_drop)
        return curve(middle, ACROSS, side, arriving, (60, 60))

    return to(solve(lambda across: to(across).length, length, 150, 250))


@dataclass(frozen=True)
class Skirt:
    """A-line skirt: girths with their ease and lengths in mm, angles of the side in degrees."""

    waist: float
    hip: float
    length: float
    hip_depth: float
    flare: float
    waist_slope: float
    waist_rise: float

    def draft(self, name: str) -> Draft:
        """Hem, side up to the hip, side on to the waist, waist; side as long as the centre."""
        up, at_waist = toward(-90 - self.flare), toward(-90 - self.waist_slope)
        middle = complex(0, self.waist_rise)
        waist = waistline(middle, -self.waist_rise, at_waist * CLOCKWISE, self.waist / 4)
        hip = complex(self.hip / 4, waist.end.imag + self.hip_depth)
        over_hip = curve(hip, up, waist.end, at_waist, (60, 60))
        hem_side = hip - (self.length - over_hip.length) * up
        centre = line(middle, middle + self.length * 1j)
        third = hem_side.real / 3
        hem = curve(centre.end, ACROSS, hem_side, up * CLOCKWISE, (third, third))
        return Draft(name, (hem, line(hem_side, hip), over_hip, waist.reversed, centre))


def rectangle(name: str, width: float, height: float) -> Draft:
    """Bottom, right, top, left."""
    return polygon(name, complex(0, height), complex(width, height), complex(width, 0), 0)
