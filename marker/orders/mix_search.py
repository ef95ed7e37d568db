"""Mixes of a given number of lays, changed a garment at a time until they cut the order.

With plies that need not be whole, the best use of given mixes is a linear program; what it cannot
cut is a shortfall (or an excess) with a penalty. Its dual prices say how much a garment more of
each size in each lay would help, all lays and sizes at once. The most promising changes are tried
in truth, the best is made, and what was changed rests for a while (tabu search: Glover 1989).
Reduced costs are the guide (Dantzig). Both are from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from marker.orders.budget import Budget
from marker.orders.table import ANY, CutTable, IntArray

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class MixSearchParams:
    """penalty : of a garment too few or too many, in plies of the dearest mix. rest : rounds that a
    changed place is left alone, at least. trials : changes tried in a round. blur : share by which
    a change may be guessed too high. effort : charged for a solved program."""

    penalty: float = 2.0
    rest: int = 10
    trials: int = 6
    blur: float = 0.1
    effort: float = 0.002

    def __post_init__(self) -> None:
        if self.penalty <= 1 or self.rest < 1 or self.trials < 1:
            raise ValueError("the penalty must exceed 1, rest and trials be at least 1")


@dataclass(frozen=True)
class Change:
    """A garment of size `out` leaves a lay's marker, one of size `into` joins; None for none."""

    lay: int
    out: int | None
    into: int | None


class MixSearch:
    """One walk through mixes of a fixed number of lays."""

    def __init__(
        self,
        table: CutTable,
        mixes: IntArray,
        rng: np.random.Generator,
        budget: Budget,
        params: MixSearchParams | None = None,
    ) -> None:
        self._table, self._rng, self._budget = table, rng, budget
        self._params = params or MixSearchParams()
        self._program = _Program(table, mixes, self._params.penalty)
        self._resting: dict[tuple[int, int, bool], int] = {}
        self._round = 0
        self._value = self._solve()

    @property
    def mixes(self) -> IntArray:
        """(lays, sizes), as they are now."""
        return self._program.mixes.copy()

    @property
    def plies(self) -> FloatArray:
        """(lays, colours), not whole."""
        return self._program.plies

    @property
    def cuts_all(self) -> bool:
        """Whether the mixes cut the order, with plies that need not be whole."""
        return self.missed < 1e-6

    @property
    def missed(self) -> float:
        """Garments too few or too many, with plies that need not be whole."""
        return self._program.missed

    def step(self) -> bool:
        """Make the best change of a few; whether there was any to make."""
        self._round += 1
        best: tuple[float, Change] | None = None
        for change in self._promising():
            self._program.make(change)
            value = self._solve()
            self._program.make(Change(change.lay, change.into, change.out))
            if best is None or value < best[0]:
                best = value, change
            if value < self._value - 1e-9:
                break
        if best is None:
            return False
        self._program.make(best[1])
        self._rest(best[1])
        self._value = self._solve()
        return True

    def _solve(self) -> float:
        self._budget.charge(self._params.effort)
        return self._program.solve()

    def _rest(self, change: Change) -> None:
        """What left does not come back soon, what came does not leave soon."""
        until = self._round + self._params.rest + int(self._rng.integers(self._params.rest))
        if change.out is not None:
            self._resting[change.lay, change.out, True] = until
        if change.into is not None:
            self._resting[change.lay, change.into, False] = until

    def _free(self, change: Change) -> bool:
        rests = self._resting
        return (
            change.into is None or rests.get((change.lay, change.into, True), 0) < self._round
        ) and (change.out is None or rests.get((change.lay, change.out, False), 0) < self._round)

    def _promising(self) -> list[Change]:
        """The changes that promise most by the dual prices, a little blurred."""
        every = list(self._every_change())
        if not every:
            return []
        promise = np.array([gain for gain, _ in every])
        scale = max(1e-6, float(np.abs(promise).max()))
        blurred = promise + scale * self._rng.uniform(0, self._params.blur, len(promise))
        found: list[Change] = []
        for number in np.argsort(-blurred, kind="stable"):
            change = every[number][1]
            if self._free(change) and self._allowed(change):
                found.append(change)
            if len(found) == self._params.trials:
                break
        return found

    def _allowed(self, change: Change) -> bool:
        return self._table.allows(_changed(self._program.mixes[change.lay], change))

    def _every_change(self) -> Iterator[tuple[float, Change]]:
        """With what each promises: the worth of its garments less what its plies cost more."""
        worth, plies = self._program.worth(), self.plies.sum(axis=1)
        table, mixes = self._table, self._program.mixes
        sizes = range(mixes.shape[1])
        for lay, mix in enumerate(mixes):
            cost = table.ply_cost(mix)
            outs = [None, *np.flatnonzero(mix).tolist()]
            for out in outs:
                less = 0.0 if out is None else float(worth[lay, out])
                if out is not None and mix.sum() > 1:
                    yield self._promise(Change(lay, out, None), -less, cost, plies[lay])
                if out is None and mix.sum() >= table.holds:
                    continue
                for into in sizes:
                    if into != out:
                        more = float(worth[lay, into]) - less
                        yield self._promise(Change(lay, out, into), more, cost, plies[lay])

    def _promise(
        self, change: Change, worth: float, cost: int, plies: float
    ) -> tuple[float, Change]:
        if self._table.lengths is None:
            return worth, change
        dearer = self._table.ply_cost(_changed(self._program.mixes[change.lay], change)) - cost
        return worth - float(plies) * dearer, change


