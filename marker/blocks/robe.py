"""A choir robe, pulled on over the head: a V neck with a band set in, wide sleeves, a wide hem."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from marker.blocks import options
from marker.blocks.body import Body, Ease
from marker.blocks.curve import line
from marker.blocks.garment import FOLD, SEAM_MM, Block, Draft, Garment, eased
from marker.blocks.materials import strip, woven
from marker.blocks.sleeve import Sleeve
from marker.blocks.torso import (
    ARMHOLE_NOTCH,
    METHOD,
    Torso,
    armhole_depth,
    neck_width,
    neckline,
    sleeved_seams,
    straight_half,
)
from marker.cloth.behaviour import Direction
from marker.pattern.bands.strip import Fold, Join, LiesFlat
from marker.pattern.edge import Edge, Hem, HemKind
from marker.pattern.piece import Recipe

_EASE = Ease(280, 300, 300)
_HEM = Hem(HemKind.TURNED_TWICE, 40, 10)
_BACK_NECK_MM = 20.0  # of the finished edge
_CAP_EASE_MM = 10.0
_HEAD_EASE_MM = 20.0
_LINING, _LINING_SHORTER_MM = "lining", 20.0


class Lining(StrEnum):
    """Whether the robe is lined."""

    NONE = "none"
    FULL = "full"


@dataclass(frozen=True)
class RobeOptions:
    """Options of the robe."""

    length: float | None = options.length(None, 500, 1700, "from neck and shoulder to the hem")
    sleeve_length: float | None = options.length(None, 200, 800, "from the shoulder to its hem")
    sleeve_width: float | None = options.length(None, 250, 1000, "around the sleeve's hem")
    flare: float | None = options.length(None, 0, 250, "by which each side leans out at the hem")
    neck_depth: float | None = options.length(None, 100, 350, "of the V, or more to pass the head")
    band: float = options.length(35, 15, 70, "finished width of the neck band")
    lining: Lining = options.word(Lining.NONE, "whether front, back and sleeves are lined")


@dataclass(frozen=True)
class _Neck:
    """The V neck as it is finished, and where its band is sewn on; mm.

    half_width, depth : of the finished edge. band : finished width of the band outside it.
    """

    half_width: float
    depth: float
    band: float

    @classmethod
    def of(cls, body: Body, chosen: RobeOptions) -> _Neck:
        """So deep at least that the head passes."""
        half_width = neck_width(body) + 15
        back = Torso(half_width, body.shoulder, 0j).neck(_BACK_NECK_MM).length
        side = (body.head + _HEAD_EASE_MM) / 2 - back
        needed = math.sqrt(max(side**2 - half_width**2, 0.0))
        return cls(
            half_width, max(chosen.neck_depth or 0.45 * body.back_length, needed), chosen.band
        )

    @property
    def _side(self) -> float:
        return math.hypot(self.half_width, self.depth)

    @property
    def seam_width(self) -> float:
        """Half the width at the shoulder of the line so far outside the V (geometry)."""
        return self.half_width + self.band * self._side / self.depth

    @property
    def seam_depth(self) -> float:
        """Where that line meets the centre (geometry)."""
        return self.depth + self.band * self._side / self.half_width


def _torso(body: Body, neck: _Neck) -> Torso:
    bust, _, _ = _EASE.girths(body)
    return Torso(
        neck_width=neck.seam_width,
        shoulder=body.shoulder + 25 - (neck.seam_width - neck.half_width),
        underarm=complex(bust / 4, armhole_depth(body) + 45),
        slope_deg=18,
    )


def _front(torso: Torso, hem_side: complex, depth: float) -> Draft:
    """The front, its neck straight from the shoulder to the centre."""
    round_neck = straight_half("front", torso, hem_side, depth, hems={"hem": _HEM})
    point = 1j * depth
    edges = dict(round_neck.edges) | {
        "neck": (line(torso.neck_point, point),),
        FOLD: (line(point, 1j * hem_side.imag),),
    }
    return replace(round_neck, edges=edges)


def _lining() -> tuple[Recipe, ...]:
    """The same pieces again, a little shorter at the hems (common practice, no source)."""
    hemmed = Edge(0, 0, hem=Hem(HemKind.TURNED_TWICE, 15, 10))
    return tuple(
        Recipe(
            f"{piece} lining",
            _LINING,
            piece,
            trims_mm={edge: _LINING_SHORTER_MM},
            allowance_mm=SEAM_MM,
            edges={edge: hemmed},
        )
        for piece, edge in (("front", "hem"), ("back", "hem"), ("sleeve", "wrist"))
    )


def _block(body: Body, chosen: RobeOptions) -> Block:
    neck = _Neck.of(body, chosen)
    torso = _torso(body, neck)
    length = chosen.length or 0.76 * body.height
    flare = 0.07 * length if chosen.flare is None else chosen.flare
    hem_side = complex(torso.underarm.real + flare, length)
    front = _front(torso, hem_side, neck.seam_depth)
    back = straight_half("back", torso, hem_side, _BACK_NECK_MM + chosen.band, hems={"hem": _HEM})
    armholes = front.length("armhole"), back.length("armhole")
    cap = 0.2 * sum(armholes)
    sleeve_mm = max(chosen.sleeve_length or 0.95 * body.arm, cap + 60)
    wrist = chosen.sleeve_width or 1.8 * body.upper_arm
    sleeve = Sleeve(*armholes, cap, _CAP_EASE_MM, sleeve_mm, wrist)
    notches = sleeve.notches(*(ARMHOLE_NOTCH * mm for mm in armholes))
    lined = chosen.lining is Lining.FULL
    band = strip(
        "neck band",
        chosen.band,
        Fold.SINGLE,
        LiesFlat(),
        finishes="neckline",
        join_at="centre back",
        direction=Direction.BIAS,
        join=Join.STRAIGHT,
    )
    return Block(
        pieces=(front, back, sleeve.draft(hems={"wrist": _HEM}, notches=notches)),
        cloths=(woven("crepe"), woven(_LINING, 1400)) if lined else (woven("crepe"),),
        derived=_lining() if lined else (),
        strips=(band,),
        openings=(neckline(body.head),),
        seams=sleeved_seams(eased(_CAP_EASE_MM, "sleeve.front cap", "sleeve.back cap")),
        notes={"neck band": "mitred at the point of the V"},
    )


ROBE = Garment(
    name="robe",
    says="A wide choir robe with a V neck, a band set into it, and wide sleeves.",
    method=METHOD,
    measures=("bust", "neck", "head", "shoulder", "back_length", "upper_arm", "arm", "height"),
    options=RobeOptions,
    block=_block,
)
