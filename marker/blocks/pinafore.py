"""A pinafore: bodice with facings, waistband, A-line skirt, patch pockets and two straps."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from marker.blocks import options
from marker.blocks.body import Body, Ease
from marker.blocks.curve import (
    ACROSS,
    CLOCKWISE,
    Curve,
    chain,
    curve,
    line,
    points_on,
    toward,
)
from marker.blocks.garment import (
    FOLD,
    Block,
    Draft,
    DraftMark,
    Garment,
    back_notch,
    front_notch,
    rectangle,
    seam,
)
from marker.blocks.materials import woven
from marker.blocks.skirts import SkirtPanel
from marker.blocks.torso import neck_width, waistline
from marker.cloth.fabric import Nap
from marker.pattern.edge import Hem, HemKind, Notch
from marker.pattern.inner_marks import MarkKind

_EASE = Ease(60, 60, 60)
_ZIP_MM = 180.0  # that the left side is open below the waist
_FACING_SIDE_MM = 45.0
_BAND_MM = 45.0
_NOTCH = 0.45  # of an armhole, from the underarm
_STRAP_WIDTH_MM = 30.0


@dataclass(frozen=True)
class PinaforeOptions:
    """Options of the pinafore."""

    length: float | None = options.length(None, 250, 1200, "of the skirt, from waist to hem")
    flare: float = options.degrees(9.5, 0, 25, "by which the skirt's side leans out")
    front_height: float | None = options.length(None, 150, 400, "of the bodice at centre front")
    strap: float | None = options.length(None, 200, 800, "length of each strap")


@dataclass(frozen=True)
class _Half:
    """One half of the bodice, above a waist at y = 0; lengths in mm."""

    name: str
    quarter_waist: float
    side_top: complex
    top: complex

    @property
    def notches(self) -> tuple[Notch, ...]:
        """Of bodice and facing alike: the armhole's, and the middle of a strap."""
        notch = front_notch if self.name == "front" else back_notch
        strap = Notch("top", _STRAP_WIDTH_MM / 2 + 3)
        return *notch("armhole", _NOTCH * self.armhole.length), strap

    @property
    def lean(self) -> float:
        """How far the side leans out, degrees."""
        return math.degrees(
            math.atan2(self.side_top.real - self.quarter_waist, -self.side_top.imag)
        )

    @property
    def at_top(self) -> complex:
        """Direction of the side where it ends."""
        return toward(-90 + self.lean + 4)

    @property
    def waist(self) -> Curve:
        leaving = toward(-90 + self.lean - 6)
        drop = 0.25 * self.quarter_waist * math.tan(math.radians(self.lean - 6))
        return waistline(0j, drop, leaving * CLOCKWISE, self.quarter_waist)

    @property
    def side(self) -> Curve:
        pull = -0.36 * self.side_top.imag
        leaving = toward(-90 + self.lean - 6)
        return curve(self.waist.end, leaving, self.side_top, self.at_top, (pull, pull))

    @property
    def armhole(self) -> Curve:
        across, up = self.side_top - self.top.real, self.side_top.imag - self.top.imag
        pulls = 0.6 * across.real, 0.65 * up
        return curve(self.side_top, self.at_top / CLOCKWISE, self.top, toward(-94), pulls)

    @property
    def upper(self) -> Curve:
        """The top edge, from the strap to the centre."""
        middle = complex(0, self.top.imag + 0.11 * self.top.real)
        pull = 0.27 * self.top.real
        return curve(self.top, toward(176), middle, -ACROSS, (pull, pull))

    def bodice(self) -> Draft:
        """Waist, side, armhole, top, fold."""
        edges = {
            "waist": (self.waist,),
            "side": (self.side,),
            "armhole": (self.armhole,),
            "top": (self.upper,),
            FOLD: (line(self.upper.end, self.waist.start),),
        }
        return Draft(
            f"bodice {self.name}",
            edges,
            note="the notch at the top is the middle of a strap",
            notches=(Notch("side", self.side.length / 2), *self.notches),
        )

    def facing(self) -> Draft:
        """Lower edge, head of the side, armhole, top, fold: it fits the bodice exactly."""
        head = self.side.split_at(self.side.length - _FACING_SIDE_MM)[1]
        middle = complex(0, 0.61 * self.side_top.imag + 0.2 * self.top.imag)
        pulls = 0.38 * head.start.real, 0.28 * head.start.real
        lower = curve(middle, ACROSS, head.start, self.at_top * CLOCKWISE, pulls)
        edges = {
            "lower": (lower,),
            "side": (head,),
            "armhole": (self.armhole,),
            "top": (self.upper,),
            FOLD: (line(self.upper.end, middle),),
        }
        return Draft(f"{self.name} facing", edges, notches=self.notches)


