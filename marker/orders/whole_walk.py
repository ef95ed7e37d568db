"""Mixes changed at random until whole plies cut what may be neither missed nor exceeded.

Where garments beyond the order are few or none, mixes that cut it with plies that are not whole
seldom do with whole ones. So what whole plies miss is what counts here: CP-SAT finds the least of
each colour. A change is kept unless it is much worse (threshold accepting: Dueck & Scheuer 1990,
from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.orders.budget import Budget
from marker.orders.table import ANY, CutTable, IntArray

FAR = 1 << 20
"""Stands for what is missed where nothing was found."""


@dataclass(frozen=True)
class WholeWalkParams:
    """bold : garments by which a change may be worse, in the mean. patience : changes without a new
    least before `kick` of them are made at once. effort : for one colour, at the most. charged : at
    the least."""

    bold: float = 0.35
    patience: int = 400
    kick: int = 4
    effort: float = 0.02
    charged: float = 0.003


class WholeWalk:
    """One walk through mixes of a fixed number of lays.

    missed : garments too few or too many, and plies too many, with the whole plies found.
    """

    def __init__(
        self,
        table: CutTable,
        mixes: IntArray,
        rng: np.random.Generator,
        params: WholeWalkParams | None = None,
    ) -> None:
        self._table, self._rng = table, rng
        self._params = params or WholeWalkParams()
        self._in_vain = 0
        self._least = FAR
        self.mixes = mixes
        self.plies = np.zeros((len(mixes), len(table.least)), dtype=np.int64)
        self.missed = FAR

    def step(self, budget: Budget) -> None:
        """Try a change."""
        kicked = self._in_vain > self._params.patience
        worst = self.missed + self._rng.exponential(self._params.bold)
        if kicked or self.missed == FAR:
            self._in_vain, self._least, worst = 0, FAR, FAR
        mixes = self._changed(self._params.kick if kicked else 1)
        found = self._plies(mixes, worst, budget)
        self._in_vain += 1
        if found is None:
            return
        self.missed, self.plies = found
        self.mixes = mixes
        if self.missed < self._least:
            self._least, self._in_vain = self.missed, 0

    def _changed(self, times: int) -> IntArray:
        """The mixes with garments exchanged, left out or put in."""
        mixes, sizes = self.mixes.copy(), self.mixes.shape[1]
        for _ in range(times):
            lay = int(self._rng.integers(len(mixes)))
            mix = mixes[lay].copy()
            out, into = self._rng.random(2) < (0.75, 0.85)
            if out or mix.sum() >= self._table.holds:
                mix[self._rng.choice(np.flatnonzero(mix))] -= 1
            if into:
                mix[self._rng.integers(sizes)] += 1
            if self._table.allows(mix):
                mixes[lay] = mix
        return mixes

    def _plies(self, mixes: IntArray, worst: float, budget: Budget) -> tuple[int, IntArray] | None:
        """What is missed, and the plies (lays, colours); None where more than `worst` is."""
        plies = np.zeros_like(self.plies)
        missed = 0
        for colour in range(plies.shape[1]):
            found = self._of_colour(mixes, colour, budget)
            if found is None:
                return None
            missed += found[0]
            plies[:, colour] = found[1]
            if missed > worst:
                return None
        missed += int(np.maximum(plies.sum(axis=1) - self._table.height, 0).sum())
        return None if missed > worst else (missed, plies)

    def _of_colour(
        self, mixes: IntArray, colour: int, budget: Budget
    ) -> tuple[int, IntArray] | None:
        """The least missed of one colour, with its plies."""
        from ortools.sat.python import cp_model

        cp, table = cp_model.CpModel(), self._table
        plies = [cp.new_int_var(0, table.height, "") for _ in mixes]
        off = []
        for size, least in enumerate(table.least[colour].tolist()):
            most = min(int(table.most[colour, size]), ANY)
            fewer, more = (cp.new_int_var(0, max(least, 1) * 2, "") for _ in range(2))
            cut = sum(int(mix[size]) * of for mix, of in zip(mixes, plies, strict=True))
            cp.add_linear_constraint(cut + fewer - more, least, most)
            off += [fewer, more]
        cp.minimize(sum(off))
        solved = budget.solve(cp, self._params.effort, self._params.charged)
        if not solved.found:
            return None
        value = solved.solver.value
        return round(solved.solver.objective_value), np.array([value(each) for each in plies])
