"""Orders that cannot be planned as asked: the reason, and the plan that comes nearest."""

from __future__ import annotations

from dataclasses import dataclass, replace

from marker.errors import CannotBeDone
from marker.orders.budget import Budget
from marker.orders.ladder import Goal, Ladder
from marker.orders.lengths import Lengths
from marker.orders.order import EXACT, CutOrder, Lay, Limits, Measure
from marker.orders.planning import Aim, CutPlan, Outcome, plan_lays
from marker.units import cut_length, cut_length_up
from marker.words import ONE_SIZE, counted

SHARE = 0.2
"""Share of the budget kept for the nearest plans, if it comes to that."""


@dataclass(frozen=True)
class Nearest:
    """A plan that gives up one thing asked for, named in `how`."""

    how: str
    lays: tuple[Lay, ...]


class NoPlan(CannotBeDone):
    """No plan keeps to what was asked: why, and the plans that come nearest."""

    def __init__(self, reason: str, nearest: tuple[Nearest, ...]) -> None:
        self.nearest = nearest
        super().__init__(reason)


def plan_or_nearest(
    order: CutOrder, limits: Limits, aim: Aim, lengths: Lengths | None, budget: Budget
) -> CutPlan:
    """The best plan that the budget allows. Raises NoPlan where there is none."""
    _check_table(order, limits, lengths, budget)
    with budget.part(1 if limits.max_markers is None else 1 - SHARE) as part:
        outcome = plan_lays(order, limits, aim, lengths, part)
    if outcome.plan is not None:
        return outcome.plan
    reason = _reason(order, limits, outcome)
    raise NoPlan(reason, _nearest(order, limits, lengths, budget))


def _check_table(order: CutOrder, limits: Limits, lengths: Lengths | None, budget: Budget) -> None:
    """Raise NoPlan for a garment longer than the table, with a plan on the one that it needs."""
    if limits.table_mm is None or lengths is None:
        return
    needed = {size: lengths.on_table_mm({size: 1}) for size in order.sizes}
    size = max(needed, key=lambda size: needed[size])
    if needed[size] > limits.table_mm:
        longer = replace(limits, table_mm=needed[size])
        how = f"has a table of {cut_length_up(needed[size])}"
        if limits.max_markers is not None:
            how += ", and as many markers as it takes"
        nearest = _any_markers(how, order, longer, lengths, budget)
        raise NoPlan(
            f"{_garment(size)} takes {cut_length_up(needed[size])}, ends included, "
            f"and the table has {cut_length(limits.table_mm)}",
            (nearest,),
        )


def _garment(size: str) -> str:
    return "a garment" if size == ONE_SIZE else f"a garment of size {size}"


def _reason(order: CutOrder, limits: Limits, outcome: Outcome) -> str:
    markers = counted(limits.max_markers or 0, "marker")
    plies = "" if limits.max_plies is None else f" and {counted(limits.max_plies, 'ply')}"
    holding = f"{counted(limits.max_garments, 'garment')}{plies}"
    cuts = {EXACT: "cuts the order exactly", None: "cuts the order"}
    how = cuts.get(order.over_cut, "cuts the order within its over-cut")
    what = f"plan of at most {markers}, each of at most {holding}, {how}"
    if outcome.refuted:
        return f"no {what}; this is proven"
    return f"time was up before any {what}; whether one does is open"


def _nearest(
    order: CutOrder, limits: Limits, lengths: Lengths | None, budget: Budget
) -> tuple[Nearest, ...]:
    """The least over-cut within the limits, where there is such a plan; and the fewest markers."""
    found = []
    if order.over_cut is not None:
        any_cut = replace(order, over_cut=None)
        ladder = Ladder(any_cut, limits, lengths, Goal(Measure.GARMENTS, lays_first=False))
        with budget.part(SHARE) as part:
            ladder.climb(part)
        if ladder.best is not None:
            beyond = counted(ladder.measured - order.garments, "garment")
            found.append(
                Nearest(f"within these limits cuts {beyond} beyond the order", ladder.best)
            )
    found.append(_any_markers("of any number of markers", order, limits, lengths, budget))
    return tuple(found)


def _any_markers(
    how: str, order: CutOrder, limits: Limits, lengths: Lengths | None, budget: Budget
) -> Nearest:
    unlimited = replace(limits, max_markers=None)
    outcome = plan_lays(order, unlimited, Aim.FEWEST_LAYS, lengths, budget)
    assert outcome.plan is not None  # each size by itself is a plan where markers are not limited
    return Nearest(how, outcome.plan.lays)
