"""A woven shirt: yoke, collar on a stand, front bands, sleeves with cuffs, a pocket, a tail."""

from __future__ import annotations

from dataclasses import dataclass

from marker.blocks import options
from marker.blocks.body import Body, Ease
from marker.blocks.curve import (
    ACROSS,
    Curve,
    chain,
    curve,
    line,
    solve,
    toward,
)
from marker.blocks.garment import FOLD, Block, Draft, DraftMark, Garment, eased, seam
from marker.blocks.materials import FUSIBLE, TRIM_MM, fusible, woven
from marker.blocks.shirt_parts import (
    BAND_MM,
    CUFF_MM,
    NARROW,
    collar,
    collar_stand,
    cuff,
    front_band,
    placket,
    pocket,
    pocket_corners,
)
from marker.blocks.sleeve import Sleeve, cap_height
from marker.blocks.torso import ARMHOLE_NOTCH, METHOD, Torso, armhole_depth, neck_width
from marker.pattern.edge import Notch
from marker.pattern.fullness import Pleat
from marker.pattern.inner_marks import Hand, MarkKind
from marker.pattern.piece import Recipe

_EASE = Ease(140, 260, 80)
_BACK_NECK_MM = 22.0
_YOKE = 0.27  # of the back's length, from neck and shoulder down, in whole cm
_CAP, _CAP_EASE_MM = 0.294, 10.0  # height of the sleeve's cap at least, of the armhole
_SLEEVE_EASE_MM = 82.0  # around the upper arm
_PLEAT_MM = 20.0
_INTERFACED = {"front band": 2, "collar": 1, "collar stand": 1, "cuff": 2}  # and how many of each
_PLACKET_MM = 70.0  # from the sleeve's back seam


@dataclass(frozen=True)
class ShirtOptions:
    """Options of the shirt."""

    length: float | None = options.length(None, 400, 1100, "from neck and shoulder to the hem")
    sleeve_length: float | None = options.length(None, 250, 850, "with the cuff")
    neck_depth: float | None = options.length(None, 50, 130, "of the front neck")


@dataclass(frozen=True)
class _Body:
    """Front and back of the shirt, mm."""

    torso: Torso
    neck_depth: float
    waist: complex
    hip: complex
    length: float
    yoke: float

    @classmethod
    def of(cls, body: Body, chosen: ShirtOptions) -> _Body:
        bust, waist, hip = _EASE.girths(body)
        waist = min(waist, (bust + hip) / 2)  # it does not stand out at the waist
        down = body.back_length + 20
        hip_at = complex(hip / 4, down + body.waist_to_hip - 5)
        return cls(
            torso=Torso(
                neck_width=neck_width(body) + 1,
                shoulder=body.shoulder + 6,
                underarm=complex(bust / 4, armhole_depth(body) + 17),
                slope_deg=18,
            ),
            neck_depth=chosen.neck_depth or body.neck / 5 + 7,
            waist=complex(waist / 4, down),
            hip=hip_at,
            length=chosen.length or hip_at.imag + 100,
            yoke=10 * round(_YOKE * body.back_length / 10),
        )

    def _lower(self, middle: complex) -> dict[str, tuple[Curve, ...]]:
        """Shirt-tail hem from `middle`, and the side over the waist to the underarm."""
        rise = middle.imag - self.hip.imag
        hem = curve(middle, ACROSS, self.hip, toward(-16), (0.47 * self.hip.real, 0.9 * rise))
        to_waist = curve(self.hip, toward(-92), self.waist, toward(-91), (60, 60))
        up = toward(-84)
        pull = 0.3 * (self.waist.imag - self.torso.underarm.imag)
        to_underarm = curve(self.waist, toward(-91), self.torso.underarm, up, (pull, pull))
        return {"hem": (hem,), "side": (to_waist, to_underarm)}

    def front(self) -> Draft:
        """From the band seam to the side."""
        torso, half = self.torso, BAND_MM / 2
        neck = torso.neck(self.neck_depth, middle=half)
        armhole = torso.front_armhole(toward(-85))
        lower = self._lower(complex(half, self.length))
        edges = {
            **lower,
            "armhole": (armhole,),
            "shoulder": (torso.shoulder_seam,),
            "neck": (neck,),
            "band": chain(neck.end, complex(half, self.length)),
        }
        waist = Notch("side", lower["side"][0].length)
        return Draft(
            "front",
            edges,
            cut=2,
            pair=True,
            hems={"hem": NARROW},
            notches=(waist, Notch("armhole", ARMHOLE_NOTCH * armhole.length)),
            marks=(self._pocket_place(),),
        )

    def _pocket_place(self) -> DraftMark:
        """On the left front, its top level with the underarm."""
        at = complex(0.25 * self.torso.underarm.real, self.torso.underarm.imag - 10)
        corners = tuple(at + corner for corner in pocket_corners(self.torso.underarm.real))
        return DraftMark(MarkKind.PLACEMENT, corners, "pocket", closed=True, hand=Hand.DRAWN)

    def back_and_yoke(self) -> tuple[Draft, Draft]:
        """The back, cut apart along a level yoke seam."""
        torso = self.torso
        whole, middle = torso.back_armhole(toward(-85)), complex(0, self.length)
        lower, upper = whole.split(solve(lambda t: -whole.at(t).imag, -self.yoke, 0, 1))
        yoke_middle = complex(0, self.yoke)
        yoke_seam = line(lower.end, yoke_middle)
        neck = torso.neck(_BACK_NECK_MM)
        body = self._lower(middle)
        at = ARMHOLE_NOTCH * whole.length
        back = Draft(
            "back",
            {
                **body,
                "armhole": (lower,),
                "yoke": (yoke_seam,),
                FOLD: (line(yoke_middle, middle),),
            },
            hems={"hem": NARROW},
            notches=(
                Notch("side", body["side"][0].length),
                Notch("armhole", at),
                Notch("armhole", at + 10),
                Notch("yoke", yoke_seam.length / 2),
            ),
        )
        yoke = Draft(
            "yoke",
            {
                "back": (yoke_seam.reversed,),
                "armhole": (upper,),
                "shoulder": (torso.shoulder_seam,),
                "neck": (neck,),
                FOLD: (line(neck.end, yoke_middle),),
            },
            cut=2,
            note="outer and inner",
            notches=(Notch("back", yoke_seam.length / 2),),
        )
        return back, yoke


