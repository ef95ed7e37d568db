"""Strips that finish openings or are cut by length."""

from __future__ import annotations

from typing import Any

from marker.blocks.cloths import TRIM_MM
from marker.blocks.draft import ref
from marker.cloth.behaviour import Direction
from marker.pattern.bands.strip import (
    Fold,
    Interfacing,
    Lap,
    LapKind,
    Length,
    Lies,
    ShorterBy,
    Strip,
    cut_width_mm,
)
from marker.pattern.seams.sewing import Opening, Place, Spot

_SEAM_MM = 10.0
_UNDERLAP_MM = 30.0  # for a hook or a button: common practice, no source


def strip(name: str, finished_mm: float, fold: Fold, length: Length, **more: Any) -> Strip:
    """A strip that is so wide when finished, 10 mm of seam allowance at its edges; `more` are
    fields of Strip."""
    width = cut_width_mm(finished_mm, fold, _SEAM_MM)
    cloth = more.pop("cloth", "")
    return Strip(name, cloth, width, length, fold=fold, finished_mm=finished_mm, **more)


def waistband(finished_mm: float, interfacing: str) -> Strip:
    """A straight band that stands on the opening 'waist' and underlaps at its end; interfacing :
    name of that cloth."""
    return strip(
        "waistband",
        finished_mm,
        Fold.SINGLE,
        ShorterBy(0.0),
        finishes="waist",
        direction=Direction.LENGTHGRAIN,
        lies=Lies.STANDING,
        end_lap=Lap(LapKind.UNDER, _UNDERLAP_MM),
        interfacing=Interfacing(interfacing, TRIM_MM),
    )


def waist_opening(*edges: str) -> Opening:
    """The waist from one end of its zip to the other; a middle on the fold is a centre."""
    refs = tuple(map(ref, edges))
    centres = (each for each in refs if each.piece.startswith("skirt "))
    points = {f"centre {each.piece.split()[-1]}": Place(each, Spot.FOLD) for each in centres}
    return Opening("waist", refs, closed=False, points=points)
