"""An order planned: which lays cut it, how long their markers are, and from which rolls.

The lengths of markers are estimated first. The markers that a plan chooses are laid, their lengths
fed back, and the order is planned again, until all markers chosen are known.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from threading import Event

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.geometry.kernels import is_compiled
from marker.job import Job
from marker.layout import CheckedLayout
from marker.orders.budget import Budget
from marker.orders.feasible import Nearest, NoPlan, plan_or_nearest
from marker.orders.lengths import Lengths, mix
from marker.orders.order import CutOrder, Lay, Limits
from marker.orders.planning import Aim, CutPlan
from marker.orders.rolls import RollPlan
from marker.orders.table import on_table
from marker.placement.search.separation import separate
from marker.planning.events import CompilingBegan, OnEvent, PlanningEvent, SearchEnded
from marker.planning.laid_markers import LaidMarkers
from marker.planning.splicing import on_rolls
from marker.planning.tasks import loads
from marker.planning.workers import MarkerEffort, WorkerPool
from marker.words import counted

MOST_ROUNDS, HOPEFUL_ROUNDS = 8, 6
DOUBT = {0: 1.0, 1: 2.0}
"""How often an order is planned at most. Once the hopeful rounds are over, what was not laid counts
as no better than the worst that was, at last as twice that: then the plan comes to rest."""


@dataclass(frozen=True)
class PlanRequest:
    """What is asked of the lays of an order, lengths in mm.

    end_loss_mm : of each ply, both ends together; None for the end allowances of the cloth.
    lay_cost_mm : cloth that would pay for making a marker and spreading and cutting its lay; 0
    where only cloth counts. seconds : of every planning, without the laying of markers. effort :
    what each marker gets.
    """

    order: CutOrder
    limits: Limits
    effort: MarkerEffort
    end_loss_mm: float | None = None
    lay_cost_mm: float = 0.0
    seconds: float = 30.0


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

    rounds : how often it was planned. stable : planning again would change nothing.
    rolls : colour -> which plies are cut from which roll; empty where the cloth comes on none.
    """

    cloth: Cloth
    plan: CutPlan
    lays: tuple[LaidLay, ...]
    rounds: int
    stable: bool
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
    if not is_compiled(separate):
        on_event(CompilingBegan(job.name))
    return tuple(_planned(ordered, cloth, request, pool, stop, on_event) for cloth in cloths)


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
    stop: Event,
    on_event: OnEvent,
) -> LaidPlan:
    """The plan of one cloth; the best met on the way counts."""
    ends = 2 * cloth.end_allowance_mm if request.end_loss_mm is None else request.end_loss_mm
    markers = LaidMarkers(
        job,
        cloth,
        pool,
        request.effort,
        stop,
        lambda laid: on_event(SearchEnded(cloth.name, laid)),
        math.ceil(ends),
    )
    first = replace(
        markers.first_estimate(request.order.sizes),
        end_loss_mm=math.ceil(ends),
        lay_cost_mm=round(request.lay_cost_mm),
    )
    try:
        plans, stable = _rounds(request, first, markers, on_event)
        lengths = replace(first, known=markers.lengths)
        best = _best(plans, lengths, request.limits)
    except NoPlan as problem:
        raise NoPlanOnCloth(cloth.name, request.order, problem) from problem
    lays = tuple(
        LaidLay(number, lay, marker, markers.ply_mm(marker))
        for number, lay in enumerate(best.lays, 1)
        for marker in [markers.laid[mix(lay.garments)]]
    )
    plan = LaidPlan(cloth, best, lays, len(plans), stable and best is plans[-1])
    return replace(plan, rolls=_rolls(plan, first.end_loss_mm / 2, request, stop))


def _rolls(
    plan: LaidPlan, end_mm: float, request: PlanRequest, stop: Event
) -> Mapping[str, RollPlan]:
    """Colour -> its plies on its rolls."""
    if not plan.cloth.rolls_mm:
        return {}
    budget = Budget(request.seconds, seed=request.effort.seed, interrupted=stop)
    shared = {}
    for number, colour in enumerate(plan.order.colours):
        rolls = plan.cloth.rolls_in(colour)
        spreads = [(each.lay.plies.get(colour, 0), each.ply_mm, each.marker) for each in plan.lays]
        with budget.part(1 / (len(plan.order.colours) - number)) as part:
            shared[colour] = on_rolls(spreads, rolls, end_mm, part)
    return shared


def _rounds(
    request: PlanRequest, first: Lengths, markers: LaidMarkers, on_event: OnEvent
) -> tuple[list[CutPlan], bool]:
    """The plan of each round, its markers laid; and whether one more round would change nothing."""
    plans: list[CutPlan] = []
    order, limits = request.order, request.limits
    while len(plans) < MOST_ROUNDS and not (plans and markers.stop.is_set()):
        doubt = DOUBT.get(len(plans) - HOPEFUL_ROUNDS, 0.0)
        lengths = markers.fitted(first, doubt)
        if markers.lay_new(_too_long_alone(order, lengths, limits)):
            lengths = markers.fitted(first, doubt)
        budget = Budget(request.seconds, seed=request.effort.seed, interrupted=markers.stop)
        try:
            plan = plan_or_nearest(order, limits, Aim.LEAST_CLOTH, lengths, budget)
        except NoPlan:
            if any(_fits(earlier, lengths, limits) for earlier in plans):
                break  # only by what is doubted is there none
            raise
        plans.append(plan)
        on_event(OrderPlanned(markers.cloth.name, plan))
        if not markers.lay_new(lay.garments for lay in plan.lays):
            return plans, not markers.stop.is_set()
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
        return sum(lengths.cloth_mm(lay) + lengths.lay_cost_mm for lay in plan.lays)

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