def _changed(mix: IntArray, change: Change) -> IntArray:
    changed = mix.copy()
    if change.out is not None:
        changed[change.out] -= 1
    if change.into is not None:
        changed[change.into] += 1
    return changed


class _Program:
    """The linear program, kept and changed so that each solution starts from the last."""

    def __init__(self, table: CutTable, mixes: IntArray, penalty: float) -> None:
        self._table = table
        self.mixes = mixes.copy()
        self._penalty = penalty * max(table.ply_cost(mix) for mix in mixes)
        self._build()

    def _build(self) -> None:
        from ortools.linear_solver import pywraplp  # type: ignore[attr-defined]

        table = self._table
        colours, sizes = table.least.shape
        lp = self._lp = pywraplp.Solver.CreateSolver("GLOP")
        infinity = lp.infinity()
        self._cut = [
            [lp.Constraint(float(least), float(most) if most < ANY else infinity)
             for least, most in zip(*of, strict=True)]
            for of in zip(table.least, table.most, strict=True)
        ]  # fmt: skip
        objective = lp.Objective()
        objective.SetMinimization()
        self._missed = []
        for colour in range(colours):
            for size in range(sizes):
                signs = (1.0,) if table.most[colour, size] >= ANY else (1.0, -1.0)
                for sign in signs:
                    variable = lp.NumVar(0, infinity, "")
                    self._cut[colour][size].SetCoefficient(variable, sign)
                    objective.SetCoefficient(variable, self._penalty)
                    self._missed.append(variable)
        self._plies = [[lp.NumVar(0, infinity, "") for _ in range(colours)] for _ in self.mixes]
        for lay, mix in enumerate(self.mixes):
            height = lp.Constraint(-infinity, float(self._table.height))
            for variable in self._plies[lay]:
                height.SetCoefficient(variable, 1.0)
            for place in np.flatnonzero(mix):
                self._set(lay, int(place))
            self._price(lay)

    def _set(self, lay: int, size: int) -> None:
        count = float(self.mixes[lay, size])
        for colour, variable in enumerate(self._plies[lay]):
            self._cut[colour][size].SetCoefficient(variable, count)

    def _price(self, lay: int) -> None:
        cost = float(self._table.ply_cost(self.mixes[lay]))
        for variable in self._plies[lay]:
            self._lp.Objective().SetCoefficient(variable, cost)

    def make(self, change: Change) -> None:
        """Change a mix."""
        self.mixes[change.lay] = _changed(self.mixes[change.lay], change)
        for size in (change.out, change.into):
            if size is not None:
                self._set(change.lay, size)
        if self._table.lengths is not None:
            self._price(change.lay)

    def solve(self) -> float:
        """Cost of the plies and penalty of what is missed."""
        if self._lp.Solve() != self._lp.OPTIMAL:
            self._build()  # what it kept from the last solution may mislead it
            if self._lp.Solve() != self._lp.OPTIMAL:
                return float("inf")
        return float(self._lp.Objective().Value())

    @property
    def missed(self) -> float:
        """Garments too few or too many."""
        return float(sum(variable.solution_value() for variable in self._missed))

    @property
    def plies(self) -> FloatArray:
        """(lays, colours)."""
        return np.array([[each.solution_value() for each in of] for of in self._plies])

    def worth(self) -> FloatArray:
        """What one garment more in each marker is worth, by the prices of the last solution,
        (lays, sizes)."""
        prices = np.array([[row.dual_value() for row in of] for of in self._cut])
        return np.asarray(self.plies @ prices)
