"""Plans of orders too large to be branched on: built at random, thinned out, improved mix by mix.

First plans are built at random, and CP-SAT chooses the best lays out of each. From the best plan a
lay is then dropped (or its plies are made fewer with as many lays), the mixes of the others change
until they cut the order with plies that need not be whole, and whole plies are looked for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from marker.orders.budget import Budget
from marker.orders.construct import random_plan
from marker.orders.mix_search import MixSearch, MixSearchParams
from marker.orders.order import Plan
from marker.orders.plies import ByColour, choose
from marker.orders.table import CutTable, IntArray


@dataclass(frozen=True)
class LaySearchParams:
    """How plans are looked for.

    starts : plans built at random before the best is improved. tries : markers grown for each of
    their lays. built : effort charged for one. chosen : effort for choosing lays out of a plan.
    steps : changes of mixes in one attempt. roundings : how often whole plies are looked for in it.
    polish : share of attempts that keep the number of lays.
    """

    starts: int = 6
    tries: int = 2
    built: float = 0.02
    chosen: float = 2.0
    steps: int = 60
    roundings: int = 12
    polish: float = 0.2
    mixes: MixSearchParams = MixSearchParams()


class LaySearch:
    """A search that can be left and taken up again.

    lay_cost : of one lay, in what plies are counted by; None where fewer lays come before all else.
    fewest : no plan has fewer lays.
    """

    def __init__(
        self,
        table: CutTable,
        lay_cost: int | None,
        fewest: int,
        budget: Budget,
        params: LaySearchParams | None = None,
    ) -> None:
        self._table, self._fewest = table, fewest
        self._lay_cost = table.dearest_plan if lay_cost is None else lay_cost
        self._params = params or LaySearchParams()
        self._rng = np.random.default_rng(budget.seed)
        self._by_colour = ByColour(table)
        self._starts = 0
        self._mixes: IntArray | None = None
        self._plies: IntArray = np.empty((0, 0))
        self._value = 0

    def work(self, effort: float, budget: Budget, on_plan: Callable[[Plan], None]) -> None:
        """Look for better plans until the effort is spent. on_plan : told of each."""
        end = budget.spent + effort
        while budget.spent < end and not budget.used_up:
            if self._starts < self._params.starts:
                self._start(budget, on_plan)
            elif self._mixes is None:
                return
            else:
                self._attempt(budget, on_plan)

    def _start(self, budget: Budget, on_plan: Callable[[Plan], None]) -> None:
        """One more plan at random; after the last, lays chosen out of the best."""
        self._starts += 1
        budget.charge(self._params.built)
        mixes, plies = random_plan(self._table, self._rng, self._params.tries)
        self._offer(np.array(mixes), np.array(plies), on_plan)
        if self._starts == self._params.starts and self._mixes is not None:
            self._choose(list(self._mixes), list(self._plies), budget, on_plan)

    def _choose(
        self,
        mixes: list[IntArray],
        hint: list[IntArray],
        budget: Budget,
        on_plan: Callable[[Plan], None],
    ) -> None:
        effort = self._params.chosen
        plies = choose(self._table, mixes, hint, self._lay_cost, effort, budget)
        if plies is not None:
            self._offer(np.array(mixes), np.array(plies), on_plan)

    def _attempt(self, budget: Budget, on_plan: Callable[[Plan], None]) -> None:
        """From the best plan to one of fewer lays, or of less."""
        assert self._mixes is not None
        mixes = self._mixes
        if len(mixes) > self._fewest and self._rng.random() >= self._params.polish:
            weights = 1 / (self._plies.sum(axis=1) * mixes.sum(axis=1))
            dropped = self._rng.choice(len(mixes), p=weights / weights.sum())
            mixes = np.delete(mixes, dropped, axis=0)
        if not len(mixes):
            return
        search = MixSearch(self._table, mixes, self._rng, budget, self._params.mixes)
        roundings = 0
        for _ in range(self._params.steps):
            if search.cuts_all and self._cost(search.mixes, search.plies) < self._value:
                roundings += 1
                plies = self._by_colour.plies(list(search.mixes), search.plies, budget)
                if plies is not None and self._offer(search.mixes, np.array(plies), on_plan):
                    return
            if roundings == self._params.roundings or budget.used_up or not search.step():
                return

    def _cost(self, mixes: IntArray, plies: IntArray) -> float:
        """Of a plan, lays counted in."""
        used = plies.sum(axis=1) > 0
        costs = [self._table.ply_cost(mix) for mix in mixes]
        return float(plies.sum(axis=1) @ np.array(costs)) + self._lay_cost * int(used.sum())

    def _offer(
        self, mixes: IntArray, plies: IntArray, on_plan: Callable[[Plan], None]
    ) -> bool:
        """Keep a plan if it is better; whether it was."""
        used = plies.sum(axis=1) > 0
        mixes, plies = mixes[used], plies[used]
        most = self._table.limits.max_markers
        value = round(self._cost(mixes, plies))
        better = self._mixes is None or value < self._value
        if better:
            self._mixes, self._plies, self._value = mixes, plies, value
            if most is None or len(mixes) <= most:
                on_plan(self._table.plan(mixes, plies))
        return better
