"""What front and back of a garment share: neck, shoulder and armhole, the centre line at x = 0.

The neck's width is a fifth of its girth (after W. Aldrich, Metric Pattern Cutting, from memory).
The armhole's depth below the nape is a tenth of the bust and 105 mm (after the proportional system
of M. Müller & Sohn, from memory). Curves, slopes and what a style adds are common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from marker.blocks.body import Body
from marker.blocks.curve import ACROSS, CLOCKWISE, Curve, curve, line, solve, toward
from marker.blocks.garment import FOLD, Draft, back_notch, front_notch, opening, seam
from marker.pattern.seams.sewing import Opening, Seam, Side, Spot

METHOD = (
    "a flat block: neck width a fifth of its girth (Aldrich), armhole depth a tenth of the bust "
    "and 105 mm (Müller & Sohn), both from memory; the rest common practice, no source"
)
NAPE_MM = 20.0  # the nape lies so far below the neck end of the shoulder


def neck_width(body: Body) -> float:
    """Half the width of the neck where it meets the shoulders."""
    return body.neck / 5


def armhole_depth(body: Body) -> float:
    """From the neck end of the shoulder down to the underarm, for a close garment."""
    return body.bust / 10 + 105 + NAPE_MM


@dataclass(frozen=True)
class Torso:
    """Neck point, shoulder and underarm; lengths in mm.

    neck_width : half of it. shoulder : length of the seam, which falls by `slope_deg`.
    underarm : x a quarter of the girth.
    """

    neck_width: float
    shoulder: float
    underarm: complex
    slope_deg: float = 20.0

    @property
    def slope(self) -> complex:
        """Direction of the shoulder, away from the neck."""
        return toward(self.slope_deg)

    @property
    def neck_point(self) -> complex:
        """Neck end of the shoulder."""
        return complex(self.neck_width, 0)

    @property
    def shoulder_point(self) -> complex:
        """Other end of the shoulder."""
        return self.neck_point + self.shoulder * self.slope

    @property
    def shoulder_seam(self) -> Curve:
        """From the shoulder point to the neck."""
        return line(self.shoulder_point, self.neck_point)

    def neck(self, depth: float, middle: float = 0.0) -> Curve:
        """Round neck from the shoulder to `middle` beside the centre, square at both ends."""
        pulls = 0.6 * depth, 0.6 * (self.neck_width - middle)
        end = complex(middle, depth)
        return curve(self.neck_point, self.slope * CLOCKWISE, end, -ACROSS, pulls)

    def front_armhole(self, side: complex = 0 - 1j) -> Curve:
        """From the underarm, square to the side seam that runs up along `side`, to the shoulder."""
        return self._armhole(side, 35, 0.51)

    def back_armhole(self, side: complex = 0 - 1j) -> Curve:
        """The same, less hollow."""
        return self._armhole(side, 15, 0.46)

    def _armhole(self, side: complex, hollow: float, rise: float) -> Curve:
        away = self.underarm - self.shoulder_point
        pulls = max(away.real, 0) + hollow, rise * away.imag
        start, end = self.underarm, self.shoulder_point
        return curve(start, side / CLOCKWISE, end, self.slope / CLOCKWISE, pulls)


def neckline(head_mm: float) -> Opening:
    """The neck of a front and a back on the fold, through which a head of this girth passes."""
    centres = {
        "centre front": ("front.neck", Spot.FOLD),
        "centre back": ("back.neck", Spot.FOLD),
    }
    return opening("neckline", ("front.neck", "back.neck"), centres, head_mm)


def sleeved_seams(cap: Side | tuple[str, ...]) -> tuple[Seam, ...]:
    """All seams of a garment of front, back and sleeve. cap : the sleeve's side of the armhole."""
    return (
        seam("shoulder", "front.shoulder", "back.shoulder"),
        seam("side", "front.side", "back.side"),
        seam("armhole", ("front.armhole", "back.armhole reversed"), cap),
        seam("sleeve", "sleeve.front seam", "sleeve.back seam reversed"),
    )


def opened(around: Callable[[float], float], least_mm: float) -> float:
    """The least that a neck must be wider and deeper so that it is `least_mm` around.

    around : its girth when it is wider and deeper by so much.
    """
    return 0.0 if around(0.0) >= least_mm else solve(around, least_mm, 0.0, 200.0)


def waistline(middle: complex, side_drop: float, arriving: complex, length: float) -> Curve:
    """Waist of the given length from the centre to the side, which it meets along `arriving`."""

    def to(across: float) -> Curve:
        pull = across / 3
        side = middle + complex(across, side_drop)
        return curve(middle, ACROSS, side, arriving, (pull, pull))

    return to(solve(lambda across: to(across).length, length, 0.8 * length, length + 20))


ARMHOLE_NOTCH = 0.35  # of an armhole, from the underarm: common practice, no source


def straight_half(
    name: str, torso: Torso, hem_side: complex, neck_depth: float, slit: float = 0.0, **more: Any
) -> Draft:
    """The half on the fold, a front where its name says so: hem, side, armhole, shoulder, neck.

    hem_side : where the straight side meets the hem, which is square to it. slit : of the side, the
    length above the hem that is an edge 'slit' of its own. `more` are fields of Draft.
    """
    front = "front" in name
    side = line(hem_side, torso.underarm)
    up = side.end - side.start
    armhole = torso.front_armhole(up) if front else torso.back_armhole(up)
    neck = torso.neck(neck_depth)
    third = hem_side.real / 3
    hem = curve(1j * hem_side.imag, ACROSS, hem_side, up * CLOCKWISE, (third, third))
    edges: dict[str, tuple[Curve, ...]] = {"hem": (hem,)}
    if slit:
        low, side = side.split_at(slit)
        edges["slit"] = (low,)
    edges |= {
        "side": (side,),
        "armhole": (armhole,),
        "shoulder": (torso.shoulder_seam,),
        "neck": (neck,),
        FOLD: (line(neck.end, hem.start),),
    }
    notch = front_notch if front else back_notch
    return Draft(name, edges, notches=notch("armhole", ARMHOLE_NOTCH * armhole.length), **more)
