"""Plans of orders too large to be branched on: built at random, thinned out, improved mix by mix.

A plan is built at random, and CP-SAT chooses the best lays out of it. Then a lay is dropped, or
added, or as many are kept. The mixes change until they cut the order with plies that need not be
whole, and whole plies are looked for. When nothing is gained for long, a new plan is begun
(iterated greedy search with restarts; from memory).

After a while half of the effort goes on from the nearest miss of one lay fewer than found, some
garments of it exchanged at random (iterated local search: Lourenço, Martin & Stützle 2003, from
memory). Where it cuts the order, but only with plies that are not whole, all lays stay one ply
lower from then on: what is spared is room for rounding. Where few or no garments beyond the order
may be cut, `whole_walk` goes on from it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from math import inf

import numpy as np

from marker.orders.budget import Budget
from marker.orders.first_plans import random_plan
from marker.orders.mix_search import FloatArray, MixSearch, MixSearchParams
from marker.orders.order import Plan
from marker.orders.plies import WholePlies, choose
from marker.orders.table import ANY, CutTable, IntArray
from marker.orders.whole_walk import WholeWalk

MISSED_LESS = 1e-6
"""Garments by which a near miss is nearer than another, at the least."""

OnPlan = Callable[[Plan], None]


@dataclass(frozen=True)
class LaySearchParams:
    """How plans are looked for.

    starts : plans built before the best of them is improved. tries : most markers grown for each
    lay of theirs. built : effort charged for one. chosen : effort for choosing lays out of it.
    steps : changes of mixes in one attempt. roundings : how often whole plies are looked for in it.
    keep, add : shares of attempts that keep the number of lays, and that add one where fewer lays
    do not come first. patience : attempts without a gain before a new start. later : effort before
    near misses are gone on from, some 40 s. nearing : attempts from near misses that come no
    nearer, before they are left. kick : garments exchanged in one, at
    most. strikes : changes of mixes in vain that end an attempt from one. bold : by how many
    garments a worse miss may be taken, in the mean.
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
    later: float = 50.0
    nearing: int = 200
    kick: int = 6
    strikes: int = 25
    bold: float = 1.5
    mixes: MixSearchParams = field(default_factory=MixSearchParams)


@dataclass(frozen=True)
class _Draft:
    """Mixes (lays, sizes), their plies (lays, colours), and what they cost, lays counted in."""

    mixes: IntArray
    plies: IntArray
    cost: float


@dataclass(frozen=True)
class _NearMiss:
    """Mixes (lays, sizes), and the garments that they miss with plies that need not be whole.

    least : the fewest that any near miss before it missed. spared : plies by which lays stay below
    their limit.
    """

    mixes: IntArray
    missed: float
    least: float
    spared: int = 0


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
        self._kicks = np.random.default_rng((budget.seed, 1))
        self._whole = WholePlies(table)
        self._starts = self._in_vain = self._no_nearer = 0
        self._current: _Draft | None = None
        self._near: _NearMiss | None = None
        self._walk: WholeWalk | None = None
        self._near_spent = self._far_spent = 0.0
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
            if self._starts < self._params.starts:
                self._start(budget, on_plan)
            elif self._near_spent <= self._far_spent and self._from_near(budget, on_plan):
                self._near_spent += budget.spent - begun
            else:
                self._from_current(budget, on_plan)
                self._far_spent += budget.spent - begun

    def _from_near(self, budget: Budget, on_plan: OnPlan) -> bool:
        """Go on from a near miss, if there is one and it is time for it."""
        if self._far_spent < self._params.later:
            return False
        walk, near = self._walk, self._near_miss()
        if walk is not None and len(walk.mixes) < self._fewest_found:
            walk.step(budget)
            if walk.missed == 0:
                self._take(list(walk.mixes), list(walk.plies), on_plan)
        elif near is not None:
            self._no_nearer += 1
            kicked = replace(near, mixes=self._kicked(near.mixes))
            self._attempt(kicked, True, budget, on_plan)
        else:
            return False
        return True

    def _from_current(self, budget: Budget, on_plan: OnPlan) -> None:
        """An attempt from the current plan, or a new one in its place."""
        if self._in_vain < self._params.patience:
            self._in_vain += 1
            self._attempt(_NearMiss(self._lays_to_try(), inf, inf), False, budget, on_plan)
        else:
            self._current, self._in_vain = None, 0
            self._start(budget, on_plan)

    def _near_miss(self) -> _NearMiss | None:
        """One to go on from; it is left where it has not come nearer for long."""
        near = self._near
        if near is None or len(near.mixes) >= self._fewest_found:
            return None
        if self._no_nearer >= self._params.nearing:
            self._near, self._no_nearer = None, 0
        return self._near

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

    def _attempt(self, begun: _NearMiss, kicked: bool, budget: Budget, on_plan: OnPlan) -> None:
        """From mixes to a plan better than the current one. kicked : they are a near miss, of which
        there will be many: it is given up soon, and whole plies are looked for once."""
        assert self._current is not None
        if not len(begun.mixes):
            return
        params, rng = self._params, self._kicks if kicked else self._rng
        strikes, tries = (params.strikes, 1) if kicked else (params.steps, params.roundings)
        table, mixes, spared = self._table, begun.mixes, begun.spared
        search = MixSearch(table, mixes, rng, budget, params.mixes, spared)
        roundings = in_vain = 0
        least, nearest = inf, mixes
        for _ in range(params.steps):
            in_vain += 1
            if search.missed < least - MISSED_LESS:
                least, nearest, in_vain = search.missed, search.mixes, 0
            if search.cuts_all and self._cost(search.mixes, search.plies) < self._current.cost:
                roundings += 1
                whole = self._whole.plies(list(search.mixes), search.plies, budget)
                if whole is not None and self._take(list(search.mixes), whole, on_plan):
                    self._in_vain = self._no_nearer = 0
                    return
            given_up = least > MISSED_LESS and in_vain > strikes
            if given_up or roundings == tries or budget.used_up:
                break
            if not search.step():
                break
        self._note(nearest, least, spared)

    def _note(self, mixes: IntArray, missed: float, spared: int) -> None:
        """Where one lay fewer than found is looked for, go on from these mixes if they are near.

        Where they cut the order but for whole plies, room for rounding up helps only if any number
        may be cut.
        """
        if not self._lays_first or len(mixes) != self._fewest_found - 1:
            return
        near = self._near
        if near is not None and len(near.mixes) != len(mixes):
            near = None
        if near is not None and near.spared != spared:
            return
        if near is None or missed < near.least - MISSED_LESS:
            self._no_nearer = 0
        if missed < MISSED_LESS:
            if (self._table.most >= ANY).all():
                self._near = _NearMiss(mixes, inf, inf, spared + 1)
            elif self._walk is None or len(self._walk.mixes) != len(mixes):
                self._walk = WholeWalk(self._table, mixes, self._kicks)
            return
        least = missed if near is None else min(near.least, missed)
        if near is None or missed <= near.missed + self._kicks.exponential(self._params.bold):
            self._near = _NearMiss(mixes, missed, least, spared)

    def _kicked(self, mixes: IntArray) -> IntArray:
        """The mixes, some garments exchanged at random."""
        kicked, sizes = mixes.copy(), mixes.shape[1]
        for _ in range(int(self._kicks.integers(2, self._params.kick + 1))):
            lay = int(self._kicks.integers(len(kicked)))
            changed = kicked[lay].copy()
            changed[self._kicks.choice(np.flatnonzero(changed))] -= 1
            changed[self._kicks.integers(sizes)] += 1
            if self._table.allows(changed):
                kicked[lay] = changed
        return kicked

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
