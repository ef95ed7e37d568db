"""Plans against every plan there is, and what holds for all of them."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.orders.budget import Budget
from marker.orders.feasible import NoPlan, plan_or_nearest
from marker.orders.first_plans import even_plan
from marker.orders.lengths import Lengths, mix
from marker.orders.order import EXACT, CutOrder, Lay, Limits, Measure
from marker.orders.planning import Aim
from marker.orders.table import CutTable
from tests.orders.brute_force import least_by_lays
from tests.orders.published import CAT_FOOD, one_colour
from tests.orders.sound import assert_sound

OVER_CUTS = st.sampled_from([EXACT, Fraction(1, 2), None])


def orders(most: int, sizes: int, colours: int) -> st.SearchStrategy[CutOrder]:
    a_colour = st.fixed_dictionaries(
        {size: st.integers(0, most) for size in ("S", "M", "L", "XL", "XXL")[:sizes]}
    )
    wanted = st.fixed_dictionaries(dict.fromkeys(("black", "red")[:colours], a_colour))
    some = wanted.filter(lambda w: any(n for each in w.values() for n in each.values()))
    return st.builds(CutOrder, some, OVER_CUTS)


TINY = st.one_of(orders(5, 2, 1), orders(3, 3, 1), orders(2, 2, 2))
TINY_LIMITS = st.builds(Limits, st.integers(1, 3), st.none() | st.integers(1, 4))


@settings(max_examples=25, deadline=None)
@given(TINY, TINY_LIMITS)
def test_fewest_lays_then_plies_of_all_plans(order: CutOrder, limits: Limits) -> None:
    plan = plan_or_nearest(order, limits, Aim.FEWEST_LAYS, None, Budget(effort=20))
    assert_sound(plan.lays, order, limits)
    *fewer, least = least_by_lays(order, limits, None, len(plan.lays))
    assert fewer == [None] * len(fewer)
    assert [tier.value for tier in plan.tiers] == [len(plan.lays), least]
    assert plan.optimal


@settings(max_examples=25, deadline=None)
@given(TINY, TINY_LIMITS, st.integers(1, 3))
def test_fewest_plies_of_all_plans_of_so_many_markers(
    order: CutOrder, bare: Limits, markers: int
) -> None:
    limits = Limits(bare.max_garments, bare.max_plies, markers)
    known = least_by_lays(order, limits, None, markers)
    best = min((plies for plies in known if plies is not None), default=None)
    if best is None:
        with pytest.raises(NoPlan, match="this is proven"):
            plan_or_nearest(order, limits, Aim.FEWEST_PLIES, None, Budget(effort=20))
        return
    plan = plan_or_nearest(order, limits, Aim.FEWEST_PLIES, None, Budget(effort=20))
    assert_sound(plan.lays, order, limits)
    assert [tier.value for tier in plan.tiers] == [best, known.index(best) + 1]
    assert plan.optimal


MIXES = tuple(mix(garments) for garments in ({"S": 1}, {"S": 1, "M": 1}, {"M": 2}))


@st.composite
def lengths_of_mixes(draw: st.DrawFn) -> Lengths:
    """Estimates, and some mixes laid, by less off them than a garment takes."""
    base, end = draw(st.integers(0, 500)), draw(st.integers(0, 60))
    garment = {size: draw(st.integers(300, 900)) for size in "SML"}
    estimate = Lengths(base, garment)
    misses = draw(st.dictionaries(st.sampled_from(MIXES), st.integers(-150, 150)))
    known = {laid: max(1, estimate.of(dict(laid)) + miss) for laid, miss in misses.items()}
    ply, lay, marker = (draw(st.sampled_from([0, 700, 5000])) for _ in range(3))
    layers = draw(st.integers(1, 2))
    on_table = {laid: length // 2 + 40 for laid, length in known.items()} if layers > 1 else {}
    ends = end // layers
    return Lengths(base, garment, known, end, ply, lay, marker, layers, on_table, ends)


@settings(max_examples=20, deadline=None)
@given(orders(4, 2, 1), lengths_of_mixes(), st.booleans())
def test_least_cost_of_all_plans(order: CutOrder, lengths: Lengths, short: bool) -> None:
    longest = max(lengths.on_table_mm({size: 1}) for size in order.sizes)
    limits = Limits(3, 4, 3, table_mm=longest + 400 if short else None)
    known = least_by_lays(order, limits, lengths, 3)
    costs = [
        cost + lengths.lay_cost_mm * lays for lays, cost in enumerate(known, 1) if cost is not None
    ]
    try:
        plan = plan_or_nearest(order, limits, Aim.LEAST_COST, lengths, Budget(effort=20))
    except NoPlan:
        assert costs == []
        return
    assert_sound(plan.lays, order, limits, lengths)
    cost = lengths.cost_mm(plan.lays) + lengths.lay_cost_mm * len(plan.lays)
    assert cost == plan.tiers[0].value == min(costs)
    assert plan.optimal


@settings(max_examples=15, deadline=None)
@given(
    st.one_of(orders(120, 5, 1), orders(40, 3, 2)),
    st.builds(Limits, st.integers(1, 6), st.none() | st.integers(1, 50)),
    st.floats(0, 0.3),
)
def test_every_plan_meets_the_order_within_its_limits(
    order: CutOrder, limits: Limits, effort: float
) -> None:
    plan = plan_or_nearest(order, limits, Aim.FEWEST_LAYS, None, Budget(effort=effort))
    assert_sound(plan.lays, order, limits)
    assert all(tier.bound <= tier.value for tier in plan.tiers)


@settings(max_examples=40, deadline=None)
@given(st.one_of(orders(120, 5, 1), orders(40, 3, 2)), st.integers(2, 6), st.integers(1, 4))
def test_few_markers_get_a_plan_at_once(order: CutOrder, garments: int, markers: int) -> None:
    """Where the markers have a place for every size, and any number may be cut beyond."""
    limits, any_cut = Limits(garments, max_markers=markers), CutOrder(order.wanted, None)
    plan = even_plan(any_cut, limits, None, markers)
    sound = CutTable(any_cut, limits, None, Measure.PLIES).keeps(plan)
    assert sound == (len(order.sizes) <= garments * markers)
    if sound:
        assert_sound(plan, any_cut, limits)


def test_one_marker_is_filled_evenly() -> None:
    """Five places for 31 + 59 + 60 garments: one, two and two, so 31 plies (arithmetic)."""
    order = CutOrder({"": {"S": 31, "M": 59, "L": 60}}, None)
    plan = even_plan(order, Limits(5, max_markers=1), None, 1)
    assert plan == (Lay({"": 31}, {"S": 1, "L": 2, "M": 2}),)


def test_same_seed_and_effort_same_plan() -> None:
    limits = Limits(9, max_markers=3)
    one, other = (
        plan_or_nearest(CAT_FOOD, limits, Aim.FEWEST_PLIES, None, Budget(effort=0.1, seed=3))
        for _ in range(2)
    )
    assert one == other


def test_a_lay_cost_much_cloth_is_spared() -> None:
    order = one_colour({"S": 4, "M": 2}, None)
    plans = []
    for a_lay in (0, 5000):
        lengths = Lengths(0, {"S": 1000, "M": 1000}, lay_cost_mm=a_lay, end_loss_mm=20)
        # exactly as ordered takes two lays; one of S + M on 4 plies cuts two M too many
        limits = Limits(2, max_markers=3)
        plans.append(plan_or_nearest(order, limits, Aim.LEAST_COST, lengths, Budget(effort=5)))
    assert [len(plan.lays) for plan in plans] == [2, 1]


def test_two_lays_of_the_same_garments_take_one_marker() -> None:
    """8 plies of a garment, 4 a lay: cloth and spreading of 8, two lays, one marker."""
    lengths = Lengths(0, {"S": 1000}, {}, 20, 5, 300, 7000)
    order = one_colour({"S": 8})
    plan = plan_or_nearest(order, Limits(1, 4), Aim.LEAST_COST, lengths, Budget(effort=5))
    assert plan.tiers[0].value == 8 * 1025 + 2 * 300 + 7000
    assert plan.optimal


def test_no_time_still_gives_a_plan_and_a_bound_by_counting() -> None:
    order = one_colour({"S": 31, "M": 17, "L": 7})
    plan = plan_or_nearest(order, Limits(4, 10), Aim.FEWEST_LAYS, None, Budget(seconds=0))
    assert_sound(plan.lays, order, Limits(4, 10))
    assert plan.tiers[0].bound == 2  # 55 garments, 40 a lay
    assert not plan.optimal
