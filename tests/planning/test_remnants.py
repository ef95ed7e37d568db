"""Which pieces from which remnant: cases whose answers geometry gives, laid and judged."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from shapely.geometry import Polygon

from marker.cloth.fabric import Cloth, Nap
from marker.cloth.stock import Remnant
from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.job import Job
from marker.judge import Code, findings_together
from marker.layout import CheckedLayout
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.planning.events import unheard
from marker.planning.limits import SearchLimits
from marker.planning.remnants import lay_on_remnants
from marker.planning.tasks import loads
from tests.helpers import SIZE
from tests.shapes import polygon, rectangle

CORNER = polygon((0, 0), (400, 0), (0, 300))
TURNED = polygon((0, 300), (400, 0), (400, 300))
OTHER_HAND = polygon((0, 0), (400, 300), (0, 300))
ELL = polygon((0, 0), (300, 0), (300, 150), (150, 150), (150, 300), (0, 300))
SPOT = rectangle(20, 20) + np.array([140.0, 40.0])

Cut = tuple[FloatArray, int]
Cloths = tuple[FloatArray | tuple[FloatArray, FloatArray], ...]


@dataclass(frozen=True)
class Case:
    """Outlines with their number, remnants (with a hole), and what is right: "fits", or why not."""

    cuts: tuple[Cut, ...]
    remnants: Cloths
    answer: str
    turns: tuple[float, ...] = (0.0, 180.0)
    nap: Nap = Nap.EITHER_WAY
    gap: float = 0.0
    pair: bool = False


def one(along: float, across: float, count: int = 1) -> Cut:
    return rectangle(along, across), count


CASES = {
    "a square on its like": Case((one(200, 200),), (rectangle(200, 200),), "fits"),
    "a square a hair too large": Case(
        (one(200.1, 200.1),), (rectangle(200, 200),), "more cloth|m², the remnants"
    ),
    "too long, though it has the area": Case(
        (one(300, 100),), (rectangle(200, 200),), "fits none of them"
    ),
    "two side by side": Case((one(200, 100, 2),), (rectangle(200, 200),), "fits"),
    "three of two": Case((one(200, 100, 3),), (rectangle(200, 200),), "600 cm²"),
    "each its own remnant": Case(
        (one(200, 100), one(100, 100)), (rectangle(100, 100), rectangle(200, 100)), "fits"
    ),
    "one on each": Case((one(100, 100, 2),), (rectangle(150, 150), rectangle(150, 150)), "fits"),
    "three on two that hold one": Case(
        (one(100, 100, 3),), (rectangle(150, 150), rectangle(150, 150)), "leaves one over"
    ),
    "both arms of an ell": Case((one(300, 150), one(150, 150)), (ELL,), "fits"),
    "larger than the arms": Case((one(200, 200),), (ELL,), "fits none of them"),
    "either side of a hole": Case((one(140, 100, 2),), ((rectangle(300, 100), SPOT),), "fits"),
    "over a hole wherever it lies": Case(
        (one(200, 100),), ((rectangle(300, 100), SPOT),), "fits none of them"
    ),
    "a corner in a corner": Case(((CORNER, 1),), (CORNER,), "fits"),
    "a corner in a turned one": Case(((CORNER, 1),), (TURNED,), "fits"),
    "it may not turn": Case(((CORNER, 1),), (TURNED,), "fits none of them", turns=(0.0,)),
    "the nap forbids the turn": Case(
        ((CORNER, 1),), (TURNED,), "fits none of them", nap=Nap.ONE_WAY
    ),
    "a pair on a remnant of each hand": Case(
        ((CORNER, 2),), (CORNER, OTHER_HAND), "fits", pair=True
    ),
    "a pair on two of one hand": Case(
        ((CORNER, 2),), (CORNER, CORNER), "fits none of them", pair=True
    ),
    "the gap kept": Case((one(100, 100, 2),), (rectangle(205, 100),), "fits", gap=5.0),
    "no room for the gap": Case(
        (one(100, 100, 2),), (rectangle(204, 100),), "leaves one over", gap=5.0
    ),
    "across the grain": Case((one(300, 100),), (rectangle(100, 300),), "fits none of them"),
    "a quarter turn allowed": Case(
        (one(300, 100),), (rectangle(100, 300),), "fits", turns=(0.0, 90.0)
    ),
    "one way to share four kinds out": Case(
        (one(200, 200), one(300, 100, 2), one(100, 100)),
        (rectangle(200, 200), rectangle(100, 100), rectangle(300, 200)),
        "fits",
    ),
    "the fullest remnant is no trap": Case(
        (one(150, 100, 2), one(200, 100)), (rectangle(200, 100), rectangle(300, 100)), "fits"
    ),
}


def job_of(case: Case) -> Job:
    pieces = tuple(
        Piece(f"piece {k}", "jersey", outline, cut=count, grain_deg=0, turns=case.turns,
              pair=case.pair)
        for k, (outline, count) in enumerate(case.cuts)
    )  # fmt: skip
    remnants = []
    for k, each in enumerate(case.remnants):
        outline, holes = each if isinstance(each, tuple) else (each, None)
        remnants.append(Remnant(f"remnant {k}", outline, () if holes is None else (holes,)))
    widest = max(remnant.across_mm for remnant in remnants)
    on = Cloth("jersey", widest, nap=case.nap, gap_mm=case.gap, remnants=tuple(remnants))
    return Job("choir dress", SIZE, (Pattern(SIZE, pieces),), (on,), {SIZE: 1})


def laid(job: Job) -> tuple[CheckedLayout, ...]:
    (load,) = loads(job)
    return lay_on_remnants(load, SearchLimits(iterations=6, workers=1), unheard)


@pytest.mark.parametrize("name", CASES)
def test_fits_or_not_is_answered(name: str) -> None:
    case = CASES[name]
    if case.answer != "fits":
        with pytest.raises(CannotBeDone, match=case.answer):
            laid(job_of(case))
        return
    layouts = laid(job_of(case))
    placed = 0
    for checked in layouts:
        remnant = checked.layout.cloth.remnant
        assert remnant is not None
        cloth = Polygon(remnant.outline, remnant.holes).buffer(0.021)
        placed += len(checked.layout.placements)
        assert all(cloth.contains(Polygon(p.outline_mm)) for p in checked.layout.placements)
    assert placed == sum(count for _, count in case.cuts)


def test_the_judge_sees_what_reaches_off_a_remnant_or_is_missing() -> None:
    job = job_of(CASES["both arms of an ell"])
    (checked,) = laid(job)
    cut = job.cut_pieces(job.cloths[0])
    smaller = Remnant("remnant 0", ELL * [1.0, 0.9])
    on = replace(checked.layout, cloth=job.cloths[0].on(smaller))
    assert Code.OFF_CLOTH in {found.code for found in findings_together([on], cut, [SIZE])}
    spotted = Remnant("remnant 0", ELL, (rectangle(10, 10) + 20.0,))
    on = replace(checked.layout, cloth=job.cloths[0].on(spotted))
    assert {found.code for found in findings_together([on], cut, [SIZE])} == {Code.OFF_CLOTH}
    fewer = replace(checked.layout, placements=checked.layout.placements[:1])
    assert Code.MISSING in {found.code for found in findings_together([fewer], cut, [SIZE])}
