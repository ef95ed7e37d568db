"""Plans of orders too large to be branched on: built at random, thinned out, improved mix by mix.

A plan is built at random, and CP-SAT chooses the best lays out of it. Then a lay is dropped, or
added, or as many are kept. The mixes change until they cut the order with plies that need not be
whole, and whole plies are looked for. When nothing is gained for long, a new plan is begun
(iterated greedy search with restarts; from memory).

Where a plan of fewer lays is better whatever else it takes, a share of the effort is for
`annealing`, which looks for one lay fewer. The mixes of a near miss then change in the same way.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from marker.orders.budget import Budget
from marker.orders.first_plans import random_plan
from marker.orders.mix_search import FloatArray, MixSearch, MixSearchParams
from marker.orders.order import Plan
from marker.orders.plies import WholePlies, choose
from marker.orders.table import CutTable, IntArray

if TYPE_CHECKING:
    from marker.orders.annealing import Annealing

OnPlan = Callable[[Plan], None]


@dataclass(frozen=True)
class LaySearchParams:
    """How plans are looked for.

    starts : plans built before the best of them is improved. tries : most markers grown for each
    lay of theirs. built : effort charged for one. chosen : effort for choosing lays out of it.
    steps : changes of mixes in one attempt. roundings : how often whole plies are looked for in it.
    keep, add : shares of attempts that keep the number of lays, and that add one where fewer lays
    do not come first. patience : attempts without a gain before a new start. annealed : share of
    all effort that annealing gets. turn : its effort at a time. strikes : changes of annealed mixes
    in vain before they are given up.
    """

    starts: int = 6
    tries: int = 5
    built: float = 0.02
    chosen: float = 0.5
    steps: int = 60
    roundings: int = 10
    keep: float = 0.2
    add: float = 0.2
    patience: int = 25
    annealed: float = 0.3
    turn: float = 0.5
    strikes: int = 25
    mixes: MixSearchParams = field(default_factory=MixSearchParams)


@dataclass(frozen=True)
class _Draft:
    """Mixes (lays, sizes), their plies (lays, colours), and what they cost, lays counted in."""

    mixes: IntArray
    plies: IntArray
    cost: float


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
        self._lays_first = lay_cost is None
        self._lay_cost = table.dearest_plan if lay_cost is None else lay_cost
        self._params = params or LaySearchParams()
        self._rng = np.random.default_rng(budget.seed)
        self._whole = WholePlies(table)
        self._starts = self._in_vain = 0
        self._current: _Draft | None = None
        self._annealing: Annealing | None = None
        self._annealed = self._spent = 0.0
        self._fewest_found = table.order.garments + 1
        self._best = inf

    def begin(self, plan: Plan | None, on_plan: OnPlan) -> None:
        """A plan to start from, if there is one, and the first at random; takes a moment."""
        if plan is not None:
            mixes, plies = self._table.mixes(plan)
            self._take(list(mixes), list(plies), on_plan)
        random_mixes, random_plies = random_plan(self._table, self._rng, 1)
        self._take(random_mixes, random_plies, on_plan)

    def work(self, effort: float, budget: Budget, on_plan: OnPlan) -> None:
        """Look for better plans until the effort is spent. on_plan : told of each."""
        end = budget.spent + effort
        while budget.spent < end and not budget.used_up:
            begun = budget.spent
            lays = self._lays_to_anneal(budget)
            if lays is not None and self._annealed <= self._params.annealed * self._spent:
                self._anneal(lays, budget, on_plan)
                self._annealed += budget.spent - begun
            elif self._starts < self._params.starts:
                self._start(budget, on_plan)
            else:
                self._from_current(budget, on_plan)
            self._spent += budget.spent - begun

    def _lays_to_anneal(self, budget: Budget) -> int | None:
        """The lays of a plan that would be better whatever else it takes; None if there is none to
        look for, or no time to compile."""
        from marker.orders.annealing import in_time

        most = self._table.limits.max_markers
        too_many = most is not None and self._fewest_found > most
        if not (self._lays_first or too_many):
            return None
        lays = self._fewest_found - int(self._lays_first)
        lays = lays if most is None else min(lays, most)
        if lays < self._fewest or (self._annealing is None and not in_time(budget)):
            return None
        return lays

    def _anneal(self, lays: int, budget: Budget, on_plan: OnPlan) -> None:
        """Go on with the run for so many lays. Mixes of one that misses garments change by prices,
        which seldom takes long."""
        from marker.orders.annealing import Annealing

        if self._annealing is None or self._annealing.lays != lays:
            self._annealing = Annealing(self._table, lays, budget.seed)
        found = self._annealing.work(self._params.turn, budget)
        if found is None or not all(map(self._table.allows, found.mixes)):
            return
        if found.missed:
            self._attempt(found.mixes, self._params.strikes, budget, on_plan)
        else:
            self._take(list(found.mixes), list(found.plies), on_plan)

    def _from_current(self, budget: Budget, on_plan: OnPlan) -> None:
        """An attempt from the current plan, or a new one in its place."""
        if self._in_vain < self._params.patience:
            self._in_vain += 1
            self._attempt(self._lays_to_try(), self._params.steps, budget, on_plan)
        else:
            self._current, self._in_vain = None, 0
            self._start(budget, on_plan)

    def _start(self, budget: Budget, on_plan: OnPlan) -> None:
        """A plan at random, and the best lays out of it."""
        tries = 1 + self._starts % self._params.tries
        self._starts += 1
        budget.charge(self._params.built)
        mixes, plies = random_plan(self._table, self._rng, tries)
        self._take(mixes, plies, on_plan)
        if not budget.used_up:
            effort = self._params.chosen
            chosen = choose(self._table, mixes, plies, self._lay_cost, effort, budget)
            if chosen is not None:
                self._take(mixes, chosen, on_plan)

    def _attempt(self, mixes: IntArray, strikes: int, budget: Budget, on_plan: OnPlan) -> None:
        """From mixes to a plan better than the current one. strikes : changes that come no nearer
        to cutting the order before it is given up."""
        assert self._current is not None
        if not len(mixes):
            return
        search = MixSearch(self._table, mixes, self._rng, budget, self._params.mixes)
        roundings = in_vain = 0
        least = inf
        for _ in range(self._params.steps):
            in_vain += 1
            if search.missed < least:
                least, in_vain = search.missed, 0
            if search.cuts_all and self._cost(search.mixes, search.plies) < self._current.cost:
                roundings += 1
                whole = self._whole.plies(list(search.mixes), search.plies, budget)
                if whole is not None and self._take(list(search.mixes), whole, on_plan):
                    self._in_vain = 0
                    return
            given_up = not search.cuts_all and in_vain > strikes
            if given_up or roundings == self._params.roundings or budget.used_up:
                return
            if not search.step():
                return

    def _lays_to_try(self) -> IntArray:
        """Mixes of as many lays as the current plan has, of one less, or of one more."""
        assert self._current is not None
        draft = self._current
        lot = self._rng.random()
        if lot < self._params.keep:
            return draft.mixes
        if not self._lays_first and lot < self._params.keep + self._params.add:
            again = draft.mixes[self._rng.integers(len(draft.mixes))]
            return np.vstack([draft.mixes, again])
        if len(draft.mixes) <= self._fewest:
            return draft.mixes
        weights = 1 / (draft.plies.sum(axis=1) * draft.mixes.sum(axis=1))
        dropped = self._rng.choice(len(draft.mixes), p=weights / weights.sum())
        return np.delete(draft.mixes, dropped, axis=0)

    def _cost(self, mixes: IntArray, plies: IntArray | FloatArray) -> float:
        """Of a plan, lays counted in; those beyond the markers allowed cost more than all else."""
        height = plies.sum(axis=1)
        costs = np.array([self._table.ply_cost(mix) for mix in mixes])
        lays = int((height > 0).sum())
        most = self._table.limits.max_markers
        beyond = 0 if most is None else max(0, lays - most)
        markers = len({tuple(mix) for mix in mixes[height > 0].tolist()})
        return (
            float(height @ costs)
            + self._table.marker_cost * markers
            + self._lay_cost * lays
            + self._table.dearest_plan * beyond
        )

    def _take(self, mixes: list[IntArray], plies: list[IntArray], on_plan: OnPlan) -> bool:
        """Go on from a plan if it is better than the current one; whether it was."""
        used = [of.sum() > 0 for of in plies]
        kept, heights = np.array(mixes)[used], np.array(plies)[used]
        draft = _Draft(kept, heights, self._cost(kept, heights))
        if self._current is not None and draft.cost >= self._current.cost:
            return False
        self._current = draft
        most = self._table.limits.max_markers
        if draft.cost < self._best and (most is None or len(kept) <= most):
            self._best = draft.cost
            self._fewest_found = len(kept)
            on_plan(self._table.plan(kept, heights))
        return True
