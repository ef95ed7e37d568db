"""Whole plies for mixes that are given: which of them to spread, and how high, in each colour.

With the mixes known, what is cut is linear in the plies. `choose` asks CP-SAT for the best lays
out of a pool (a set covering with fixed charges). `WholePlies` asks for one colour after another,
which is far easier: colours meet only in the height of a lay.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from marker.orders.bounds import rank_modulo
from marker.orders.budget import Budget
from marker.orders.table import ANY, CutTable, IntArray, MixKey

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

LEAST_CHARGE = 0.001
"""Effort that a question costs at the least."""

TOGETHER_EFFORT = 0.2
"""Deterministic effort for the plies of all colours at once."""

SMALL_PRIMES = (2, 3, 5)

COLOUR_EFFORT = 0.02
"""Deterministic effort for the plies of one colour."""


def choose(
    table: CutTable,
    mixes: Sequence[IntArray],
    hint: Sequence[IntArray],
    lay_cost: int,
    effort: float,
    budget: Budget,
) -> list[IntArray] | None:
    """The plies of each mix in the best plan of lays out of these; None if none was found.

    hint : plies of the first mixes, as many as there are. lay_cost : of a lay, beside its plies.
    """
    from ortools.sat.python import cp_model

    cp = cp_model.CpModel()
    used = [cp.new_bool_var("") for _ in mixes]
    plies = []
    for mix, on in zip(mixes, used, strict=True):
        most = table.most_plies_of(mix)
        of = [cp.new_int_var(0, int(n), "") for n in most]
        cp.add(sum(of) <= table.height * on)
        for each, n in zip(of, most, strict=True):
            cp.add(each <= int(n) * on)
        plies.append(of)
    for colour in range(len(table.least)):
        _meet(cp, table, mixes, [of[colour] for of in plies], colour)
    if table.limits.max_markers is not None:
        cp.add(sum(used) <= table.limits.max_markers)
    costs = [table.ply_cost(mix) for mix in mixes]
    a_ply = sum(cost * sum(of) for cost, of in zip(costs, plies, strict=True))
    cp.minimize(lay_cost * sum(used) + a_ply + _markers_cost(cp, table, mixes, used))
    for number, (on, of) in enumerate(zip(used, plies, strict=True)):
        values = hint[number] if number < len(hint) else np.zeros(len(of), dtype=np.int64)
        cp.add_hint(on, bool(values.sum()))
        for each, value in zip(of, values, strict=True):
            cp.add_hint(each, int(value))
    solved = budget.solve(cp, effort, LEAST_CHARGE)
    if not solved.found:
        return None
    return [np.array([solved.solver.value(each) for each in of]) for of in plies]


def _markers_cost(
    cp: cp_model.CpModel, table: CutTable, mixes: Sequence[IntArray], used: Sequence[Any]
) -> Any:
    """Of the different mixes that are used."""
    if not table.marker_cost:
        return 0
    made: dict[MixKey, Any] = {}
    for mix, on in zip(mixes, used, strict=True):
        marker = made.setdefault(tuple(mix.tolist()), cp.new_bool_var(""))
        cp.add_implication(on, marker)
    return table.marker_cost * sum(made.values())


class WholePlies:
    """Looks for whole plies of given mixes.

    One colour after another, those first that failed most often; where more may be cut than is
    wanted, and heights are what is scarce, of all colours at once.
    """

    def __init__(self, table: CutTable) -> None:
        self._table = table
        self._exact = bool((table.least == table.most).all())
        self._failed = np.zeros(len(table.least), dtype=np.int64)

    def plies(
        self, mixes: Sequence[IntArray], guide: npt.NDArray[np.float64], budget: Budget
    ) -> list[IntArray] | None:
        """The plies of each mix; None where none were found.

        guide : plies that need not be whole, (mixes, colours).
        """
        found = self._by_colour(mixes, guide, budget)
        if found is None and not self._exact:
            found = choose(self._table, mixes, [], 0, TOGETHER_EFFORT, budget)
        return found

    def _by_colour(
        self, mixes: Sequence[IntArray], guide: npt.NDArray[np.float64], budget: Budget
    ) -> list[IntArray] | None:
        """None where a colour found none; what later ones will want of a lay is kept for them."""
        if not _divisible(self._table, np.array(mixes)):
            return None
        found = np.zeros((len(mixes), len(self._table.least)), dtype=np.int64)
        whole = np.floor(guide).astype(np.int64)
        for aim in (False, True):
            left = self._table.height - found.sum(axis=1)
            later = np.zeros(len(mixes), dtype=np.int64) if aim else whole.sum(axis=1)
            in_turn = np.argsort(-self._failed, kind="stable")
            for turn, colour in enumerate(in_turn):
                if aim:
                    most = left + found[:, colour]
                else:
                    later = later - whole[:, colour]
                    share = left // (len(in_turn) - turn)
                    most = np.maximum(left - later, whole[:, colour] + 1 + share)
                    most = np.minimum(left, most)
                plies = self._of_colour(mixes, most, int(colour), aim, budget)
                if plies is None and not aim:
                    self._failed[colour] += 1
                    return None
                if plies is not None:
                    left = left + found[:, colour] - plies
                    found[:, colour] = plies
        return list(found)

    def _of_colour(
        self,
        mixes: Sequence[IntArray],
        most: IntArray,
        colour: int,
        cheapest: bool,
        budget: Budget,
    ) -> IntArray | None:
        """The plies of one colour, each at most so many."""
        from ortools.sat.python import cp_model

        table, cp = self._table, cp_model.CpModel()
        plies = [
            cp.new_int_var(0, int(min(n, table.most_plies_of(mix)[colour])), "")
            for mix, n in zip(mixes, most, strict=True)
        ]
        _meet(cp, table, mixes, plies, colour)
        if cheapest:
            cp.minimize(sum(table.ply_cost(mix) * n for mix, n in zip(mixes, plies, strict=True)))
        solved = budget.solve(cp, COLOUR_EFFORT, LEAST_CHARGE)
        return np.array([solved.solver.value(each) for each in plies]) if solved.found else None


def _divisible(table: CutTable, mixes: IntArray) -> bool:
    """Whether whole plies can cut what must be cut exactly, by its remainders modulo small primes.
    Where a size lies in pairs in every marker, an odd number of it can not be cut."""
    exact = (table.least == table.most).all(axis=0)
    if not exact.any():
        return True
    lays, demand = mixes[:, exact], table.least[:, exact]
    return all(
        rank_modulo(np.vstack([lays, demand]), prime) == rank_modulo(lays, prime)
        for prime in SMALL_PRIMES
    )


def _meet(
    cp: cp_model.CpModel,
    table: CutTable,
    mixes: Sequence[IntArray],
    plies: Sequence[Any],
    colour: int,
) -> None:
    """Cut of each size what is wanted, and no more than may be."""
    for size, (least, most) in enumerate(zip(table.least[colour], table.most[colour], strict=True)):
        cut = sum(int(mix[size]) * n for mix, n in zip(mixes, plies, strict=True) if mix[size])
        cp.add_linear_constraint(cut + 0 * plies[0], int(least), int(min(most, ANY)))
