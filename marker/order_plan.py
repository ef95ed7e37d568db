"""A job's order planned with lengths: estimated first, then laid, fed back and planned again."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import shapely

from marker.carrying import of_fewer_garments
from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.layout import CheckedLayout
from marker.markers import Crew, Effort
from marker.orders.budget import Budget
from marker.orders.feasible import plan_or_nearest
from marker.orders.lengths import Lengths, Mix, mix
from marker.orders.order import CutOrder, Lay, Limits
from marker.orders.planning import Aim, CutPlan
from marker.orders.rolls import RollPlan
from marker.pattern.cutting import cut_pieces

MOST_ROUNDS, HOPEFUL_ROUNDS = 8, 6
DOUBT = {0: 1.0, 1: 2.0}
"""How often an order is planned at most. Once the hopeful rounds are over, what was not laid counts
as no better than the worst that was, at last as twice that: then the plan comes to rest."""

_PROBE = 3  # garments of the longer of the two markers that teach the estimate

LayMarkers = Callable[[Sequence[Mapping[str, int]]], list[CheckedLayout]]


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
    NoPlan, or CannotBeDone for a garment that fits no cloth or table.
    """

    def lay_mixes(mixes: Sequence[Mapping[str, int]]) -> list[CheckedLayout]:
        in_order = [{size: n for size in job.order if (n := each.get(size, 0))} for each in mixes]
        return crew.lay(job, cloth, in_order, effort, on_laid)

    laid: dict[Mix, CheckedLayout] = {}
    first = _learned(job, cloth, order.sizes, lay_mixes, laid)
    first = replace(first, end_loss_mm=asked.end_loss_mm, lay_worth_mm=asked.lay_worth_mm)
    plans: list[CutPlan] = []
    stable = False
    while not stable and len(plans) < MOST_ROUNDS:
        doubt = DOUBT.get(len(plans) - HOPEFUL_ROUNDS, 0.0)
        lengths = _fitted(first, _lengths(laid), doubt)
        budget = Budget(budget_seconds, seed=effort.seed, interrupted=crew.interrupted)
        plans.append(plan_or_nearest(order, asked.limits, Aim.LEAST_CLOTH, lengths, budget))
        new = _unknown(plans[-1].lays, laid)
        stable = not new or crew.interrupted.is_set()
        for garments, marker in zip(new, lay_mixes(new) if new else [], strict=True):
            laid[mix(garments)] = marker
        inherit(laid)
    lengths = replace(first, known=_lengths(laid))
    latest_first = _on_table(plans[::-1], lengths, asked.limits)
    best = min(latest_first, key=lambda plan: _cost(plan, lengths))
    markers = tuple(laid[mix(lay.garments)] for lay in best.lays)
    return LaidPlan(cloth, best, lengths, markers, len(plans), stable and best is plans[-1])


def inherit(laid: dict[Mix, CheckedLayout]) -> None:
    """Where a marker of more garments came out shorter, those of fewer lie as they do in it."""
    by_size = sorted(laid, key=lambda each: sum(count for _, count in each))
    for at, fewer in enumerate(by_size):
        counts = dict(fewer)
        for more in by_size[at + 1 :]:
            there = dict(more)
            own, other = laid[fewer], laid[more]
            if other.layout.length_mm < own.layout.length_mm and all(
                count <= there.get(size, 0) for size, count in counts.items()
            ):
                bound = own.layout.length_lower_bound_mm
                carried = of_fewer_garments(other, own.garments, bound)
                laid[fewer] = carried or own


def _fitted(first: Lengths, known: Mapping[Mix, int], doubt: float) -> Lengths:
    """The estimate corrected by what was laid: by least squares on the part of the garments, so
    that it neither tempts nor deters; with a doubt as many times the worst that was laid."""
    parts = {key: first.estimate(dict(key)) - first.base_mm for key in known}
    beyond = {key: length - first.base_mm for key, length in known.items()}
    if doubt:
        factor = doubt * max(beyond[key] / parts[key] for key in known)
    else:
        squares = sum(part * part for part in parts.values())
        factor = sum(beyond[key] * parts[key] for key in known) / squares
    garments = {size: round(each * factor) for size, each in first.garment_mm.items()}
    return replace(first, garment_mm=garments, known=known)


def _on_table(plans: Sequence[CutPlan], lengths: Lengths, limits: Limits) -> Sequence[CutPlan]:
    """The plans whose markers fit the table as laid; all of them where none does."""
    if limits.table_mm is None:
        return plans
    room = limits.table_mm - lengths.end_loss_mm
    fitting = [plan for plan in plans if all(lengths.of(lay.garments) <= room for lay in plan.lays)]
    return fitting or plans


def _cost(plan: CutPlan, lengths: Lengths) -> int:
    return sum(lengths.cloth_mm(lay) + lengths.lay_worth_mm for lay in plan.lays)


def _unknown(lays: Iterable[Lay], laid: Mapping[Mix, CheckedLayout]) -> list[Mapping[str, int]]:
    """The markers not laid yet, each once."""
    found = {mix(lay.garments): lay.garments for lay in lays}
    return [garments for key, garments in found.items() if key not in laid]


def _lengths(laid: Mapping[Mix, CheckedLayout]) -> dict[Mix, int]:
    """Whole mm, rounded up."""
    return {key: math.ceil(marker.layout.length_mm) for key, marker in laid.items()}


def _learned(
    job: Job,
    cloth: Cloth,
    sizes: Sequence[str],
    lay_mixes: LayMarkers,
    laid: dict[Mix, CheckedLayout],
) -> Lengths:
    """An estimate from the job's own pieces: a marker of one garment of the middle size and one of
    three say what a marker takes at least and what a garment adds; other sizes by their area."""
    middle = sizes[len(sizes) // 2]
    mixes = [{middle: 1}, {middle: _PROBE}]
    for garments, marker in zip(mixes, lay_mixes(mixes), strict=True):
        laid[mix(garments)] = marker
    one, more = (laid[mix(garments)].layout.length_mm for garments in mixes)
    each = min((more - one) / (_PROBE - 1), one) if more > one else one
    areas = {size: _area(job, cloth, size) for size in sizes}
    return Lengths(
        base_mm=round(one - each),
        garment_mm={size: round(each * areas[size] / areas[middle]) for size in sizes},
    )


def _area(job: Job, cloth: Cloth, size: str) -> float:
    """Of one garment's pieces from this cloth, mm²."""
    return sum(
        shapely.Polygon(piece.outline).area * (piece.copies + piece.mirrored_copies)
        for piece in cut_pieces(job.with_order({size: 1}), cloth)
    )
