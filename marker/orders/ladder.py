"""How many lays: one search for each number of them, and one over mixes, all advanced in turns.

Efforts double from pass to pass, so that neither a number of lays that cannot be refuted nor one
that cannot be found uses up the time of the others.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from marker.orders import bounds
from marker.orders.branching import Search
from marker.orders.budget import Budget
from marker.orders.first_plans import even_plan
from marker.orders.lay_search import LaySearch
from marker.orders.lengths import Lengths
from marker.orders.model import Question
from marker.orders.order import CutOrder, Limits, Measure, Plan
from marker.orders.table import CutTable

FIRST_EFFORT = 0.2
"""Deterministic effort that each search gets in the first pass."""

MOST_PRODUCTS = 400
"""Lays × colours × sizes of a model that is branched on; larger ones are too hard."""


@dataclass(frozen=True)
class Goal:
    """What is best: fewest lays and then the measure, or else the measure and then fewest lays.

    lay_cost : what one lay adds to the measure, where that comes first.
    """

    measure: Measure
    lays_first: bool
    lay_cost: int = 0

    def value(self, lays: int, measure: int) -> int:
        """The measure, lays counted in."""
        return measure + self.lay_cost * lays


@dataclass
class Ladder:
    """The searches for one order, and the best plan so far with its measure."""

    order: CutOrder
    limits: Limits
    lengths: Lengths | None
    goal: Goal
    best: Plan | None = None
    measured: int = 0
    lowest: int = field(init=False)
    _floor: int = field(init=False)
    _searches: dict[int, Search] = field(init=False, default_factory=dict)
    _mixes: LaySearch | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        holds = self.table.holds
        self.lowest = bounds.fewest_lays(self.order, self.limits, holds)
        self._floor = floor(self.order, self.lengths, self.goal.measure, holds)

    @cached_property
    def table(self) -> CutTable:
        """The order as arrays."""
        return CutTable(self.order, self.limits, self.lengths, self.goal.measure)

    @property
    def highest(self) -> int:
        """The most lays worth a search."""
        most = self.order.garments if self.limits.max_markers is None else self.limits.max_markers
        return min(most, len(self.best)) if self.best and self.goal.lays_first else most

    def offer(self, plan: Plan) -> None:
        """A plan that keeps all limits; it counts if it is the first or better than the best."""
        measured = measure(plan, self.goal.measure, self.lengths)
        if self.best is None or self._key(plan, measured) < self._key(self.best, self.measured):
            self.best, self.measured = plan, measured

    def _key(self, plan: Plan, measured: int) -> tuple[int, int]:
        value = self.goal.value(len(plan), measured)
        return (len(plan), value) if self.goal.lays_first else (value, len(plan))

    def climb(self, budget: Budget) -> None:
        """Search until nothing better is left, or the budget is used up."""
        self._begin(budget)
        effort = FIRST_EFFORT
        while not budget.used_up and self._pass(effort, budget):
            effort *= 2

    def _begin(self, budget: Budget) -> None:
        """First plans, whatever the budget."""
        most = self.limits.max_markers
        if most is not None:
            plan = even_plan(self.order, self.limits, self.lengths, most)
            if self.table.keeps(plan):
                self.offer(plan)
        lay_cost = None if self.goal.lays_first else self.goal.lay_cost
        self._mixes = LaySearch(self.table, lay_cost, self.lowest, budget)
        self._mixes.begin(self.best, self.offer)

    def _pass(self, effort: float, budget: Budget) -> bool:
        """Whether there was anything left to search."""
        worked, spent = False, budget.spent
        for lays in range(self.lowest, self.highest + 1):
            # a plan found on the way may have made the rest pointless
            if self.bound(lays) is None or budget.used_up:
                continue
            worked = True
            if not self.small(lays):
                break  # and so are all above
            self._search(lays).work(
                effort, self._cutoff(lays), budget, lambda plan, _: self.offer(plan)
            )
        if worked and self._mixes is not None and not budget.used_up:
            self._mixes.work(max(effort, budget.spent - spent), budget, self.offer)
        return worked

    def small(self, lays: int) -> bool:
        """Whether plans of so many lays can be branched on."""
        return lays * len(self.order.colours) * len(self.order.sizes) <= MOST_PRODUCTS

    def bound(self, lays: int) -> int | None:
        """No plan of this many lays measures less; None if none of them is better than the best."""
        cutoff = self._cutoff(lays)
        if lays in self._searches:
            return self._searches[lays].bound(cutoff)
        return None if cutoff is not None and self._floor > cutoff else self._floor

    def _search(self, lays: int) -> Search:
        if lays not in self._searches:
            question = Question(self.order, self.limits, self.lengths, lays, self.goal.measure)
            self._searches[lays] = Search(question, self._floor)
        return self._searches[lays]

    def _cutoff(self, lays: int) -> int | None:
        """The measure at which a plan of so many lays would be better than the best."""
        if self.best is None or (self.goal.lays_first and lays < len(self.best)):
            return None
        if self.goal.lays_first:
            return self.measured - 1 if lays == len(self.best) else -1
        spared = self.goal.lay_cost * (len(self.best) - lays)
        return self.measured + spared - (0 if lays < len(self.best) else 1)


def floor(order: CutOrder, lengths: Lengths | None, measure: Measure, holds: int) -> int:
    """What no plan can do better than, by counting."""
    if measure is Measure.GARMENTS:
        return order.garments
    if measure is Measure.PLIES or lengths is None:
        return bounds.fewest_plies(order, holds)
    return bounds.least_cost_mm(order, lengths, holds)


def measure(plan: Plan, what: Measure, lengths: Lengths | None) -> int:
    """The measure of a plan."""
    if what is Measure.GARMENTS:
        return sum(lay.cut for lay in plan)
    if what is Measure.PLIES or lengths is None:
        return sum(lay.height for lay in plan)
    return lengths.cost_mm(plan)
