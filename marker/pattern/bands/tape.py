"""A band for an opening that is known by its length alone, as a tape measure says it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.cloth.fabric import Cloth
from marker.pattern.bands.strip import (
    ByRatio,
    Fold,
    Lap,
    LapKind,
    Lies,
    LiesFlat,
    ShorterBy,
    Strip,
    cut_width_mm,
)
from marker.pattern.bands.strip_plan import StripPlan, strip_plans
from marker.pattern.edge import Edge, EdgeRef
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.seams.sewing import Opening

_ENDLESS_MM = 1e9


@dataclass(frozen=True)
class TapeBand:
    """What is known of a band, lengths in mm.

    opening_mm : of the stitching line. closed : it goes all round.
    length : how long it is between its joins. turn_rad : how far the opening turns, for a band that
        lies flat inside it.
    stands : it stands up from its opening. underlap_mm : what it goes on beyond the last end.
    cloth_width_mm : usable width of the cloth, None where that is not known: it is then cut in one.
    """

    opening_mm: float
    length: ByRatio | ShorterBy | LiesFlat
    finished_mm: float
    fold: Fold = Fold.SINGLE
    closed: bool = True
    turn_rad: float = 0.0
    stands: bool = False
    underlap_mm: float = 0.0
    seam_allowance_mm: float = 10.0
    join_allowance_mm: float = 10.0
    cloth_width_mm: float | None = None


def band_from_tape(tape: TapeBand) -> StripPlan:
    """How it is cut, joined and marked; raises CannotBeDone where nothing is left of it."""
    name = "opening"
    rule = tape.length
    if isinstance(rule, LiesFlat):  # L - θ·w (geometry)
        rule = ShorterBy(tape.turn_rad * tape.finished_mm)
    strip = Strip(
        name="band",
        cloth="cloth",
        width_mm=cut_width_mm(tape.finished_mm, tape.fold, tape.seam_allowance_mm),
        length=rule,
        finishes=name,
        fold=tape.fold,
        finished_mm=tape.finished_mm,
        join_allowance_mm=tape.join_allowance_mm,
        lies=Lies.STANDING if tape.stands else Lies.FLAT,
        end_lap=Lap(LapKind.UNDER, tape.underlap_mm) if tape.underlap_mm else None,
    )
    length = tape.opening_mm
    outline = np.array([[0.0, 0.0], [length, 0.0], [length, length], [0.0, length]])
    drawn = Piece(name, "cloth", outline, line=Line.STITCHING, edges={name: Edge(0, 1)})
    opening = Opening(name, (EdgeRef(name, name),), tape.closed)
    pattern = Pattern("", (drawn,), (strip,), openings=(opening,))
    (plan,) = strip_plans(pattern, [Cloth("cloth", tape.cloth_width_mm or _ENDLESS_MM)])
    return plan
