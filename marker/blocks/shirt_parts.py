"""Parts of a shirt: collar, front band, cuff, placket, pocket (common practice, no source)."""

from __future__ import annotations

from marker.blocks.curve import ACROSS, CLOCKWISE, Curve, chain, curve, line, solve, toward
from marker.blocks.garment import FOLD, Draft, DraftMark
from marker.pattern.edge import Hem, HemKind, Notch
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


BAND_MM = 30.0
"""Finished width of the front band; half of it lies beyond the centre front."""

CUFF_MM = 60.0
NARROW = Hem(HemKind.TURNED_TWICE, 7, 7)
_BUTTONS = 6


def pocket_corners(quarter: float) -> tuple[complex, ...]:
    """Top left, bottom left, point, bottom right, top right."""
    wide = min(max(30 * round(0.47 * quarter / 30), 90), 150)
    high = 1.08 * wide
    return 0j, 1j * high, complex(wide / 2, 1.15 * high), complex(wide, high), complex(wide)


def pocket(quarter: float) -> Draft:
    """A patch pocket for a front so wide at the underarm."""
    corners = pocket_corners(quarter)
    edges = {"side": chain(*corners), "opening": chain(corners[-1], corners[0])}
    return Draft("pocket", edges, hems={"opening": Hem(HemKind.TURNED_TWICE, 20, 10)})


def front_band(length: float) -> Draft:
    """Folded lengthwise; its neck edge is the outer half's. Buttons along its middle."""
    foot, across = complex(0, length), 2 * BAND_MM
    edges = {
        "hem": chain(foot, foot + across),
        "front": chain(foot + across, complex(across)),
        "neck": chain(complex(across), complex(BAND_MM)),
        "inner": chain(complex(BAND_MM), 0j, foot),
    }
    first, last = (complex(1.5 * BAND_MM, at) for at in (60, length - 110))
    buttons = DraftMark(MarkKind.BUTTON, (first, last), "buttons right, holes left", count=_BUTTONS)
    return Draft(
        "front band",
        edges,
        cut=2,
        note="folded lengthwise; its neck edge is the outer half",
        hems={"hem": NARROW},
        marks=(buttons,),
    )


def cuff(length: float) -> Draft:
    """Left end, rounded corners, right end, seam to the sleeve; a button at one end and a hole at
    the other."""
    round_by, deep = 20.0, CUFF_MM
    left, right = complex(0, deep - round_by), complex(length, deep - round_by)
    bottom = line(complex(round_by, deep), complex(length - round_by, deep))
    pulls = (0.55 * round_by, 0.55 * round_by)
    around = (
        line(0j, left),
        curve(left, CLOCKWISE, bottom.start, ACROSS, pulls),
        bottom,
        curve(bottom.end, ACROSS, right, -CLOCKWISE, pulls),
        line(right, complex(length)),
    )
    middle = deep / 2 * 1j
    marks = (
        DraftMark(MarkKind.BUTTON, (12 + middle,)),
        DraftMark(MarkKind.BUTTONHOLE, (complex(length - 14) + middle,), length_mm=14),
    )
    edges = {"around": around, "sleeve": chain(complex(length), 0j)}
    return Draft("cuff", edges, cut=4, note="outer and inner", marks=marks)


def placket() -> Draft:
    """The strip that binds the sleeve's slit, its head pointed."""
    edge = chain(0 + 180j, 75 + 180j, 75 + 45j, 42 + 45j, 42 + 18j, 21 + 0j, 0 + 18j, 0 + 180j)
    return Draft("sleeve placket", {"edge": edge}, cut=2, pair=True)
