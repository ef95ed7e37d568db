"""A whole cut-order plan: the best lays for an order, and what is proven of them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from marker.orders.branching import Search
from marker.orders.budget import Budget
from marker.orders.ladder import Goal, Ladder, measure
from marker.orders.lengths import Lengths
from marker.orders.model import Question
from marker.orders.order import EXACT, CutOrder, Lay, Limits, Measure, Plan
from marker.orders.table import CutTable

TIDYING = 0.1
"""Share of the budget kept for cutting no more than needed."""

TIDYING_EFFORT = 0.3
"""Deterministic effort that it may cost at the most."""


class Aim(StrEnum):
    """What a plan is to be best at, and what decides between equals.

    FEWEST_LAYS : then the least cost, or plies where lengths are not known. FEWEST_PLIES : then
    the fewest lays. LEAST_COST : cloth, plies, lays and markers, then the fewest lays.
    """

    FEWEST_LAYS = "lays"
    FEWEST_PLIES = "plies"
    LEAST_COST = "cost"


@dataclass(frozen=True)
class Tier:
    """One thing minimised; no plan as good in the things before it has less than `bound`."""

    what: str
    value: int
    bound: int


@dataclass(frozen=True)
class CutPlan:
    """Lays that cut an order, highest first, and what is proven of them."""

    order: CutOrder
    lays: tuple[Lay, ...]
    tiers: tuple[Tier, ...]

    @property
    def optimal(self) -> bool:
        """Whether all that was minimised is proven."""
        return all(tier.value == tier.bound for tier in self.tiers)


def _goal(aim: Aim, lengths: Lengths | None) -> Goal:
    """An aim in terms of what is measured."""
    if aim is Aim.FEWEST_PLIES or (aim is Aim.FEWEST_LAYS and lengths is None):
        return Goal(Measure.PLIES, aim is Aim.FEWEST_LAYS)
    if lengths is None:
        raise ValueError("the least cost asks for marker lengths")
    a_lay = lengths.lay_cost_mm if aim is Aim.LEAST_COST else 0
    return Goal(Measure.COST, aim is Aim.FEWEST_LAYS, a_lay)


@dataclass(frozen=True)
class Outcome:
    """A plan, or none; if none, whether it is proven that there is none."""

    plan: CutPlan | None
    refuted: bool


def plan_lays(
    order: CutOrder, limits: Limits, aim: Aim, lengths: Lengths | None, budget: Budget
) -> Outcome:
    """The best plan that the budget allows.

    Every limit must be at least 1, and each garment must fit the table by itself, as
    `plan_or_nearest` makes sure of.
    """
    ladder = Ladder(order, limits, lengths, _goal(aim, lengths))
    tidy = order.over_cut != EXACT and ladder.goal.measure is Measure.PLIES
    with budget.part(1 - TIDYING if tidy else 1) as most:
        ladder.climb(most)
    if ladder.best is None:
        return Outcome(None, refuted=_proven_lays(ladder) > ladder.highest)
    lays, tiers = ladder.best, _tiers(ladder)
    if tidy:
        lays = _tidied(ladder, budget)
    return Outcome(CutPlan(order, lays, tiers), refuted=False)


def by_counting(
    order: CutOrder, limits: Limits, aim: Aim, lengths: Lengths | None, lays: Plan
) -> CutPlan:
    """A plan that keeps all limits, with what counting alone proves of it."""
    ladder = Ladder(order, limits, lengths, _goal(aim, lengths))
    ladder.offer(lays)
    return CutPlan(order, lays, _tiers(ladder))


def _tiers(ladder: Ladder) -> tuple[Tier, ...]:
    assert ladder.best is not None
    goal, count = ladder.goal, len(ladder.best)
    lays = Tier("lays", count, min(count, _proven_lays(ladder)))
    value = goal.value(count, ladder.measured)
    what = goal.measure.value
    if goal.measure is Measure.COST and ladder.lengths is not None and ladder.lengths.only_cloth:
        what = "cloth_mm"
    if goal.lays_first:
        bound = ladder.bound(count)
        return lays, Tier(what, value, value if bound is None else bound)
    open_bounds = [
        goal.value(number, bound)
        for number in range(ladder.lowest, ladder.highest + 1)
        if (bound := ladder.bound(number)) is not None
    ]
    return Tier(what, value, min([value, *open_bounds])), lays


def _proven_lays(ladder: Ladder) -> int:
    """The fewest lays with which a plan might still be found that is as good, or any."""
    numbers = range(ladder.lowest, ladder.highest + 1)
    return next((n for n in numbers if ladder.bound(n) is not None), ladder.highest + 1)


def _tidied(ladder: Ladder, budget: Budget) -> tuple[Lay, ...]:
    """A plan as good that cuts fewer garments beyond the order, as far as a short search goes."""
    assert ladder.best is not None
    trimmed = _trimmed(ladder.table, ladder.best)
    if not ladder.small(len(trimmed)):
        return trimmed
    ceiling = (ladder.goal.measure, ladder.measured)
    question = Question(
        ladder.order, ladder.limits, ladder.lengths, len(ladder.best), Measure.GARMENTS, ceiling
    )
    found = [trimmed]
    cutoff = measure(trimmed, Measure.GARMENTS, None) - 1
    search = Search(question, ladder.order.garments)
    search.work(TIDYING_EFFORT, cutoff, budget, lambda plan, _: found.append(plan))
    return found[-1]


def _trimmed(table: CutTable, plan: Plan) -> Plan:
    """The plan without garments in its markers that the order can do without."""
    mixes, plies = table.mixes(plan)
    beyond = plies.T @ mixes - table.least
    for lay in np.argsort(plies.sum(axis=1), kind="stable"):
        for size in range(mixes.shape[1]):
            in_marker = int(mixes[lay].sum())
            while in_marker > 1 and mixes[lay, size] and (beyond[:, size] >= plies[lay]).all():
                mixes[lay, size] -= 1
                in_marker -= 1
                beyond[:, size] -= plies[lay]
    return table.plan(mixes, plies)
