"""An order planned: which lays cut it, how long their markers are, and from which rolls."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from threading import Event

from marker.cloth.fabric import FREE, Cloth, Cost
from marker.errors import CannotBeDone
from marker.geometry.kernels import is_compiled
from marker.job import Job
from marker.layout import CheckedLayout
from marker.orders.budget import Budget
from marker.orders.feasible import NoPlan
from marker.orders.lengths import Lengths, mix
from marker.orders.order import CutOrder, Lay, Limits
from marker.orders.planning import Aim, CutPlan
from marker.orders.rolls import RollPlan
from marker.placement.search.separation import separate
from marker.planning.events import CompilingBegan, OnEvent, PlanningEvent
from marker.planning.laid_markers import LaidMarkers
from marker.planning.rounds import PLANNING_EFFORT, SHARES, Allowance, Rounds, Settled
from marker.planning.splicing import on_rolls
from marker.planning.tasks import loads, shares
from marker.planning.workers import MarkerEffort, WorkerPool

ROLLS_SECONDS = 1.0
"""What sharing out the rolls may take, even if the time is up: it nearly always takes less."""


@dataclass(frozen=True)
class Costs:
    """Besides cloth: of spreading one ply, of one lay more, of making one marker."""

    ply: Cost = FREE
    lay: Cost = FREE
    marker: Cost = FREE

    def added_to(self, lengths: Lengths, cloth: Cloth) -> Lengths:
        """The lengths of one cloth's markers with these costs in mm of it."""
        return replace(
            lengths,
            ply_cost_mm=self.ply.in_mm(cloth),
            lay_cost_mm=self.lay.in_mm(cloth),
            marker_cost_mm=self.marker.in_mm(cloth),
        )


@dataclass(frozen=True)
class PlanRequest:
    """What is asked of the lays of an order, lengths in mm.

    seconds : for all of it, planning and laying, on all cloths; None for no limit. iterations : of
    each marker's search, None where only seconds limit it. end_loss_mm : of each ply, both ends
    together; None for the end allowances of the cloth. aim : what a plan is to be best at. costs :
    what counts beside cloth.
    """

    order: CutOrder
    limits: Limits
    seconds: float | None = 30.0
    iterations: int | None = None
    seed: int = 0
    end_loss_mm: float | None = None
    aim: Aim = Aim.LEAST_COST
    costs: Costs = Costs()


@dataclass(frozen=True)
class OrderPlanned(PlanningEvent):
    """The lays of a cloth were planned, with the lengths that are known by now."""

    plan: CutPlan


@dataclass(frozen=True)
class LaidLay:
    """A lay with its marker laid and judged, numbered from 1. ply_mm : whole mm, ends included."""

    number: int
    lay: Lay
    marker: CheckedLayout
    ply_mm: int

    @property
    def cloth_mm(self) -> int:
        """Cloth of all its plies."""
        return self.lay.height * self.ply_mm


@dataclass(frozen=True)
class LaidPlan:
    """Lays of one cloth.

    rounds : how often it was planned. stable : planning again would change nothing. costs :
    what counts beside the markers' lengths. lost : why the
    workers were lost on the way, or nothing; some markers have their first layout only.
    rolls : colour -> which plies are cut from which roll; empty where the cloth comes on none.
    """

    cloth: Cloth
    plan: CutPlan
    lays: tuple[LaidLay, ...]
    rounds: int
    stable: bool
    costs: Lengths
    lost: str = ""
    rolls: Mapping[str, RollPlan] = field(default_factory=dict)

    @property
    def order(self) -> CutOrder:
        """What is to be cut."""
        return self.plan.order

    @property
    def rolls_suffice(self) -> bool:
        """Whether every ply finds cloth on a roll, or the cloth comes on none."""
        return not any(any(shared.missing) for shared in self.rolls.values())

    @property
    def cloth_mm(self) -> int:
        """Cloth of all lays, end loss of every ply included."""
        return sum(lay.cloth_mm for lay in self.lays)


class NoPlanOnCloth(CannotBeDone):
    """No plan on one of the cloths keeps to what was asked."""

    def __init__(self, cloth: str, order: CutOrder, problem: NoPlan) -> None:
        self.cloth, self.order, self.problem = cloth, order, problem
        super().__init__(f"{cloth}: {problem}")


