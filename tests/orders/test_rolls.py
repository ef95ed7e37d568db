"""Plies shared out among rolls: worked by hand, and against every way of sharing out."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from marker.orders.budget import Budget
from marker.orders.rolls import RollPlan, Splice, Spread, Stock, share_out


def shared(spreads: Sequence[Spread], rolls: Sequence[int]) -> RollPlan:
    return share_out(spreads, [Stock(roll) for roll in rolls], Budget(effort=5.0))


def test_without_a_splice_four_plies_need_sixteen_metres_in_fours() -> None:
    """10 m hold two plies of 4 m, 7 m one: the fourth finds no cloth (worked by hand)."""
    plan = shared([Spread(4, 4000)], [10_000, 7_000])
    assert plan.missing == (1,)
    assert plan.left_mm == (2000, 3000)
    assert plan.optimal


def test_a_splice_makes_the_fourth_of_what_is_left() -> None:
    """The 2 m left of the one and 2.1 of the 3 m left of the other, with a lap of 10 cm."""
    plan = shared([Spread(4, 4000, (Splice(2000, 1900),))], [10_000, 7_000])
    assert plan.missing == (0,)
    assert plan.splices == 1
    assert sorted(plan.left_mm) == [0, 900]


def test_nothing_is_spliced_that_need_not_be() -> None:
    plan = shared([Spread(3, 4000, (Splice(2000, 1900),))], [10_000, 7_000])
    assert plan.splices == 0


def test_ends_too_short_for_a_ply_are_avoided() -> None:
    """Two plies of 3 m: from the 6 m roll nothing is left; from the 8 m roll 2 m would be."""
    plan = shared([Spread(2, 3000)], [8_000, 6_000])
    assert plan.left_mm == (8000, 0)


@given(
    st.lists(st.tuples(st.integers(1, 3), st.integers(2, 9)), min_size=1, max_size=2),
    st.lists(st.integers(1, 20), min_size=1, max_size=3),
)
def test_no_way_of_sharing_out_whole_plies_is_better(
    lays: list[tuple[int, int]], rolls: list[int]
) -> None:
    spreads = [Spread(plies, ply) for plies, ply in lays]
    plan = shared(spreads, rolls)
    missing = sum(short * s.ply_mm for short, s in zip(plan.missing, spreads, strict=True))
    assert plan.optimal
    assert (missing, _ends(spreads, rolls, plan.left_mm)) == min(_all(spreads, rolls))


@given(
    st.lists(
        st.tuples(st.integers(1, 2), st.integers(5, 12), st.lists(st.integers(1, 3), max_size=2)),
        min_size=1,
        max_size=2,
    ),
    st.lists(st.integers(3, 30), min_size=1, max_size=2),
)
def test_no_way_of_splicing_covers_more_or_splices_less(
    lays: list[tuple[int, int, list[int]]], rolls: list[int]
) -> None:
    spreads = [
        Spread(plies, ply, tuple(sorted({Splice(at + 1, at) for at in marks})))
        for plies, ply, marks in lays
    ]
    plan = shared(spreads, rolls)
    missing = sum(short * s.ply_mm for short, s in zip(plan.missing, spreads, strict=True))
    assert plan.optimal
    assert (missing, plan.splices) == _least(
        [spread for spread in spreads for _ in range(spread.plies)], tuple(rolls)
    )


def _least(plies: Sequence[Spread], left: tuple[int, ...]) -> tuple[int, int]:
    """Cloth of plies without any, and splices: every way to cut ply after ply."""
    if not plies:
        return 0, 0
    ply, *others = plies
    missing, splices = _least(others, left)
    found = [(missing + ply.ply_mm, splices)]
    for takes in _takings(ply, len(left)):
        after = tuple(length - taken for length, taken in zip(left, takes, strict=True))
        if min(after) >= 0:
            missing, splices = _least(others, after)
            found.append((missing, splices + (sum(takes) > ply.ply_mm)))
    return min(found)


def _takings(ply: Spread, rolls: int) -> Iterator[tuple[int, ...]]:
    """What a ply may take of each roll: all of one, or, with laps above 0, two parts."""
    for one in range(rolls):
        yield tuple(ply.ply_mm * (k == one) for k in range(rolls))
        for splice in ply.splices:
            second = ply.ply_mm - splice.from_mm
            for other in range(rolls):
                yield tuple(
                    splice.reach_mm * (k == one) + second * (k == other) for k in range(rolls)
                )


def _all(spreads: Sequence[Spread], rolls: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Cloth that is missing and left in short ends, of every way to share out whole plies."""
    ways = [range(spread.plies + 1) for spread in spreads]
    for each in itertools.product(itertools.product(*ways), repeat=len(rolls)):
        left = [
            roll - sum(n * s.ply_mm for n, s in zip(given, spreads, strict=True))
            for roll, given in zip(rolls, each, strict=True)
        ]
        short = [spread.plies - sum(given[k] for given in each) for k, spread in enumerate(spreads)]
        if min(left) >= 0 and min(short) >= 0:
            missing = sum(n * s.ply_mm for n, s in zip(short, spreads, strict=True))
            yield missing, _ends(spreads, rolls, left)


