"""An order planned: which lays cut it, how long their markers are, and from which rolls."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property
from threading import Event

from marker.cloth.fabric import FREE, Cloth, Cost
from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone, Part, StoppedEarly
from marker.geometry.kernels import is_compiled
from marker.job import Job
from marker.orders.budget import Budget
from marker.orders.feasible import NoPlan
from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Limits
from marker.orders.planning import Aim, CutPlan, Tier, by_counting
from marker.orders.rolls import RollPlan
from marker.placement.search.separation import separate
from marker.planning.events import CompilingBegan, OnEvent, PlanningEvent
from marker.planning.laid_markers import LaidMarkers, MarkersByWidth
from marker.planning.laid_plan import (
    LaidLay,
    LaidPlan,
    Trial,
    numbered,
    ply_costs_mm,
    shorter,
)
from marker.planning.marker_work import MarkerEffort
from marker.planning.rounds import PLANNING_EFFORT, SHARES, Allowance, Rounds
from marker.planning.splicing import RollStock, missing_mm
from marker.planning.tasks import loads, shares
from marker.planning.width_groups import Grouper, Grouping, WidthGroup
from marker.planning.workers import WorkerPool, WorkersLost

MISSING_SECONDS, MISSING_EFFORT = 1.0, 0.3
"""What sharing out the rolls may take for each plan that is compared."""

WIDER_SHARE = 0.25
"""Part of the time for laying markers again for wider rolls, where these are of several widths."""

TRIED_SHARE = 0.5
"""Part of the time for ways to group by width, before the best of them is taken further."""

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
    elif not pool.is_here:
        with suppress(WorkersLost, StoppedEarly):  # it is told where a marker can't be laid there
            pool.compile_kernels(stop)
    whole = Allowance(request.seconds)
    parts = shares(loads(_one_each(ordered), cloths))
    plans = []
    for number, cloth in enumerate(cloths):
        share = whole.part(parts[number] / sum(parts[number:]))
        flow = _Flow(ordered, cloth, request, Allowance(share), pool, stop, on_event)
        plans.append(flow.planned())
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
                f"or lay the garments with `marker lay`.",
                [(Part.CLOTH, cloth.name)],
            )
        yield cloth


@dataclass(frozen=True)
class _Flow:
    """The planning of one cloth."""

    job: Job
    cloth: Cloth
    request: PlanRequest
    allowance: Allowance
    pool: WorkerPool
    stop: Event
    on_event: OnEvent

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

    def planned(self) -> LaidPlan:
        """The best plan met on the way; each lay whose rolls are wider is then laid for these."""
        trials = self._trials()
        best = min(trials, key=lambda each: each.values)
        in_order = [best, *(each for each in trials if each is not best)]
        compared = tuple(each.compared(self._costs) for each in in_order if len(trials) > 1)
        if len(trials) > 1 and self.request.seconds is not None and not self.stop.is_set():
            best = self._continued(best)
        plan = LaidPlan(
            self.cloth,
            self._merged(best),
            best.lays,
            sum(each.rounds for each in best.settled),
            all(each.stable for each in best.settled),
            self._costs,
            self._markers.lost,
            compared=compared,
        )
        if self.rolls is None:
            return plan
        plan = replace(plan, rolls=self.rolls.shared_out(plan.lays, self._roll_budget))
        if not self._several_widths:
            return plan
        plan = self._wider(plan)
        return replace(plan, plan=self._by_area(plan, [*trials, best]), by_area=True)

    @property
    def _several_widths(self) -> bool:
        return self.rolls is not None and len(self.rolls.widths_mm) > 1

    def _groupings(self) -> list[Grouping]:
        """What is planned together: all of it, or ways to group it by the width of rolls."""
        request, cloth = self.request, self.cloth
        if not self._several_widths:
            width = cloth.width_mm if self.rolls is None else self.rolls.widths_mm[0]
            return [(WidthGroup(width, request.order, cloth.rolls),)]
        return Grouper(cloth, request.order, request.limits, request.aim, self._first).groupings()

    def _trials(self) -> list[Trial]:
        """Ways to group, each planned and laid. Raises NoPlanOnCloth where none has a plan."""
        groupings = self._groupings()
        share = TRIED_SHARE if len(groupings) > 1 else 1 - WIDER_SHARE
        tried = Allowance(self.allowance.part(share if self._several_widths else 1.0))
        trials: list[Trial] = []
        refused: NoPlan | None = None
        for number, grouping in enumerate(groupings):
            if trials and self.stop.is_set():
                break
            part = Allowance(tried.part(1 / (len(groupings) - number)))
            try:
                trials.append(self._trial(grouping, self._rounds(grouping), part))
            except NoPlan as problem:
                if refused is None or len(grouping) == 1:
                    refused = problem
        if not trials:
            assert refused is not None
            raise NoPlanOnCloth(self.cloth.name, self.request.order, refused) from refused
        return trials

    def _trial(self, grouping: Grouping, rounds: tuple[Rounds, ...], allowance: Allowance) -> Trial:
        """Plan every group, or plan it further. Raises NoPlan where one has no plan, or where they
        have too many lays together."""
        left = sum(group.order.garments for group in grouping)
        settled = []
        for group, each in zip(grouping, rounds, strict=True):
            each.allowance = Allowance(allowance.part(group.order.garments / left))
            settled.append(each.settled())
            left -= group.order.garments
        trial = Trial(grouping, rounds, tuple(settled), 0)
        most = self.request.limits.max_markers
        if most is not None and len(trial.lays) > most:
            raise NoPlan(f"markers for each width of the rolls are more than {most}", ())
        if not self._several_widths:
            return trial
        return replace(trial, missing_mm=self._missing(trial.lays, self.rolls))

    def _continued(self, trial: Trial) -> Trial:
        """The best way to group with the time that is left."""
        assert self.rolls is not None
        shared = self.rolls.shared_out(trial.lays, self._missing_budget)
        wider = bool(self._lays_by_width(trial.lays, shared))
        allowance = Allowance(self.allowance.part(1 - WIDER_SHARE if wider else 1.0))
        try:
            return self._trial(trial.grouping, trial.rounds, allowance)
        except NoPlan:  # all of them together would be more markers than allowed
            return trial

    def _rounds(self, grouping: Grouping) -> tuple[Rounds, ...]:
        """Of each group, not begun; none has so many markers that the others have none left."""
        limits = self.request.limits
        if limits.max_markers is not None:
            limits = replace(limits, max_markers=limits.max_markers - len(grouping) + 1)
        return tuple(self._rounds_of(group, limits) for group in grouping)

    def _rounds_of(self, group: WidthGroup, limits: Limits) -> Rounds:
        request, markers = self.request, self._markers.at(group.width_mm)
        rounds = Rounds(
            group.order,
            limits,
            request.aim,
            markers,
            self._first(group.width_mm),
            self.allowance,
            request.seed,
            lambda plan: self.on_event(OrderPlanned(self.cloth.name, plan)),
        )
        if self.rolls is not None:
            cloth = replace(self.cloth, rolls=group.rolls)
            stock = RollStock(cloth, group.order.colours, self.ends_mm / 2)
            rounds.missing = lambda plan: self._missing(numbered([(plan, markers)]), stock)
            rounds.shorter_mm = self._on_table(stock.plies_mm)
        return rounds

    def _missing(self, lays: Sequence[LaidLay], stock: RollStock | None) -> int:
        """Cloth that rolls lack for these lays."""
        assert stock is not None
        return missing_mm(lays, stock.shared_out(lays, self._missing_budget))

    @property
    def _missing_budget(self) -> Budget:
        seconds = None if self.request.seconds is None else MISSING_SECONDS
        return Budget(seconds, MISSING_EFFORT, self.request.seed, self.stop)

    def _first(self, width_mm: float) -> Lengths:
        """What markers of a width are estimated to take, and what counts beside it."""
        number = len(self.rolls.widths_mm) if self.rolls is not None else 1
        seconds = self.allowance.part(SHARES.estimate / number)
        first = self._markers.estimate(width_mm, self.request.order.sizes, seconds)
        return replace(self._costs, base_mm=first.base_mm, garment_mm=first.garment_mm)

    @cached_property
    def _markers(self) -> MarkersByWidth:
        effort = MarkerEffort(None, self.request.iterations, self.request.seed)
        none = LaidMarkers(
            self.job, self.cloth, self.pool, effort, self.stop, self.on_event, self.ends_mm
        )
        return MarkersByWidth(none)

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

    def _lays_by_width(
        self, lays: Sequence[LaidLay], shared: Mapping[str, RollPlan]
    ) -> dict[float, list[int]]:
        """Width -> lays, counted from 0, whose rolls are all as wide, and wider than their
        marker."""
        assert self.rolls is not None
        found: dict[float, list[int]] = {}
        for at, laid in enumerate(lays):
            width = self.rolls.narrowest_mm(at, shared)
            if width is not None and width > laid.marker.layout.cloth.width_mm:
                found.setdefault(width, []).append(at)
        return found

    def _wider(self, plan: LaidPlan) -> LaidPlan:
        """Each lay whose rolls are all wider laid again, as wide as the narrowest of them."""
        assert self.rolls is not None
        laid = dict(enumerate(plan.lays))
        by_width = self._lays_by_width(plan.lays, plan.rolls)
        for number, (width, lays) in enumerate(by_width.items()):
            wide = self._markers.at(width)
            wide.lost = wide.lost or plan.lost
            seconds = self.allowance.part(1 / (len(by_width) - number), SHARES.kept)
            wide.lay_new([laid[at].lay.garments for at in lays], seconds)
            for at in lays:
                laid[at] = shorter(laid[at], wide)
        again = tuple(laid.values())
        if again != plan.lays:
            shared = self.rolls.shared_out(again, self._roll_budget)
            plan = replace(plan, lays=again, rolls=shared)
        return plan

    def _merged(self, trial: Trial) -> CutPlan:
        """The lays of all groups as one plan."""
        if trial.is_whole:
            return trial.settled[0].plan
        return CutPlan(self.request.order, tuple(each.lay for each in trial.lays), ())

    def _by_area(self, plan: LaidPlan, trials: Sequence[Trial]) -> CutPlan:
        """The plan with its values as laid, and what holds for markers of any width.

        That is what the area of its garments proves, counting, and, without a table, what a search
        for all of them did.
        """
        assert self.rolls is not None
        order, costs, aim = plan.order, self._costs, self.request.aim
        widest = self.cloth.in_width(self.rolls.widths_mm[-1]).usable_width_mm
        areas = {size: int(self._markers.area_mm2(size) / widest) for size in order.sizes}
        limits = replace(self.request.limits, table_mm=None)
        counted = by_counting(order, limits, aim, replace(costs, garment_mm=areas), plan.plan.lays)
        made = ply_costs_mm(plan.lays, costs)
        if aim is Aim.LEAST_COST:
            made += costs.lay_cost_mm * len(plan.lays)
        values = {"cost_mm": made, "cloth_mm": made}
        first, second = (
            Tier(each.what, values.get(each.what, each.value), each.bound) for each in counted.tiers
        )
        if aim is not Aim.LEAST_COST and self.request.limits.table_mm is None:
            whole = [each.settled[0].plan.tiers[0].bound for each in trials if each.is_whole]
            first = replace(first, bound=max([first.bound, *whole]))
        return replace(plan.plan, tiers=(first, second))
