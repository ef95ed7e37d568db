"""A job's order planned with lengths: estimated first, then laid, fed back and planned again."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.layout import CheckedLayout
from marker.orders.budget import Budget
from marker.orders.feasible import Nearest, NoPlan, plan_or_nearest
from marker.orders.greedy import on_table
from marker.orders.lengths import Lengths, mix
from marker.orders.order import CutOrder, Limits
from marker.orders.planning import Aim, CutPlan
from marker.orders.rolls import RollPlan
from marker.planning.laid_markers import LaidMarkers
from marker.planning.workers import Crew, Effort
from marker.words import counted

MOST_ROUNDS, HOPEFUL_ROUNDS = 8, 6
DOUBT = {0: 1.0, 1: 2.0}
"""How often an order is planned at most. Once the hopeful rounds are over, what was not laid counts
as no better than the worst that was, at last as twice that: then the plan comes to rest."""


@dataclass(frozen=True)
class Asked:
    """What a plan must keep, and what it is best at.

    end_loss_mm : of each ply, both ends together. lay_worth_mm : cloth that would pay for making a
    marker and spreading and cutting its lay; 0 where only cloth counts.
    """

    limits: Limits
    end_loss_mm: int
    lay_worth_mm: int = 0


@dataclass(frozen=True)
class LaidPlan:
    """Lays of one cloth, all their markers laid and judged.

    markers : one for each lay of the plan. lengths : those laid, the rest as estimated.
    rounds : how often it was planned. stable : planning again would change nothing.
    rolls : colour -> which plies are cut from which roll; empty where it comes on none.
    """

    cloth: Cloth
    plan: CutPlan
    lengths: Lengths
    markers: tuple[CheckedLayout, ...]
    rounds: int
    stable: bool
    rolls: Mapping[str, RollPlan] = field(default_factory=dict)

    @property
    def order(self) -> CutOrder:
        """What is to be cut."""
        return self.plan.order

    @property
    def cloth_mm(self) -> int:
        """Cloth of all lays, end loss of every ply included."""
        return sum(
            lay.height * self.ply_mm(marker)
            for lay, marker in zip(self.plan.lays, self.markers, strict=True)
        )

    def ply_mm(self, marker: CheckedLayout) -> int:
        """A ply of a marker, whole mm, end loss included."""
        return math.ceil(marker.layout.length_mm) + self.lengths.end_loss_mm


def laid_plan(
    job: Job,
    cloth: Cloth,
    order: CutOrder,
    asked: Asked,
    crew: Crew,
    effort: Effort,
    budget_seconds: float,
    on_laid: Callable[[CheckedLayout], None],
) -> LaidPlan:
    """The plan of least cloth for one cloth of the job.

    Planned with estimates, the markers it chooses are laid, their lengths fed back, and it is
    planned again, until all markers chosen are known; the best plan met on the way counts. Raises
    NoPlan, or CannotBeDone for a garment that fits no cloth.
    """

    markers = LaidMarkers(job, cloth, crew, effort, on_laid)
    first = replace(
        markers.learned(order.sizes),
        end_loss_mm=asked.end_loss_mm,
        lay_worth_mm=asked.lay_worth_mm,
    )
    plans, stable = _rounds(order, asked.limits, first, markers, budget_seconds)
    lengths = replace(first, known=markers.lengths)
    best = _best(plans, lengths, asked.limits)
    of_best = tuple(markers.laid[mix(lay.garments)] for lay in best.lays)
    return LaidPlan(cloth, best, lengths, of_best, len(plans), stable and best is plans[-1])


def _rounds(
    order: CutOrder, limits: Limits, first: Lengths, markers: LaidMarkers, budget_seconds: float
) -> tuple[list[CutPlan], bool]:
    """The plan of each round, its markers laid; and whether one more round would change nothing."""
    plans: list[CutPlan] = []
    interrupted = markers.crew.interrupted
    while len(plans) < MOST_ROUNDS and not (plans and interrupted.is_set()):
        doubt = DOUBT.get(len(plans) - HOPEFUL_ROUNDS, 0.0)
        lengths = markers.fitted(first, doubt)
        if markers.lay_new(_too_long_alone(order, lengths, limits)):
            lengths = markers.fitted(first, doubt)
        budget = Budget(budget_seconds, seed=markers.effort.seed, interrupted=interrupted)
        try:
            plan = plan_or_nearest(order, limits, Aim.LEAST_CLOTH, lengths, budget)
        except NoPlan:
            if any(_fits(earlier, lengths, limits) for earlier in plans):
                break  # only by what is doubted is there none
            raise
        plans.append(plan)
        if not markers.lay_new(lay.garments for lay in plan.lays):
            return plans, not interrupted.is_set()
    return plans, False


def _too_long_alone(order: CutOrder, lengths: Lengths, limits: Limits) -> list[Mapping[str, int]]:
    """Markers of one garment that seem longer than the table: laid before that is said of them."""
    alone = ({size: 1} for size in order.sizes)
    return [each for each in alone if not on_table(each, limits, lengths)]


def _fits(plan: CutPlan, lengths: Lengths, limits: Limits) -> bool:
    return all(on_table(lay.garments, limits, lengths) for lay in plan.lays)


def _best(plans: Sequence[CutPlan], lengths: Lengths, limits: Limits) -> CutPlan:
    """The cheapest plan whose markers fit the table as laid, the latest of several."""

    def cost(plan: CutPlan) -> int:
        return sum(lengths.cloth_mm(lay) + lengths.lay_worth_mm for lay in plan.lays)

    fitting = [plan for plan in plans if _fits(plan, lengths, limits)]
    if fitting:
        return min(fitting[::-1], key=cost)
    tables = {
        max(lengths.of(lay.garments) for lay in plan.lays) + lengths.end_loss_mm: plan.lays
        for plan in plans
    }
    raise NoPlan(
        f"no plan was found in {counted(len(plans), 'round')} whose markers, once laid, fit a "
        f"table of {limits.table_mm} mm",
        (Nearest(f"has a table of {min(tables)} mm", tables[min(tables)]),),
    )
