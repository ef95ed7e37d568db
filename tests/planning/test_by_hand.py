"""Layouts changed by hand: whatever is tried, what comes of it has passed the judge."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from marker.cloth.fabric import Nap
from marker.cloth.repeat import Bars
from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone
from marker.job import Job
from marker.layout import CheckedLayout, Ending, PieceKey
from marker.layout.on_table import numbers
from marker.pattern.edge import Stretch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.planning.by_hand import LayoutByHand, by_hand
from marker.planning.events import BetterLayoutFound, PlanningEvent, unheard
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import LayingTask, loads, spread
from tests.helpers import SIZE, cloth
from tests.planning.plaids import plaid, tunic
from tests.shapes import polygon, rectangle

FEW = SearchLimits(iterations=0, workers=1)
KITE = polygon((0, 0), (60, -40), (200, 0), (60, 40))
GUSSET = polygon((0, 0), (260, 0), (40, 180))
ON_FOLD = Piece(
    "front", "jersey", polygon((0, 0), (200, 0), (200, 300), (0, 340)), fold=Stretch(3, 0)
)
PIECES = (
    Piece("panel", "jersey", rectangle(200, 300), cut=2, grain_deg=0),
    Piece("gusset", "jersey", GUSSET, cut=2, pair=True, grain_deg=0),
    Piece("patch", "jersey", KITE, cut=3, grain_deg=0),
)


def job(*pieces: Piece, width: float = 700.0, nap: Nap = Nap.EITHER_WAY, gap: float = 0.0) -> Job:
    on = cloth(width, nap, gap)
    return Job("choir dress", SIZE, (Pattern(SIZE, pieces),), (on,), {SIZE: 1})


def task_of(given: Job, spreading: Spreading = Spreading.OPEN) -> LayingTask:
    return spread(loads(given)[0], spreading)


def laid(task: LayingTask) -> LayoutByHand:
    return by_hand(task, [lay_task(task, FEW, unheard).layout])


def now(hand: LayoutByHand) -> CheckedLayout:
    """What lies there, of a cloth that is no remnants."""
    (checked,) = hand.checked()
    return checked


def key(piece: str, copy: int = 1) -> PieceKey:
    return PieceKey(piece, SIZE, 1, copy)


def corner(checked: CheckedLayout, which: PieceKey) -> tuple[float, float]:
    (place,) = (each for each in checked.layout.placements if each.key == which)
    x, y = place.outline_mm.min(axis=0)
    return float(x), float(y)


CASES = {
    "open": (job(*PIECES), Spreading.OPEN),
    "with a gap": (job(*PIECES, gap=6.0), Spreading.OPEN),
    "one way": (job(*PIECES, nap=Nap.ONE_WAY), Spreading.OPEN),
    "one way per garment": (
        replace(job(*PIECES, nap=Nap.ONE_WAY_PER_GARMENT), order={SIZE: 2}),
        Spreading.OPEN,
    ),
    "two plies and one beyond": (job(*PIECES, width=1400), Spreading.FOLDED_LENGTHWISE),
    "on the fold": (job(ON_FOLD, *PIECES, width=1400), Spreading.FOLDED_LENGTHWISE),
    "double fold": (job(ON_FOLD, *PIECES, width=1600), Spreading.DOUBLE_FOLD),
    "folded crosswise": (job(*PIECES, gap=4.0), Spreading.FOLDED_CROSSWISE),
    "cut and turned": (job(*PIECES, nap=Nap.ONE_WAY), Spreading.CUT_AND_TURNED),
    "plaid": (tunic(plaid(Bars(80.0, 10.0, True), Bars(60.0, 0.0, False))), Spreading.OPEN),
}


@pytest.mark.parametrize("name", CASES)
def test_a_layout_lies_as_it_lay(name: str) -> None:
    task = task_of(*CASES[name])
    before = lay_task(task, FEW, unheard).layout
    after = now(by_hand(task, [before])).layout
    assert after.length_mm == pytest.approx(before.length_mm, abs=1e-6)
    assert after.stopped_because is before.stopped_because
    for one, other in zip(before.placements, after.placements, strict=True):
        assert one.key == other.key
        np.testing.assert_allclose(one.outline_mm, other.outline_mm, rtol=0, atol=1e-6)


@pytest.mark.parametrize("name", CASES)
def test_whatever_is_tried_passes_the_judge(name: str) -> None:
    """Slides and turns anywhere, swaps of any two: `checked` raises for what is not sound."""
    rng = np.random.default_rng(0)
    hand = laid(task_of(*CASES[name]))
    keys = [each.key for each in now(hand).layout.placements]
    done = 0
    for _ in range(40):
        one, other = (keys[k] for k in rng.integers(len(keys), size=2))
        dx, dy = rng.uniform(-500, 500, 2)
        try:
            match rng.integers(4):
                case 0:
                    hand = hand.turned(one)
                case 1:
                    hand = hand.swapped(one, other)
                case _:
                    hand = hand.slid(one, dx, dy)
        except CannotBeDone:
            continue
        done += 1
        assert now(hand).layout.stopped_because is Ending.HAND_MADE
    assert done > 15


def test_a_free_place_is_taken_and_a_blocked_one_slid_off() -> None:
    """Two panels of 200 × 300 side by side on 700 mm: one slides 150 mm along, as wished; pushed
    100 mm into the other, it stays beside it."""
    hand = laid(task_of(job(PIECES[0])))
    one, two = key("panel", 1), key("panel", 2)
    upper = max((one, two), key=lambda each: corner(now(hand), each)[1])
    lower = two if upper == one else one
    x, y = corner(now(hand), upper)
    assert y == pytest.approx(300, abs=0.02)
    moved = now(hand.slid(upper, 150, 30))
    assert corner(moved, upper) == pytest.approx((x + 150, y + 30), abs=1e-6)
    assert moved.layout.length_mm == pytest.approx(350, abs=0.02)
    pushed = now(hand.slid(upper, 0, -100))
    assert corner(pushed, upper) == pytest.approx((0, 300), abs=0.02)
    assert corner(pushed, lower) == corner(now(hand), lower)


def test_a_piece_goes_round_another_where_that_is_nearer() -> None:
    """Wished 190 mm along, into a panel of 200 mm whose far end is 10 mm off: it lies behind it."""
    long = Piece("band", "jersey", rectangle(200, 100), cut=2, grain_deg=0)
    hand = laid(task_of(job(long, width=100)))
    first = min((key("band", 1), key("band", 2)), key=lambda each: corner(now(hand), each)[0])
    assert corner(now(hand.slid(first, 390, 0)), first)[0] == pytest.approx(400, abs=0.02)
    assert corner(now(hand.slid(first, 50, 0)), first)[0] == pytest.approx(0, abs=0.02)


def test_nothing_turns_against_its_nap() -> None:
    patch = Piece("patch", "jersey", KITE, cut=2, grain_deg=0)
    one_way = laid(task_of(job(patch, nap=Nap.ONE_WAY)))
    with pytest.raises(CannotBeDone, match="may lie in this way only"):
        one_way.turned(key("patch"))
    together = laid(task_of(job(patch, nap=Nap.ONE_WAY_PER_GARMENT)))
    with pytest.raises(CannotBeDone, match="while the pieces of its garment point one way"):
        together.turned(key("patch"))
    free = laid(task_of(job(patch)))
    before = {each.key: each.rotation_deg for each in now(free).layout.placements}
    turned = now(free.turned(key("patch")))
    after = {each.key: each.rotation_deg for each in turned.layout.placements}
    assert abs(after[key("patch")] - before[key("patch")]) == 180
    assert after[key("patch", 2)] == before[key("patch", 2)]


def test_two_pieces_change_places() -> None:
    long = Piece("band", "jersey", rectangle(200, 100), grain_deg=0)
    short = Piece("tab", "jersey", rectangle(100, 100), grain_deg=0)
    hand = laid(task_of(job(long, short, width=100)))
    places = {name: corner(now(hand), key(name))[0] for name in ("band", "tab")}
    swapped = now(hand.swapped(key("band"), key("tab")))
    assert swapped.layout.length_mm == pytest.approx(300, abs=50.1)
    before = places["band"] < places["tab"]
    assert (corner(swapped, key("band"))[0] < corner(swapped, key("tab"))[0]) is not before


@pytest.mark.parametrize("name", ["open", "with a gap", "two plies and one beyond"])
def test_the_rest_is_laid_around_what_is_pinned(name: str) -> None:
    hand = laid(task_of(*CASES[name]))
    keys = [each.key for each in now(hand).layout.placements]
    far = hand.slid(keys[0], 300, 0)
    limits = SearchLimits(iterations=3, workers=1)
    told: list[CheckedLayout] = []

    def hear(event: PlanningEvent) -> None:
        if isinstance(event, BetterLayoutFound):
            told.append(event.checked())

    after = now(far.rest_laid([keys[0]], limits, hear))
    assert corner(after, keys[0]) == pytest.approx(corner(now(far), keys[0]), abs=1e-6)
    assert after.layout.length_mm <= now(far).layout.length_mm + 1e-6
    assert told
    assert corner(told[-1], keys[0]) == pytest.approx(corner(after, keys[0]), abs=1e-6)
    still = now(far.rest_laid(keys, limits, unheard))
    assert still.layout.length_mm == now(far).layout.length_mm


@pytest.mark.parametrize(
    ("name", "limits", "ending"),
    [
        ("open", SearchLimits(seconds=0.0, workers=1), Ending.TIME_UP),
        ("open", SearchLimits(seconds=9.0, workers=1).part(0.0), Ending.SHARE_UP),
        ("on the fold", SearchLimits(seconds=0.0, workers=1), Ending.TIME_UP),
    ],
)
def test_whose_time_is_up(name: str, limits: SearchLimits, ending: Ending) -> None:
    """Searches that share the seconds do not say that all of these are used up."""
    checked = lay_task(task_of(*CASES[name]), limits, unheard)
    assert checked.layout.stopped_because is ending


@pytest.mark.parametrize("name", CASES)
def test_pieces_keep_their_numbers(name: str) -> None:
    """Whatever was done, and after the layout was stored and taken up again."""
    task = task_of(*CASES[name])
    hand = laid(task)
    before = numbers(now(hand).layout)
    assert sorted(set(before.values())) == list(range(1, len(set(before.values())) + 1))
    first = min(before, key=before.__getitem__)
    moved = hand.slid(first, 5000, 0)
    assert numbers(now(moved).layout) == before
    again = by_hand(task, [now(moved).layout])
    assert numbers(now(again.slid(first, -200, 50)).layout) == before
    told: list[CheckedLayout] = []
    limits = SearchLimits(iterations=2, workers=1)
    rest = again.rest_laid([first], limits, lambda event: told.extend(_better(event)))
    for each in (now(rest), *told):
        assert numbers(each.layout) == before


def _better(event: PlanningEvent) -> list[CheckedLayout]:
    return [event.checked()] if isinstance(event, BetterLayoutFound) else []


def test_a_layout_of_another_job_is_refused() -> None:
    layout = lay_task(task_of(job(*PIECES)), FEW, unheard).layout
    with pytest.raises(CannotBeDone, match="Lay the job anew"):
        by_hand(task_of(job(*PIECES[:2])), [layout])
    with pytest.raises(CannotBeDone, match="is not on jersey"):
        by_hand(task_of(job(*PIECES)), [layout]).slid(key("collar"), 0, 0)
