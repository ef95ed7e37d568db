"""A collar on a stand, the centre back on the fold (common practice, no source)."""

from __future__ import annotations

from marker.blocks.curve import ACROSS, CLOCKWISE, Curve, curve, line, solve, toward
from marker.blocks.draft import FOLD, Draft, DraftMark
from marker.pattern.edge import Notch
from marker.pattern.inner_marks import MarkKind

_COLLAR_MM, _STAND_MM = 46.0, 30.0


def collar_stand(back_neck: float, front_neck: float, band: float) -> Draft:
    """The stand: neck seam, rounded front end, collar seam; the collar ends at the centre front.

    back_neck, front_neck : half of the neck's seam, in mm. band : width of the band at the centre
    front, half of it beyond.
    """
    rising, length = toward(-8), back_neck + front_neck + band

    def neck_seam(across: float) -> Curve:
        end = complex(across, _STAND_MM - 12)
        return curve(complex(0, _STAND_MM), ACROSS, end, rising, (0.32 * length, 0.32 * length))

    neck = neck_seam(solve(lambda across: neck_seam(across).length, length, 0.7 * length, length))
    up = rising / CLOCKWISE
    centre_front = neck.end - band / 2 * rising + 0.9 * _STAND_MM * up
    end = curve(neck.end, up, centre_front, -rising, (18, 9))
    top = curve(centre_front, -rising, 0j, -ACROSS, (0.28 * length, 0.28 * length))
    button = neck.end - band / 2 * rising + 0.45 * _STAND_MM * up
    edges = {
        "neck": (neck,),
        "front": (end,),
        "collar": (top,),
        FOLD: (line(0j, neck.start),),
    }
    return Draft(
        "collar stand",
        edges,
        cut=2,
        note="outer and inner",
        notches=(Notch("neck", back_neck), Notch("collar", top.length - back_neck)),
        marks=(DraftMark(MarkKind.BUTTON, (button,), "button right, hole left"),),
    )


def collar(stand: float, back_neck: float) -> Draft:
    """The collar: seam to the stand, which is `stand` long, front edge, outer edge."""

    def seam(across: float) -> Curve:
        end = complex(across, _COLLAR_MM - 8)
        pulls = 0.35 * stand, 0.35 * stand
        return curve(complex(0, _COLLAR_MM), ACROSS, end, toward(-6), pulls)

    to_stand = seam(solve(lambda across: seam(across).length, stand, 0.7 * stand, stand))
    point = to_stand.end + complex(24, -62)
    outer = curve(point, toward(170), 0j, -ACROSS, (0.35 * stand, 0.35 * stand))
    edges = {
        "stand": (to_stand,),
        "front": (line(to_stand.end, point),),
        "outer": (outer,),
        FOLD: (line(0j, to_stand.start),),
    }
    return Draft(
        "collar", edges, cut=2, note="upper and under", notches=(Notch("stand", back_neck),)
    )