def _ends(spreads: Sequence[Spread], rolls: Sequence[int], left: Sequence[int]) -> int:
    shortest = min(spread.ply_mm for spread in spreads)
    pairs = zip(rolls, left, strict=True)
    return sum(rest for roll, rest in pairs if rest < min(shortest, roll))


@given(
    st.lists(
        st.tuples(
            st.integers(1, 6), st.integers(200, 900), st.lists(st.integers(1, 99), max_size=4)
        ),
        min_size=1,
        max_size=2,
    ),
    st.lists(st.integers(100, 2500), min_size=1, max_size=3),
)
def test_every_ply_is_whole_and_no_roll_overdrawn(
    lays: list[tuple[int, int, list[int]]], rolls: list[int]
) -> None:
    spreads = [
        Spread(plies, ply, tuple(sorted({Splice(ply * k // 100 + 20, ply * k // 100) for k in at})))
        for plies, ply, at in lays
    ]
    long_enough = shared(spreads, rolls)
    demand_sound(long_enough, spreads, rolls)
    at_once = share_out(spreads, [Stock(roll) for roll in rolls], Budget(0.0))
    demand_sound(at_once, spreads, rolls)
    assert missing_mm(at_once, spreads) >= missing_mm(long_enough, spreads)


def missing_mm(plan: RollPlan, spreads: Sequence[Spread]) -> int:
    return sum(short * s.ply_mm for short, s in zip(plan.missing, spreads, strict=True))


def demand_sound(plan: RollPlan, spreads: Sequence[Spread], rolls: Sequence[int]) -> None:
    for roll, parts, left in zip(rolls, plan.parts, plan.left_mm, strict=True):
        assert left == roll - sum(part.times * part.each_mm for part in parts) >= 0
    for lay, spread in enumerate(spreads):
        own = [part for parts in plan.parts for part in parts if part.lay == lay]
        whole = sum(part.times for part in own if part.splice is None)
        firsts = 0
        for splice in spread.splices:
            here = [part for part in own if part.splice == splice]
            first = sum(part.times for part in here if part.first)
            assert first == sum(part.times for part in here if not part.first)
            assert all(
                part.each_mm == (splice.reach_mm if part.first else spread.ply_mm - splice.from_mm)
                for part in here
            )
            firsts += first
        assert whole + firsts + plan.missing[lay] == spread.plies


def test_a_large_order_is_shared_out_at_once() -> None:
    """Twenty lays on thirty rolls that hold a fiftieth more than is wanted, and no time at all."""
    rng = np.random.default_rng(0)
    spreads = []
    for _ in range(20):
        ply = int(rng.integers(2000, 9000))
        marks = (ply * k // 8 for k in range(1, 8))
        splices = tuple(Splice(at + 100, at, bool(rng.integers(2))) for at in marks)
        spreads.append(Spread(int(rng.integers(3, 20)), ply, splices))
    roll = sum(each.plies * each.ply_mm for each in spreads) * 51 // 50 // 30
    rolls = [Stock(roll, kind="AB"[k % 2]) for k in range(30)]
    plan = share_out(spreads, rolls, Budget(0.0))
    demand_sound(plan, spreads, [roll] * 30)
    assert not any(plan.missing)


def test_a_garment_keeps_to_rolls_of_one_kind() -> None:
    """As above, four plies of 4 m; spliced within a garment only from rolls of one kind."""
    rolls = [Stock(10_000, kind="A"), Stock(7_000, kind="B")]
    within, beside = Splice(2000, 1900), Splice(2000, 1900, in_garment=False)
    for splice, missing in ((within, 1), (beside, 0)):
        plan = share_out([Spread(4, 4000, (splice,))], rolls, Budget(effort=5.0))
        assert sum(plan.missing) == missing


def test_lays_keep_to_wide_rolls_and_markers_to_those_they_lie_on() -> None:
    """Two lays of 2 and 3 m on rolls of 3 m: the longer is cut from the wide one, which saves
    most. A marker too wide for the narrow roll finds no cloth there."""
    rolls = [Stock(3000, 1400), Stock(3000, 1500)]
    plan = share_out([Spread(1, 2000), Spread(1, 3000)], rolls, Budget(effort=5.0))
    assert (plan.rolls_of(0), plan.rolls_of(1)) == ((0,), (1,))
    wide = [Spread(1, 2000, width_mm=1450), Spread(1, 3000, width_mm=1450)]
    assert sum(share_out(wide, rolls, Budget(effort=5.0)).missing) == 1
