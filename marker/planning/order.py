"""An order planned: which lays cut it, how long their markers are, and from which rolls."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from threading import Event

from marker.cloth.fabric import FREE, Cloth, Cost
from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone
from marker.geometry.kernels import is_compiled
from marker.job import Job
from marker.layout import CheckedLayout
from marker.orders.budget import Budget
from marker.orders.feasible import NoPlan
from marker.orders.lengths import Lengths, mix
from marker.orders.order import CutOrder, Lay, Limits
from marker.orders.planning import Aim, CutPlan, Tier, by_counting
from marker.orders.rolls import RollPlan
from marker.placement.search.separation import separate
from marker.planning.events import CompilingBegan, OnEvent, PlanningEvent
from marker.planning.laid_markers import LaidMarkers
from marker.planning.rounds import PLANNING_EFFORT, SHARES, Allowance, Rounds, Settled
from marker.planning.splicing import RollStock, missing_mm
from marker.planning.tasks import loads, shares
from marker.planning.workers import MarkerEffort, WorkerPool

MISSING_SECONDS, MISSING_EFFORT = 1.0, 0.3
"""What sharing out the rolls may take for each plan that is compared."""

WIDER_SHARE = 0.25
"""Part of the time for laying markers again for wider rolls, where these are of several widths."""

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
    by_area : what is proven of its cost follows from the area of the garments alone.
    """

    cloth: Cloth
    plan: CutPlan
    lays: tuple[LaidLay, ...]
    rounds: int
    stable: bool
    costs: Lengths
    lost: str = ""
    rolls: Mapping[str, RollPlan] = field(default_factory=dict)
    by_area: bool = False

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
    cloths = tuple(_cloths(ordered))
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