def _halves(body: Body, chosen: PinaforeOptions) -> tuple[_Half, _Half]:
    bust, waist, _ = _EASE.girths(body)
    side_top = complex(bust / 4, -0.33 * body.back_length)
    height = chosen.front_height or 0.66 * body.back_length
    base = neck_width(body)
    return (
        _Half("front", waist / 4, side_top, complex(base + 0.3 * body.shoulder, -height)),
        _Half(
            "back",
            waist / 4,
            side_top,
            complex(base + 0.1 * body.shoulder, -0.82 * height),
        ),
    )


def _pocket(scale: float) -> Draft:
    """Patch with a slanting, curved opening: bottom, side, opening, top, inner edge."""
    foot, low, high = scale * (150 + 180j), scale * (150 + 80j), scale * 80
    opening = curve(low, toward(190), complex(high), toward(-100), (40 * scale, 45 * scale))
    return Draft(
        "pocket",
        {
            "bottom": chain(180j * scale, foot),
            "side": chain(foot, low),
            "opening": (opening,),
            "top": chain(complex(high), 0j),
            "inner": chain(0j, 180j * scale),
        },
        cut=2,
        pair=True,
        hems={"opening": Hem(HemKind.TURNED_ONCE, 15, 0)},
    )


def _skirts(body: Body, chosen: PinaforeOptions, pocket: Draft) -> tuple[Draft, Draft]:
    _, waist, hip = _EASE.girths(body)
    length = chosen.length or 0.345 * body.height
    panel = SkirtPanel(waist, max(hip, waist), length, body.waist_to_hip - 5, chosen.flare)
    front, back = (
        panel.draft(f"skirt {side}", hems={"hem": Hem(HemKind.TURNED_ONCE, 40, 0)})
        for side in ("front", "back")
    )
    zip_foot = Notch("side", front.length("side") - _ZIP_MM)
    at = complex(0.26 * hip / 4, 0.4 * body.waist_to_hip + front.corner.imag + 20)
    place = tuple(complex(x, y) + at for x, y in points_on(pocket.outline, 6))
    mark = DraftMark(MarkKind.PLACEMENT, place, "pocket", closed=True)
    return replace(front, notches=(zip_foot,), marks=(mark,)), replace(back, notches=(zip_foot,))


def _block(body: Body, chosen: PinaforeOptions) -> Block:
    front, back = _halves(body, chosen)
    _, _, hip = _EASE.girths(body)
    pocket = _pocket(min(hip / 1020, 1.2))
    band = rectangle("waistband", front.quarter_waist, _BAND_MM, cut=4)
    edges = {"skirt": band.edges["bottom"], "side": band.edges["right"],
             "bodice": band.edges["top"], FOLD: band.edges["left"]}  # fmt: skip
    waistband = replace(band, edges=edges, note="outer and inner, front and back")
    strap_mm = chosen.strap or 1.15 * body.back_length
    strap = rectangle(
        "strap", 2 * _STRAP_WIDTH_MM, strap_mm, cut=2, note="folded lengthwise, its ends sewn down"
    )
    skirts = _skirts(body, chosen, pocket)
    return Block(
        pieces=(
            front.bodice(), back.bodice(), front.facing(), back.facing(),
            waistband, pocket, *skirts, strap,
        ),
        cloths=(woven("corduroy", 1400, Nap.ONE_WAY),),
        seams=(
            seam("bodice side", "bodice front.side", "bodice back.side"),
            seam("skirt side", "skirt front.side", "skirt back.side"),
            seam(
                "waist",
                ("waistband.bodice", "waistband.bodice"),
                ("bodice front.waist", "bodice back.waist"),
                ("skirt front.waist", "skirt back.waist"),
            ),
            seam(
                "waistband to skirt",
                ("waistband.skirt", "waistband.skirt"),
                ("skirt front.waist", "skirt back.waist"),
            ),
            seam(
                "front facing",
                ("bodice front.armhole", "bodice front.top"),
                ("front facing.armhole", "front facing.top"),
            ),
            seam(
                "back facing",
                ("bodice back.armhole", "bodice back.top"),
                ("back facing.armhole", "back facing.top"),
            ),
            seam("facing side", "front facing.side", "back facing.side"),
        ),
        notes={
            "skirt side": "the left side is open above the notch, with bodice and band, for a zip"
        },
    )  # fmt: skip


PINAFORE = Garment(
    name="pinafore",
    says="A pinafore with a faced bodice, a waistband, an A-line skirt, pockets and two straps.",
    method="common practice, no source: shares of the body's measures, and lines that are sewn "
    "together made equal",
    measures=(
        "bust", "waist", "hip", "neck", "shoulder", "back_length", "waist_to_hip", "height",
    ),
    options=PinaforeOptions,
    block=_block,
)  # fmt: skip
