"""Plans of many colours: sound, better than what they begin from; and what they are made by."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.orders.annealing import Annealing, AnnealingParams
from marker.orders.bounds import rank_modulo
from marker.orders.budget import Budget
from marker.orders.feasible import plan_or_nearest
from marker.orders.first_plans import random_plan
from marker.orders.lengths import Lengths
from marker.orders.mix_search import MixSearch, MixSearchParams
from marker.orders.order import EXACT, CutOrder, Limits, Measure
from marker.orders.planning import Aim
from marker.orders.plies import choose
from marker.orders.table import CutTable
from tests.benchmarks.orders import CASES
from tests.orders.sound import assert_sound

OVER_CUTS = [EXACT, Fraction(5, 100), None]


def many_colours(over_cut: Fraction | None, seed: int = 0) -> CutOrder:
    """Five sizes in four colours, some 700 garments."""
    wanted = np.random.default_rng(seed).integers(10, 60, (4, 5))
    return CutOrder(
        {f"c{c}": {f"s{s}": int(n) for s, n in enumerate(of)} for c, of in enumerate(wanted)},
        over_cut,
    )


def table(order: CutOrder, limits: Limits, lengths: Lengths | None = None) -> CutTable:
    return CutTable(order, limits, lengths, Measure.COST if lengths else Measure.PLIES)


@pytest.mark.parametrize(("over_cut", "effort"), [(EXACT, 3), (OVER_CUTS[1], 3), (None, 1)])
def test_colours_share_lays_from_the_first_plan_on(
    over_cut: Fraction | None, effort: float
) -> None:
    """One colour a lay would take 3 lays a colour at least: 5 sizes in 4 places, cut exactly."""
    order, limits = many_colours(over_cut), Limits(4, 60)
    first = plan_or_nearest(order, limits, Aim.FEWEST_LAYS, None, Budget(effort=0))
    better = plan_or_nearest(order, limits, Aim.FEWEST_LAYS, None, Budget(effort=effort))
    for plan in (first, better):
        assert_sound(plan.lays, order, limits)
    assert len(better.lays) <= len(first.lays) < 4 * 5
    assert [tier.value for tier in better.tiers] < [tier.value for tier in first.tiers]
    assert any(len(lay.plies) > 1 for lay in first.lays)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(OVER_CUTS), st.integers(1, 6), st.integers(1, 90))
def test_random_plans_keep_all_limits(
    seed: int, over_cut: Fraction | None, garments: int, plies: int
) -> None:
    order, limits = many_colours(over_cut, seed), Limits(garments, plies)
    cut_table = table(order, limits)
    plan = cut_table.plan(*random_plan(cut_table, np.random.default_rng(seed), 2))
    assert_sound(plan, order, limits)
    assert cut_table.keeps(plan)


def test_the_best_lays_are_chosen_out_of_a_pool() -> None:
    """4 S and 4 M: S + M on 4 plies cuts all; so do two lays of one size each."""
    order = CutOrder({"": {"S": 4, "M": 4}})
    mixes = [np.array(mix) for mix in ([1, 0], [0, 1], [1, 1])]
    budget = Budget(effort=5)
    plies = choose(table(order, Limits(2, 10)), mixes, [], 1000, 1.0, budget)
    assert plies is not None
    assert [int(of.sum()) for of in plies] == [0, 0, 4]
    assert choose(table(order, Limits(2, 10)), mixes[:1], [], 1000, 1.0, budget) is None


def test_mixes_change_until_they_cut_the_order() -> None:
    """3 S and 1 M a ply, on 10 plies in red and 5 in blue, found from four S."""
    order = CutOrder({"red": {"S": 30, "M": 10}, "blue": {"S": 15, "M": 5}})
    search = MixSearch(
        table(order, Limits(4, 20)), np.array([[4, 0]]), np.random.default_rng(0), Budget()
    )
    steps = 0
    while not search.cuts_all and steps < 20:
        assert search.step()
        steps += 1
    assert search.mixes.tolist() == [[3, 1]]
    assert search.plies == pytest.approx(np.array([[10.0, 5.0]]))


def test_parameters_check_themselves() -> None:
    with pytest.raises(ValueError, match="penalty"):
        MixSearchParams(penalty=0.5)


def test_cloth_counts_where_lengths_are_known() -> None:
    """S + M laid is 300 mm shorter than estimated: such markers are taken, as many as there are."""
    order = CutOrder({f"c{c}": {f"s{s}": 20 for s in range(6)} for c in range(4)})
    pair = frozenset({("s0", 1), ("s1", 1)})
    lengths = Lengths(100, {f"s{s}": 500 for s in range(6)}, {pair: 800}, end_loss_mm=20)
    plan = plan_or_nearest(order, Limits(2, 80), Aim.LEAST_COST, lengths, Budget(effort=1))
    assert_sound(plan.lays, order, Limits(2, 80), lengths)
    assert any(dict(lay.garments) == {"s0": 1, "s1": 1} and lay.height == 80 for lay in plan.lays)


@given(st.lists(st.lists(st.integers(-50, 50), min_size=4, max_size=4), min_size=1, max_size=5))
def test_the_rank_modulo_a_large_prime_is_no_more_than_the_rank(rows: list[list[int]]) -> None:
    matrix = np.array(rows)
    assert rank_modulo(matrix, 1_000_003) <= np.linalg.matrix_rank(matrix)
    assert rank_modulo(np.vstack([matrix, matrix[:1] * 3]), 1_000_003) == rank_modulo(
        matrix, 1_000_003
    )


def test_an_exact_order_needs_as_many_lays_as_its_rank() -> None:
    """Two colours of unlike shares are no one mix on some plies of each (linear algebra)."""
    order = CutOrder({"red": {"S": 2, "M": 3}, "blue": {"S": 3, "M": 2}})
    plan = plan_or_nearest(order, Limits(9), Aim.FEWEST_LAYS, None, Budget(seconds=0))
    assert plan.tiers[0].bound == 2


def test_garments_that_nobody_needs_are_left_out_of_large_plans() -> None:
    order, limits = many_colours(None), Limits(6, 80)
    plan = plan_or_nearest(order, limits, Aim.FEWEST_LAYS, None, Budget(effort=2))
    cut_table = table(order, limits)
    mixes, plies = cut_table.mixes(plan.lays)
    beyond = plies.T @ mixes - cut_table.least
    for lay, mix in enumerate(mixes):
        for size in np.flatnonzero(mix):
            assert mix.sum() == 1 or (beyond[:, size] < plies[lay]).any()


def test_each_size_needs_whole_places_in_markers() -> None:
    """41 of a size are two places of lays of at most 40 plies: four lays of one garment a marker,
    though 82 plies would go into three (arithmetic)."""
    order = CutOrder({"red": {"S": 20, "M": 41}, "blue": {"S": 21}}, None)
    plan = plan_or_nearest(order, Limits(1, 40), Aim.FEWEST_LAYS, None, Budget(seconds=0))
    assert (len(plan.lays), plan.tiers[0].bound) == (4, 4)


def test_mixes_and_whole_plies_are_annealed_together() -> None:
    """40 S, 20 M and 60 L in red, half of it in blue: two lays of 4 garments at most on 30 plies
    do, one can't (180 garments; arithmetic)."""
    order = CutOrder({"red": {"S": 40, "M": 20, "L": 60}, "blue": {"S": 20, "M": 10, "L": 30}})
    cut_table = table(order, Limits(4, 30))
    found = [Annealing(cut_table, 2, 0).work(1.0, Budget()) for _ in range(2)]
    assert found[0] is not None
    assert found[0].missed == 0
    assert (found[0].plies.T @ found[0].mixes).tolist() == [[40, 20, 60], [20, 10, 30]]
    assert cut_table.keeps(cut_table.plan(found[0].mixes, found[0].plies))
    assert found[1] is not None
    assert (found[0].mixes == found[1].mixes).all()
    assert (found[0].plies == found[1].plies).all()
    short = Annealing(cut_table, 1, 0, AnnealingParams(first=1 << 12)).work(1.0, Budget())
    assert short is not None
    assert short.missed >= 180 - 4 * 30


def test_annealed_markers_fit_the_table() -> None:
    """2 L of 900 mm are too long for 1,500 mm, S + L of 1,400 are not: 10 of each colour on 20."""
    order = CutOrder({"red": {"S": 10, "L": 10}, "blue": {"S": 10, "L": 10}})
    lengths = Lengths(0, {"S": 500, "L": 900})
    cut_table = table(order, Limits(3, 20, table_mm=1500), lengths)
    found = Annealing(cut_table, 1, 0).work(1.0, Budget())
    assert found is not None
    assert found.missed == 0
    assert found.mixes.tolist() == [[1, 1]]


def test_as_many_markers_as_allowed_are_annealed() -> None:
    """5,000 garments of 12 sizes in 8 colours take 56 places of 100 plies: 7 markers of 8 are the
    fewest that there can be (arithmetic). Plans at random have more."""
    case = CASES[3]
    order, limits = case.order(0), replace(case.limits, max_markers=7)
    cut_table = table(order, limits)
    assert len(random_plan(cut_table, np.random.default_rng(0), 3)[0]) > 7
    plan = plan_or_nearest(order, limits, Aim.FEWEST_PLIES, None, Budget(effort=4))
    assert_sound(plan.lays, order, limits)
