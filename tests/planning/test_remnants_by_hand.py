"""Pieces on remnants moved by hand: also from one to another, and never off what there is."""

from __future__ import annotations

import numpy as np
import pytest

from marker.cloth.fabric import Cloth, Nap
from marker.cloth.stock import Remnant, side_by_side
from marker.errors import CannotBeDone
from marker.job import Job
from marker.layout import CheckedLayout, Ending, PieceKey
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.planning.by_hand import LayoutByHand, by_hand, task_by_hand
from marker.planning.events import unheard
from marker.planning.limits import SearchLimits
from marker.planning.remnants import lay_on_remnants
from marker.planning.tasks import loads
from tests.helpers import SIZE
from tests.shapes import polygon, rectangle

ELL = polygon((0, 0), (400, 0), (400, 150), (150, 150), (150, 400), (0, 400))
HOLE = rectangle(20, 20) + np.array([340.0, 100.0])
REMNANTS = (
    Remnant("ell", ELL, (HOLE,)),
    Remnant("end", rectangle(260, 200)),
    Remnant("long", rectangle(500, 120)),
)
PIECES = (
    Piece("arm", "jersey", rectangle(250, 90), cut=2, grain_deg=0),
    Piece("tab", "jersey", rectangle(90, 60), cut=2, grain_deg=0),
    Piece("gusset", "jersey", polygon((0, 0), (140, 0), (20, 100)), cut=2, pair=True, grain_deg=0),
)
FEW = SearchLimits(iterations=4, workers=1)


def job(*pieces: Piece, nap: Nap = Nap.EITHER_WAY, gap: float = 0.0) -> Job:
    on = Cloth("jersey", 400.0, nap=nap, gap_mm=gap, remnants=REMNANTS)
    return Job("choir dress", SIZE, (Pattern(SIZE, pieces),), (on,), {SIZE: 1})


def laid(given: Job) -> LayoutByHand:
    (load,) = loads(given)
    layouts = [each.layout for each in lay_on_remnants(load, FEW, unheard)]
    return by_hand(task_by_hand(load), layouts)


def key(piece: str, copy: int = 1) -> PieceKey:
    return PieceKey(piece, SIZE, 1, copy)


def lies_on(every: tuple[CheckedLayout, ...], which: PieceKey) -> tuple[str, float, float]:
    """The remnant of a piece, and the corner of its box there."""
    for checked in every:
        for place in checked.layout.placements:
            if place.key == which:
                remnant = checked.layout.cloth.remnant
                assert remnant is not None
                x, y = place.outline_mm.min(axis=0)
                return remnant.name, float(x), float(y)
    raise AssertionError(f"{which} is nowhere")


def towards(hand: LayoutByHand, which: PieceKey, name: str, x: float, y: float) -> LayoutByHand:
    """The piece wished at a place of a remnant."""
    starts = dict(
        zip([each.name for each in REMNANTS], side_by_side(REMNANTS, hand.task.cloth.gap_mm),
            strict=True)
    )  # fmt: skip
    on, now_x, now_y = lies_on(hand.checked(), which)
    return hand.slid(which, x - now_x, y + starts[name] - now_y - starts[on])


def test_layouts_lie_as_they_lay() -> None:
    given = job(*PIECES)
    (load,) = loads(given)
    before = [each.layout for each in lay_on_remnants(load, FEW, unheard)]
    after = [each.layout for each in by_hand(task_by_hand(load), before).checked()]
    assert [each.cloth.remnant for each in after] == [each.cloth.remnant for each in before]
    for one, other in zip(before, after, strict=True):
        assert other.length_mm == pytest.approx(one.length_mm, abs=0.01)
        assert other.length_lower_bound_mm == one.length_lower_bound_mm
        assert other.stopped_because is one.stopped_because
        assert {each.key for each in one.placements} == {each.key for each in other.placements}


TAB = Piece("tab", "jersey", rectangle(90, 60), grain_deg=0)
WISHES = {
    "a free place of another": ("end", (165, 138), ("end", 165, 138)),
    "beyond its end": ("long", (900, 30), ("long", 410, 30)),
    "beyond the end of a shorter one": ("end", (300, 60), ("end", 170, 60)),
    "its bay": ("ell", (200, 120), ("ell", 200, 90)),
    "its hole": ("ell", (300, 70), ("ell", 300, 40)),
}


@pytest.mark.parametrize("name", WISHES)
def test_a_piece_goes_where_it_is_wished_or_as_near_as_there_is_cloth(name: str) -> None:
    wished_on, wish, (on, x, y) = WISHES[name]
    hand = laid(job(TAB))
    moved = towards(hand, key("tab"), wished_on, *wish).checked()
    there, *at = lies_on(moved, key("tab"))
    assert there == on
    assert at == pytest.approx([x, y], abs=0.02)
    assert len(moved) == 1  # the remnant that it left is empty, so that it has no layout


@pytest.mark.parametrize(
    ("nap", "gap"),
    [
        (Nap.EITHER_WAY, 0.0),
        (Nap.EITHER_WAY, 5.0),
        (Nap.ONE_WAY, 0.0),
        (Nap.ONE_WAY_PER_GARMENT, 4.0),
    ],
)
def test_whatever_is_tried_passes_the_judge(nap: Nap, gap: float) -> None:
    """Slides over the whole table, turns, swaps: `checked` raises for what is not sound."""
    rng = np.random.default_rng(1)
    hand = laid(job(*PIECES, nap=nap, gap=gap))
    keys = [each.key for part in hand.checked() for each in part.layout.placements]
    done = crossed = 0
    for _ in range(40):
        one, other = (keys[k] for k in rng.integers(len(keys), size=2))
        before = lies_on(hand.checked(), one)[0]
        try:
            match rng.integers(4):
                case 0:
                    hand = hand.turned(one)
                case 1:
                    hand = hand.swapped(one, other)
                case _:
                    hand = hand.slid(one, *rng.uniform(-600, 600, 2))
        except CannotBeDone:
            continue
        done += 1
        crossed += lies_on(hand.checked(), one)[0] != before
        assert Ending.HAND_MADE in {each.layout.stopped_because for each in hand.checked()}
    assert done > 15
    assert crossed > 3


def test_the_rest_is_laid_around_what_is_pinned() -> None:
    hand = towards(laid(job(*PIECES)), key("tab"), "long", 300, 30)
    pins = [key("tab")]
    before = lies_on(hand.checked(), key("tab"))
    after = hand.rest_laid(pins, FEW, unheard).checked()
    assert lies_on(after, key("tab")) == pytest.approx(before, abs=1e-6)
    assert sum(len(each.layout.placements) for each in after) == 6


def test_layouts_on_other_remnants_are_refused() -> None:
    hand = laid(job(*PIECES))
    other = Cloth("jersey", 400.0, remnants=(Remnant("else", rectangle(900, 400)),))
    (load,) = loads(Job("choir dress", SIZE, (Pattern(SIZE, PIECES),), (other,), {SIZE: 1}))
    with pytest.raises(CannotBeDone, match="Lay the job anew"):
        by_hand(task_by_hand(load), [each.layout for each in hand.checked()])
