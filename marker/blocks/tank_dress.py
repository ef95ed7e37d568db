"""A knit dress without sleeves: bodice and A-line skirt, neck and armholes bound, maybe a belt."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from marker.blocks import options
from marker.blocks.body import CLOSE, Body
from marker.blocks.curve import CLOCKWISE, curve, line, toward
from marker.blocks.garment import (
    FOLD,
    Block,
    Draft,
    Garment,
    back_notch,
    front_notch,
    opening,
    ref,
    seam,
)
from marker.blocks.materials import knit, strip
from marker.blocks.skirts import SkirtPanel
from marker.blocks.torso import (
    ARMHOLE_NOTCH,
    METHOD,
    Torso,
    armhole_depth,
    neck_width,
    opened,
    waistline,
)
from marker.pattern.bands.strip import ByRatio, CutLength, Fold, Strip
from marker.pattern.edge import Hem, HemKind, Notch
from marker.pattern.seams.sewing import Girth, Opening, Spot

_BACK_NECK_MM = 35.0
_OVER_SHOULDER = 0.85  # of an armhole from the underarm; beyond it the binding is not stretched


@dataclass(frozen=True)
class TankDressOptions:
    """Options of the dress."""

    length: float | None = options.length(None, 250, 1200, "of the skirt, from waist to hem")
    flare: float = options.degrees(18, 0, 30, "by which the skirt's side leans out")
    neck_depth: float | None = options.length(None, 70, 300, "of the front neck")
    strap: float | None = options.length(None, 40, 130, "length of the shoulder seam")
    binding: float = options.length(12.7, 6, 25, "finished width of the bindings")
    neck_ratio: float = options.number(0.85, 0.7, 1.0, "neck binding, as a share of the neck")
    armhole_ratio: float = options.number(0.91, 0.8, 1.0, "armhole binding, as a share of it")
    belt: float = options.length(50, 0, 150, "finished depth of the belt; 0 for none")
    stretch: float = options.number(50, 20, 150, "how far the knit stretches across, in percent")


@dataclass(frozen=True)
class _Dress:
    """Measures of the dress, mm."""

    torso: Torso
    neck_depth: float
    waist: float
    bodice_length: float
    skirt: SkirtPanel

    @classmethod
    def of(cls, body: Body, chosen: TankDressOptions, wider: float) -> _Dress:
        stretch = chosen.stretch / 100
        bust, waist, hip = CLOSE.girths(body, stretch)
        waist = max(waist, 5 * math.ceil(body.shoulders / (1 + stretch) / 5))
        length = chosen.length or body.height * 3 / 7
        return cls(
            torso=Torso(
                neck_width=neck_width(body) + 17 + wider,
                shoulder=chosen.strap or 0.7 * body.shoulder,
                underarm=complex(bust / 4, armhole_depth(body) + 12),
            ),
            neck_depth=(chosen.neck_depth or body.neck / 5 + 52) + wider,
            waist=waist,
            bodice_length=body.back_length + 20,
            skirt=SkirtPanel(waist, max(hip, waist), length, body.waist_to_hip - 5, chosen.flare),
        )

    def bodice(self, name: str, neck_depth: float, binding: float) -> Draft:
        """Waist, side, armhole, shoulder, neck; the centre line is the fold."""
        torso, quarter = self.torso, self.waist / 4
        up = self.bodice_length - torso.underarm.imag
        lean = math.degrees(math.atan2(torso.underarm.real - quarter, up))
        leaving, arriving = toward(lean - 93.5), toward(lean - 87.5)
        drop = 0.31 * quarter * math.tan(math.radians(lean - 3.5))
        waist = waistline(1j * self.bodice_length, drop, leaving * CLOCKWISE, quarter)
        pull = 0.3 * up
        side = curve(waist.end, leaving, torso.underarm, arriving, (pull, pull))
        front = "front" in name
        armhole = torso.front_armhole(arriving) if front else torso.back_armhole(arriving)
        neck = torso.neck(neck_depth)
        notch = front_notch if front else back_notch
        return Draft(
            name,
            {
                "waist": (waist,),
                "side": (side,),
                "armhole": (armhole,),
                "shoulder": (torso.shoulder_seam,),
                "neck": (neck,),
                FOLD: (line(neck.end, waist.start),),
            },
            allowances={"armhole": binding, "neck": binding},
            notches=(
                Notch("side", side.length / 2),
                *notch("armhole", ARMHOLE_NOTCH * armhole.length),
            ),
        )


def _neck_mm(body: Body, chosen: TankDressOptions, wider: float) -> float:
    dress = _Dress.of(body, chosen, wider)
    torso = dress.torso
    return 2 * (torso.neck(dress.neck_depth).length + torso.neck(_BACK_NECK_MM).length)


def _wider(body: Body, chosen: TankDressOptions) -> float:
    """How much wider the neck must be for its binding to pass the head."""
    least = (body.head + 5) / (1 + chosen.stretch / 100) / min(chosen.neck_ratio, 1.0)
    return opened(lambda wider: _neck_mm(body, chosen, wider), least)


def _block(body: Body, chosen: TankDressOptions) -> Block:
    dress = _Dress.of(body, chosen, _wider(body, chosen))
    front = dress.bodice("bodice front", dress.neck_depth, chosen.binding)
    back = dress.bodice("bodice back", _BACK_NECK_MM, chosen.binding)
    panels = [dress.skirt.draft(f"skirt {side}") for side in ("front", "back")]
    hip = Notch("side", dress.skirt.hip_at_mm(panels[0]))
    hem = {"hem": Hem.usual(HemKind.TWIN_NEEDLE)}
    skirts = tuple(replace(panel, hems=hem, notches=(hip,)) for panel in panels)
    armhole_mm = min(front.length("armhole"), back.length("armhole"))
    return Block(
        pieces=(front, back, *skirts),
        cloths=(knit("jersey", chosen.stretch / 100),),
        strips=(*_bindings(chosen), *_belt(dress.waist, chosen)),
        openings=_openings(_at_shoulder(front, back), _OVER_SHOULDER * armhole_mm, body.head),
        girths=(
            Girth(
                "waist over the shoulders",
                (ref("bodice front.waist"), ref("bodice back.waist")),
                body.shoulders,
            ),
        ),
        seams=(
            seam("shoulder", "bodice front.shoulder", "bodice back.shoulder"),
            seam("bodice side", "bodice front.side", "bodice back.side"),
            seam("skirt side", "skirt front.side", "skirt back.side"),
            seam(
                "waist",
                ("bodice front.waist", "bodice back.waist"),
                ("skirt front.waist", "skirt back.waist"),
            ),
        ),
        notes={
            "belt": "two halves, joined at the centre back",
            "waist over the shoulders": "the dress has no fastening",
        },
    )


def _bindings(chosen: TankDressOptions) -> tuple[Strip, ...]:
    still = (("front shoulder", "back shoulder"),)
    return (
        strip(
            "neck binding",
            chosen.binding,
            Fold.DOUBLE,
            ByRatio(chosen.neck_ratio),
            finishes="neckline",
            unstretched=still,
        ),
        strip(
            "armhole binding",
            chosen.binding,
            Fold.DOUBLE,
            ByRatio(chosen.armhole_ratio),
            finishes="armhole",
            unstretched=still,
            cut=2,
        ),
    )


def _at_shoulder(front: Draft, back: Draft) -> float:
    """How near to a shoulder seam the neck's binding is not stretched, mm.

    In front that is up to its quarter mark, behind as far again: so no two marks come near each
    other.
    """
    return min(max((front.length("neck") - back.length("neck")) / 2, 15.0), 45.0)


def _openings(at_shoulder: float, over_shoulder: float, head: float) -> tuple[Opening, ...]:
    neck = opening(
        "neckline",
        ("bodice front.neck", "bodice back.neck"),
        {
            "centre front": ("bodice front.neck", Spot.FOLD),
            "centre back": ("bodice back.neck", Spot.FOLD),
            "front shoulder": ("bodice front.neck", at_shoulder),
            "back shoulder": ("bodice back.neck", at_shoulder),
        },
        head,
    )
    armhole = opening(
        "armhole",
        ("bodice front.armhole", "bodice back.armhole reversed"),
        {
            "under arm": ("bodice front.armhole", Spot.START),
            "front shoulder": ("bodice front.armhole", over_shoulder),
            "back shoulder": ("bodice back.armhole", over_shoulder),
        },
    )
    return neck, armhole


def _belt(waist: float, chosen: TankDressOptions) -> tuple[Strip, ...]:
    """Two halves that close over the waist and fall by 130 mm at either end."""
    if not chosen.belt:
        return ()
    half = CutLength(waist / 2 + 150)
    return (strip("belt", chosen.belt, Fold.SINGLE, half, cut=2),)


TANK_DRESS = Garment(
    name="tank dress",
    says="A knit dress without sleeves, pulled on over the head; neck and armholes are bound.",
    method=METHOD,
    measures=(
        "bust", "waist", "hip", "neck", "head", "shoulder", "shoulders", "back_length",
        "waist_to_hip", "height",
    ),
    options=TankDressOptions,
    block=_block,
)  # fmt: skip
