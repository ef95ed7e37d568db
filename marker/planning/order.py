"""An order planned: which lays cut it, how long their markers are, and from which rolls."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from threading import Event

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.geometry.kernels import is_compiled
from marker.job import Job
from marker.layout import CheckedLayout
from marker.orders.budget import Budget
from marker.orders.feasible import NoPlan
from marker.orders.lengths import mix
from marker.orders.order import CutOrder, Lay, Limits
from marker.orders.planning import CutPlan
from marker.orders.rolls import RollPlan
from marker.placement.search.separation import separate
from marker.planning.events import CompilingBegan, OnEvent, PlanningEvent, SearchEnded
from marker.planning.laid_markers import LaidMarkers
from marker.planning.rounds import PLANNING_EFFORT, SHARES, Allowance, Rounds
from marker.planning.splicing import on_rolls
from marker.planning.tasks import loads, shares
from marker.planning.workers import MarkerEffort, WorkerPool

ROLLS_SECONDS = 1.0
"""What sharing out the rolls may take, even if the time is up: it nearly always takes less."""


@dataclass(frozen=True)
class PlanRequest:
    """What is asked of the lays of an order, lengths in mm.

    seconds : for all of it, planning and laying, on all cloths; None for no limit. iterations : of
    each marker's search, None where only seconds limit it. end_loss_mm : of each ply, both ends
    together; None for the end allowances of the cloth. lay_cost_mm : cloth that would pay for
    making a marker and spreading and cutting its lay; 0 where only cloth counts.
    """

    order: CutOrder
    limits: Limits
    seconds: float | None = 30.0
    iterations: int | None = None
    seed: int = 0
    end_loss_mm: float | None = None
    lay_cost_mm: float = 0.0


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

    rounds : how often it was planned. stable : planning again would change nothing. lost : why the
    workers were lost on the way, or nothing; some markers have their first layout only.
    rolls : colour -> which plies are cut from which roll; empty where the cloth comes on none.
    """

    cloth: Cloth
    plan: CutPlan
    lays: tuple[LaidLay, ...]
    rounds: int
    stable: bool
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
    """The plan of least cloth for each cloth that the job's garments are cut from.

    pool : lays the markers. stop : set it to end with the best plan so far. on_event : told of each
    marker laid and each plan. Raises NoPlanOnCloth, or CannotBeDone for what no lays are made of.
    """
    ordered = job.with_order(request.order.by_size)
    cloths = tuple(_cloths(ordered, request))
    if pool.is_here and not is_compiled(separate):
        on_event(CompilingBegan(job.name))
        pool.compile_kernels(stop)
    whole = Allowance(request.seconds)
    parts = shares(loads(ordered, cloths))
    plans = []
    for number, cloth in enumerate(cloths):
        share = whole.part(parts[number] / sum(parts[number:]))
        plans.append(_planned(ordered, cloth, request, pool, Allowance(share), stop, on_event))
    return tuple(plans)


def _cloths(job: Job, request: PlanRequest) -> Iterator[Cloth]:
    """Those that something is cut from; refuses what is not laid for an order."""
    one_each = job.with_order(dict.fromkeys(job.order, 1))
    for cloth in [load.cloth for load in loads(one_each)]:
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


def _planned(
    job: Job,
    cloth: Cloth,
    request: PlanRequest,
    pool: WorkerPool,
    allowance: Allowance,
    stop: Event,
    on_event: OnEvent,
) -> LaidPlan:
    """The plan of one cloth; the best met on the way counts."""
    ends = 2 * cloth.end_allowance_mm if request.end_loss_mm is None else request.end_loss_mm
    markers = LaidMarkers(
        job,
        cloth,
        pool,
        MarkerEffort(None, request.iterations, request.seed),
        stop,
        lambda laid: on_event(SearchEnded(cloth.name, laid)),
        math.ceil(ends),
    )
    first = replace(
        markers.first_estimate(request.order.sizes, allowance.part(SHARES.estimate)),
        end_loss_mm=math.ceil(ends),
        lay_cost_mm=round(request.lay_cost_mm),
    )

    def planned(plan: CutPlan) -> None:
        on_event(OrderPlanned(cloth.name, plan))

    rounds = Rounds(request.order, request.limits, markers, first, allowance, request.seed, planned)
    try:
        found = rounds.settled()
    except NoPlan as problem:
        raise NoPlanOnCloth(cloth.name, request.order, problem) from problem
    lays = tuple(
        LaidLay(number, lay, marker, markers.ply_mm(marker))
        for number, lay in enumerate(found.plan.lays, 1)
        for marker in [markers.laid[mix(lay.garments)]]
    )
    plan = LaidPlan(cloth, found.plan, lays, found.rounds, found.stable, markers.lost)
    return replace(plan, rolls=_rolls(plan, first.end_loss_mm / 2, request, allowance, stop))


def _rolls(
    plan: LaidPlan, end_mm: float, request: PlanRequest, allowance: Allowance, stop: Event
) -> Mapping[str, RollPlan]:
    """Colour -> its plies on its rolls."""
    if not plan.cloth.rolls_mm:
        return {}
    effort = PLANNING_EFFORT if request.seconds is None else None
    seconds = None if allowance.left is None else max(allowance.left, ROLLS_SECONDS)
    budget = Budget(seconds, effort, request.seed, stop)
    shared = {}
    for number, colour in enumerate(plan.order.colours):
        rolls = plan.cloth.rolls_in(colour)
        spreads = [(each.lay.plies.get(colour, 0), each.ply_mm, each.marker) for each in plan.lays]
        with budget.part(1 / (len(plan.order.colours) - number)) as part:
            shared[colour] = on_rolls(spreads, rolls, end_mm, part)
    return shared
