"""Skirts on a straight waistband with a zip: A-line and gathered, and the panel of a shaped skirt.

What the hips have more than the waist is taken in at the side and in darts (after W. Aldrich's
tailored skirt, from memory). How it is shared, and how a panel flares, is common practice, no
source. The gathered skirt is two rectangles (geometry).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from marker.blocks import options
from marker.blocks.body import Body, down_to_hem
from marker.blocks.curve import ACROSS, CLOCKWISE, Curve, curve, line, toward
from marker.blocks.garment import FOLD, Block, Draft, Garment, half_rectangle, seam
from marker.blocks.materials import FUSIBLE, fusible, waist_opening, waistband, woven
from marker.blocks.torso import waistline
from marker.pattern.edge import Hem, HemKind, Notch
from marker.pattern.fullness import Dart, Gather

_WAIST_RISE = 0.44  # of what a straight side would need to meet the waist square


@dataclass(frozen=True)
class SkirtPanel:
    """Girths with their ease and lengths in mm, the flare of the side in degrees."""

    waist: float
    hip: float
    length: float
    hip_depth: float
    flare: float

    @property
    def at_waist_deg(self) -> float:
        """How far the side leans out where it leaves the waist."""
        lean = math.degrees(math.atan2((self.hip - self.waist) / 4, self.hip_depth))
        return min(lean, 30.0)

    def draft(self, name: str, **more: Any) -> Draft:
        """Hem, side, waist, fold at the centre; the side as long as the centre, so that it hangs
        level; the waist a quarter. `more` are fields of Draft."""
        up, at_waist = toward(-90 - self.flare), toward(-90 - self.at_waist_deg)
        rise = _WAIST_RISE * self.waist / 4 * math.tan(math.radians(self.at_waist_deg))
        middle = complex(0, rise)
        waist = waistline(middle, -rise, at_waist * CLOCKWISE, self.waist / 4)
        hip = complex(self.hip / 4, waist.end.imag + self.hip_depth)
        pull = 0.3 * self.hip_depth
        over_hip = curve(hip, up, waist.end, at_waist, (pull, pull))
        hem_side = hip - (self.length - over_hip.length) * up
        centre = line(middle, middle + self.length * 1j)
        third = hem_side.real / 3
        hem = curve(centre.end, ACROSS, hem_side, up * CLOCKWISE, (third, third))
        edges: dict[str, tuple[Curve, ...]] = {
            "hem": (hem,),
            "side": (line(hem_side, hip), over_hip),
            "waist": (waist.reversed,),
            FOLD: (centre,),
        }
        return Draft(name, edges, **more)

    def hip_at_mm(self, draft: Draft) -> float:
        """Where on its side, from the hem, the hip lies."""
        return draft.edges["side"][0].length


_AT_SIDE = 0.45  # of the difference, taken in at the side
_MORE_AT_BACK_MM = 10.0  # the back's quarter of the hips, and what its darts take in, is larger
_LEAST_DART_MM = 15.0  # less is taken in at the side
_WIDEST_DART_MM = 30.0  # more is shared by two
_TO_KNEE = 0.575  # of the way from waist to floor: common practice, no source
_FRONT_DEPTH, _BACK_DEPTH = 0.45, 0.65  # of the way to the hips


@dataclass(frozen=True)
class ALineOptions:
    """Options of the A-line skirt."""

    length: float | None = options.length(None, 300, 1200, "from the waist seam to the hem")
    flare: float = options.degrees(6, 0, 20, "by which the side leans out below the hips")
    ease: float = options.length(10, 0, 60, "of the waist seam beyond the body")
    hip_ease: float = options.length(30, 20, 150, "around the hips")
    band: float = options.length(35, 15, 80, "finished depth of the waistband")
    zip: float = options.length(200, 120, 300, "length left open below the waist, left side")


def _a_line(body: Body, chosen: ALineOptions) -> Block:
    waist, hip = body.waist + chosen.ease, max(body.hip + chosen.hip_ease, body.waist)
    more = (hip - waist) / 4
    in_darts = (1 - _AT_SIDE) * more
    length = chosen.length or down_to_hem(body, _TO_KNEE)
    shift = _MORE_AT_BACK_MM
    if in_darts - shift < _LEAST_DART_MM:
        in_darts = shift = 0.0
    pieces = tuple(
        _panel(
            SkirtPanel(
                waist + 4 * (in_darts + more_there),
                hip + 4 * more_there,
                length,
                body.waist_to_hip,
                chosen.flare,
            ),
            f"skirt {side}",
            Dart("waist", 0.0, in_darts + more_there, depth_mm=depth * body.waist_to_hip),
            min(chosen.zip, length / 2),
        )
        for side, more_there, depth in (
            ("front", -shift, _FRONT_DEPTH),
            ("back", shift, _BACK_DEPTH),
        )
    )
    return Block(
        pieces=pieces,
        cloths=(woven("wool gabardine"), fusible()),
        strips=(waistband(chosen.band, FUSIBLE),),
        openings=(waist_opening("skirt front.waist", "skirt back.waist"),),
        seams=(seam("side", "skirt front.side", "skirt back.side"),),
        notes={"side": "the upper notches end the zip at the left side"},
    )


def _panel(panel: SkirtPanel, name: str, darts: Dart, zip_mm: float) -> Draft:
    """The panel; darts : all that it takes in, as one."""
    draft = panel.draft(name, hems={"hem": Hem(HemKind.TURNED_ONCE, 40, 0)})
    hip, foot = panel.hip_at_mm(draft), draft.length("side") - zip_mm
    # a zip that ends at the hips needs no second notch there
    at = [foot] if abs(hip - foot) < 25 else sorted((hip, foot))
    notches = tuple(Notch("side", each) for each in at)
    return replace(draft, notches=notches, fullness=tuple(_shared_out(darts, draft)))


def _shared_out(darts: Dart, draft: Draft) -> Iterator[Dart]:
    """One dart or two, evenly spaced along the waist, which runs from the side to the centre."""
    intake = darts.drawn_mm
    count = 0 if intake == 0 else 1 if intake <= _WIDEST_DART_MM else 2
    for k in range(count):
        middle = draft.length("waist") * (k + 1) / (count + 1)
        half = intake / count / 2
        yield replace(darts, start_mm=middle - half, end_mm=middle + half)


A_LINE_SKIRT = Garment(
    name="a-line skirt",
    says="A skirt shaped by darts, a little wider at the hem, with a straight waistband and a zip.",
    method=(
        "the hips' quarter, less what side and darts take in (after Aldrich's tailored skirt, from "
        "memory); how that is shared is common practice, no source"
    ),
    measures=("waist", "hip", "waist_to_hip", "waist_to_floor"),
    options=ALineOptions,
    block=_a_line,
)


@dataclass(frozen=True)
class GatheredOptions:
    """Options of the gathered skirt."""

    length: float | None = options.length(None, 200, 1200, "from the waist seam to the hem")
    fullness: float = options.number(1.8, 1.2, 4.0, "skirt width, as a multiple of the waist")
    ease: float = options.length(15, 0, 100, "of the waist seam beyond the body")
    band: float = options.length(35, 15, 80, "finished depth of the waistband")
    zip: float = options.length(200, 0, 300, "length left open below the waist, at the left side")


def _gathered(body: Body, chosen: GatheredOptions) -> Block:
    waist = body.waist + chosen.ease
    around = max(chosen.fullness * waist, body.hip + 80)
    length = chosen.length or down_to_hem(body, _TO_KNEE)
    open_mm = min(chosen.zip, length / 2)
    front, back = (
        half_rectangle(
            f"skirt {side}",
            around / 2,
            length,
            hems={"bottom": Hem(HemKind.TURNED_TWICE, 40, 10)},
            notches=(Notch("right", length - open_mm),) if open_mm else (),
            fullness=(Gather("top", 0.0, around / 4, into_mm=waist / 4),),
        )
        for side in ("front", "back")
    )
    return Block(
        pieces=(front, back),
        cloths=(woven("cotton lawn"), fusible()),
        strips=(waistband(chosen.band, FUSIBLE),),
        openings=(waist_opening("skirt front.top", "skirt back.top"),),
        seams=(seam("side", "skirt front.right", "skirt back.right"),),
        notes={"side": "notches end the zip at the left side"},
    )


GATHERED_SKIRT = Garment(
    name="gathered skirt",
    says="Two rectangles gathered onto a straight waistband, with a zip at the left side.",
    method="geometry: the skirt is so many times the waist wide, and wider than the hips",
    measures=("waist", "hip", "waist_to_floor"),
    options=GatheredOptions,
    block=_gathered,
)