def plan_order(
    job: Job, request: PlanRequest, pool: WorkerPool, stop: Event, on_event: OnEvent
) -> tuple[LaidPlan, ...]:
    """The best plan for each cloth that the job's garments are cut from.

    pool : lays the markers. stop : set it to end with the best plan so far. on_event : told of each
    marker laid and each plan. Raises NoPlanOnCloth, or CannotBeDone for what no lays are made of.
    """
    ordered = job.with_order(request.order.by_size)
    cloths = tuple(_cloths(ordered, request))
    if pool.is_here and not is_compiled(separate):
        on_event(CompilingBegan(job.name))
        pool.compile_kernels(stop)
    whole = Allowance(request.seconds)
    parts = shares(loads(_one_each(ordered), cloths))
    plans = []
    for number, cloth in enumerate(cloths):
        share = whole.part(parts[number] / sum(parts[number:]))
        flow = _Flow(ordered, cloth, request, Allowance(share), stop)
        plans.append(flow.planned(pool, on_event))
    return tuple(plans)


def _one_each(job: Job) -> Job:
    """A garment of each size: an order may be of more than can be laid at once."""
    return job.with_order(dict.fromkeys(job.order, 1))


def _cloths(job: Job, request: PlanRequest) -> Iterator[Cloth]:
    """Those that something is cut from; refuses what is not laid for an order."""
    for cloth in [load.cloth for load in loads(_one_each(job))]:
        if cloth.remnants:
            raise CannotBeDone(
                f"{cloth.name} is laid on remnants, which no lays are spread from. Leave them out, "
                f"or lay the garments with `marker lay`."
            )
        if request.limits.table_mm is not None and cloth.spread.ends_meet:
            raise CannotBeDone(
                f"{cloth.name} is '{cloth.spread}', and how much of a table that takes is not "
                f"planned. Leave out --table, or spread it another way."
            )
        yield cloth


@dataclass(frozen=True)
class _Flow:
    """The planning of one cloth."""

    job: Job
    cloth: Cloth
    request: PlanRequest
    allowance: Allowance
    stop: Event

    @property
    def ends_mm(self) -> int:
        """Lost of every ply, both ends together."""
        asked = self.request.end_loss_mm
        return math.ceil(2 * self.cloth.end_allowance_mm if asked is None else asked)

    def planned(self, pool: WorkerPool, on_event: OnEvent) -> LaidPlan:
        """The best plan met on the way."""
        name, request = self.cloth.name, self.request
        costs = request.costs.added_to(Lengths(0, {}, end_loss_mm=self.ends_mm), self.cloth)
        markers = LaidMarkers(
            self.job,
            self.cloth,
            pool,
            MarkerEffort(None, request.iterations, request.seed),
            self.stop,
            on_event,
            self.ends_mm,
        )
        seconds = self.allowance.part(SHARES.estimate)
        first = markers.first_estimate(request.order.sizes, seconds)
        rounds = Rounds(
            request.order,
            request.limits,
            request.aim,
            markers,
            replace(costs, base_mm=first.base_mm, garment_mm=first.garment_mm),
            self.allowance,
            request.seed,
            lambda plan: on_event(OrderPlanned(name, plan)),
        )
        try:
            found = rounds.settled()
        except NoPlan as problem:
            raise NoPlanOnCloth(name, request.order, problem) from problem
        return self._on_rolls(found, markers, costs)

    def _on_rolls(self, found: Settled, markers: LaidMarkers, costs: Lengths) -> LaidPlan:
        lays = tuple(
            LaidLay(number, lay, marker, markers.ply_mm(marker))
            for number, lay in enumerate(found.plan.lays, 1)
            for marker in [markers.laid[mix(lay.garments)]]
        )
        plan = LaidPlan(
            self.cloth, found.plan, lays, found.rounds, found.stable, costs, markers.lost
        )
        return replace(plan, rolls=self._rolls(plan)) if self.cloth.rolls else plan

    def _rolls(self, plan: LaidPlan) -> Mapping[str, RollPlan]:
        """Colour -> its plies on its rolls."""
        effort = PLANNING_EFFORT if self.request.seconds is None else None
        left = self.allowance.left
        seconds = None if left is None else max(left, ROLLS_SECONDS)
        budget = Budget(seconds, effort, self.request.seed, self.stop)
        shared = {}
        for number, colour in enumerate(plan.order.colours):
            spreads = [
                (each.lay.plies.get(colour, 0), each.ply_mm, each.marker) for each in plan.lays
            ]
            with budget.part(1 / (len(plan.order.colours) - number)) as part:
                shared[colour] = on_rolls(plan.cloth, colour, spreads, self.ends_mm / 2, part)
        return shared