def _cloths(job: Job) -> Iterator[Cloth]:
    """Those that something is cut from; refuses what is not laid for an order."""
    for cloth in [load.cloth for load in loads(_one_each(job))]:
        if cloth.remnants:
            raise CannotBeDone(
                f"{cloth.name} is laid on remnants, which no lays are spread from. Leave them out, "
                f"or lay the garments with `marker lay`."
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

    @cached_property
    def rolls(self) -> RollStock | None:
        """Those that it comes on."""
        if not self.cloth.rolls:
            return None
        return RollStock(self.cloth, self.request.order.colours, self.ends_mm / 2)

    def planned(self, pool: WorkerPool, on_event: OnEvent) -> LaidPlan:
        """The best plan met on the way, laid for the narrowest roll, then each lay for its own."""
        widths = [self.cloth.width_mm] if self.rolls is None else self.rolls.widths_mm
        markers = self._markers(pool, on_event, widths[0])
        several = len(widths) > 1
        allowance = Allowance(self.allowance.part(1 - WIDER_SHARE if several else 1.0))
        try:
            found = self._settled(markers, allowance, on_event)
        except NoPlan as problem:
            raise NoPlanOnCloth(self.cloth.name, self.request.order, problem) from problem
        lays = _numbered(found.plan, markers)
        plan = LaidPlan(
            self.cloth, found.plan, lays, found.rounds, found.stable, self._costs, markers.lost
        )
        if self.rolls is None:
            return plan
        plan = replace(plan, rolls=self.rolls.shared_out(lays, self._roll_budget))
        return self._wider(plan, markers, pool, on_event) if several else plan

    def _settled(self, markers: LaidMarkers, allowance: Allowance, on_event: OnEvent) -> Settled:
        request, rolls = self.request, self.rolls
        first = markers.first_estimate(request.order.sizes, allowance.part(SHARES.estimate))
        rounds = Rounds(
            request.order,
            request.limits,
            request.aim,
            markers,
            replace(self._costs, base_mm=first.base_mm, garment_mm=first.garment_mm),
            allowance,
            request.seed,
            lambda plan: on_event(OrderPlanned(self.cloth.name, plan)),
        )
        if rolls is not None:

            def missing(plan: CutPlan) -> int:
                lays = _numbered(plan, markers)
                seconds = None if request.seconds is None else MISSING_SECONDS
                budget = Budget(seconds, MISSING_EFFORT, request.seed, self.stop)
                return missing_mm(lays, rolls.shared_out(lays, budget))

            rounds.missing, rounds.shorter_mm = missing, self._on_table(rolls.plies_mm)
        return rounds.settled()

    def _markers(self, pool: WorkerPool, on_event: OnEvent, width_mm: float) -> LaidMarkers:
        """None yet, for cloth of a width."""
        cloth = self.cloth.in_width(width_mm)
        cloths = tuple(cloth if each.name == self.cloth.name else each for each in self.job.cloths)
        effort = MarkerEffort(None, self.request.iterations, self.request.seed)
        job = replace(self.job, cloths=cloths)
        return LaidMarkers(job, cloth, pool, effort, self.stop, on_event, self.ends_mm)

    @cached_property
    def _costs(self) -> Lengths:
        """What counts beside the markers' lengths. Folded crosswise, both ends of a ply lie on one
        another at one end of the table; cut and turned, each length has its own."""
        spread, ends = self.cloth.spread, self.ends_mm
        layers = 2 if spread.ends_meet else 1
        on_table = -(-ends // 2) if spread is Spreading.FOLDED_CROSSWISE else ends
        bare = Lengths(0, {}, end_loss_mm=ends, layers=layers, table_end_mm=on_table)
        return self.request.costs.added_to(bare, self.cloth)

    def _on_table(self, plies_mm: Sequence[int]) -> list[int]:
        """What plies of these lengths take of the table."""
        costs, most = self._costs, self.request.limits.table_mm
        on_table = [
            (mm - costs.end_loss_mm) // costs.layers + costs.ends_on_table_mm for mm in plies_mm
        ]
        return on_table if most is None else [mm for mm in on_table if mm < most]

    @property
    def _roll_budget(self) -> Budget:
        effort = PLANNING_EFFORT if self.request.seconds is None else None
        left = self.allowance.left
        seconds = None if left is None else max(left, ROLLS_SECONDS)
        return Budget(seconds, effort, self.request.seed, self.stop)

    def _wider(
        self, plan: LaidPlan, markers: LaidMarkers, pool: WorkerPool, on_event: OnEvent
    ) -> LaidPlan:
        """Each lay whose rolls are all wider laid again, as wide as the narrowest of them."""
        assert self.rolls is not None
        laid = dict(enumerate(plan.lays))
        by_width: dict[float, list[int]] = {}
        for at in laid:
            width = self.rolls.narrowest_mm(at, plan.rolls)
            if width is not None and width > markers.cloth.width_mm:
                by_width.setdefault(width, []).append(at)
        for number, (width, lays) in enumerate(by_width.items()):
            wide = self._markers(pool, on_event, width)
            wide.lost = markers.lost
            seconds = self.allowance.part(1 / (len(by_width) - number), SHARES.kept)
            wide.lay_new([laid[at].lay.garments for at in lays], seconds)
            for at in lays:
                laid[at] = _shorter(laid[at], wide)
        again = tuple(laid.values())
        if again == plan.lays:
            return plan
        shared = self.rolls.shared_out(again, self._roll_budget)
        by_area = self._by_area(plan.plan, again, markers)
        return replace(plan, lays=again, rolls=shared, plan=by_area, by_area=True)

    def _by_area(self, plan: CutPlan, lays: Sequence[LaidLay], markers: LaidMarkers) -> CutPlan:
        """The plan with its cost as laid, and what the area of its garments proves of that."""
        assert self.rolls is not None
        if not plan.tiers[0].what.endswith("_mm"):
            return plan
        widest = self.cloth.in_width(self.rolls.widths_mm[-1]).usable_width_mm
        order, costs = plan.order, self._costs
        areas = {size: int(markers.area_mm2(size) / widest) for size in order.sizes}
        limits = replace(self.request.limits, table_mm=None)
        counted = by_counting(
            order, limits, self.request.aim, replace(costs, garment_mm=areas), plan.lays
        )
        made = len({id(each.marker) for each in lays})
        value = (
            sum(each.cloth_mm + each.lay.height * costs.ply_cost_mm for each in lays)
            + costs.lay_cost_mm * len(lays)
            + costs.marker_cost_mm * made
        )
        first, *rest = counted.tiers
        return replace(plan, tiers=(Tier(first.what, value, first.bound), *rest))


def _numbered(plan: CutPlan, markers: LaidMarkers) -> tuple[LaidLay, ...]:
    """The lays of a plan with their markers."""
    return tuple(
        LaidLay(number, lay, marker, markers.ply_mm(marker))
        for number, lay in enumerate(plan.lays, 1)
        for marker in [markers.laid[mix(lay.garments)]]
    )


def _shorter(laid: LaidLay, wide: LaidMarkers) -> LaidLay:
    """A lay with its marker for wider cloth: the one laid there, or else the narrower one."""
    marker = wide.laid[mix(laid.lay.garments)]
    ply = wide.ply_mm(marker)
    return replace(laid, marker=marker, ply_mm=ply) if ply < laid.ply_mm else laid