def _sleeve(body: Body, chosen: ShirtOptions, front: float, back: float, cuff_mm: float) -> Draft:
    cap = cap_height(front, back, body.upper_arm + _SLEEVE_EASE_MM, _CAP)
    length = (chosen.sleeve_length or body.arm) - CUFF_MM
    wrist = cuff_mm + 2 * _PLEAT_MM
    sleeve = Sleeve(front, back, cap, _CAP_EASE_MM, length, wrist)
    at = _PLACKET_MM + 25
    pleats = tuple(
        Pleat("wrist", start, start + _PLEAT_MM, length_mm=60) for start in (at, at + 2 * _PLEAT_MM)
    )
    notches = (
        *sleeve.notches(ARMHOLE_NOTCH * front, ARMHOLE_NOTCH * back),
        Notch("wrist", _PLACKET_MM, "placket"),
    )
    return sleeve.draft(notches=notches, fullness=pleats, note="slit 120 mm up from the placket")


def _block(body: Body, chosen: ShirtOptions) -> Block:
    shirt = _Body.of(body, chosen)
    front = shirt.front()
    back, yoke = shirt.back_and_yoke()
    cuff_mm = body.wrist + 85
    armhole = back.length("armhole") + yoke.length("armhole")
    sleeve = _sleeve(body, chosen, front.length("armhole"), armhole, cuff_mm)
    shoulder = yoke.length("neck")
    stand = collar_stand(shoulder, front.length("neck"), BAND_MM)
    pieces = (
        front,
        back,
        sleeve,
        front_band(front.length("band")),
        yoke,
        collar(stand.length("collar"), shoulder),
        stand,
        cuff(cuff_mm),
        placket(),
        pocket(shirt.torso.underarm.real),
    )
    return Block(
        pieces=pieces,
        cloths=(woven("poplin"), fusible()),
        derived=tuple(
            Recipe(f"{name} interfacing", FUSIBLE, name, True, TRIM_MM, cut=count)
            for name, count in _INTERFACED.items()
        ),
        seams=(
            seam("shoulder", "front.shoulder", "yoke.shoulder"),
            seam("back yoke", "back.yoke", "yoke.back"),
            seam("side", "front.side", "back.side"),
            seam("front band", "front.band", "front band.front reversed"),
            seam(
                "armhole",
                ("front.armhole", "yoke.armhole reversed", "back.armhole reversed"),
                eased(_CAP_EASE_MM, "sleeve.front cap", "sleeve.back cap"),
            ),
            seam("sleeve", "sleeve.front seam", "sleeve.back seam reversed"),
            seam("cuff", "cuff.sleeve", "sleeve.wrist"),
            seam(
                "neck",
                (
                    "front band.neck", "front.neck reversed", "yoke.neck", "front.neck",
                    "front band.neck",
                ),
                "collar stand.neck",
            ),
            seam("collar", "collar stand.collar", "collar.stand"),
        ),
    )  # fmt: skip


SHIRT = Garment(
    name="shirt",
    says="A woven shirt with a yoke, a collar on a stand, cuffs and a curved tail.",
    method=METHOD,
    measures=(
        "bust", "waist", "hip", "neck", "shoulder", "back_length", "waist_to_hip", "arm", "wrist",
    ),
    options=ShirtOptions,
    block=_block,
)  # fmt: skip
