"""The best plan of a given number of lays, by branching on the plies.

Once the plies of one lay are known its products are linear, and CP-SAT settles what it could not
with all of them open. So each question gets a little effort. If that is not enough, the range of
plies of the highest lay is halved, and both halves are asked. The part of the lowest bound comes
first (branch and bound: Land & Doig 1960, from memory).
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass, field

from marker.orders.budget import Budget
from marker.orders.model import Question, Ranges, build, widest
from marker.orders.order import Plan

EFFORT = 0.05
"""Deterministic effort of one question, before its part is halved."""

LEAST_CHARGE = 0.005
"""Effort that asking costs at the least: building the model and presolving it."""

OnPlan = Callable[[Plan, int], None]


@dataclass(order=True)
class Part:
    """Plans whose plies lie in `ranges`; none is better than `bound`. asked : breaks ties."""

    bound: int
    asked: int
    ranges: Ranges = field(compare=False)
    effort: float = field(compare=False, default=EFFORT)


@dataclass(frozen=True)
class _Answer:
    """plan : the best found, with its value. settled : nothing better is in the part. bound : no
    plan in it is better than this."""

    plan: Plan | None
    value: int
    settled: bool
    bound: int


class Search:
    """A search that can be left and taken up again.

    floor : no plan is better, by counting alone.
    """

    def __init__(self, question: Question, floor: int) -> None:
        self.question = question
        self._open = [Part(floor, 0, widest(question))]
        self._asked = 0

    def bound(self, cutoff: int | None) -> int | None:
        """No plan of at most `cutoff` (None for any) is better; None if there is no such plan."""
        if not self._open or (cutoff is not None and self._open[0].bound > cutoff):
            return None
        return self._open[0].bound

    def work(self, effort: float, cutoff: int | None, budget: Budget, on_plan: OnPlan) -> None:
        """Look for plans of at most `cutoff`, each better than the last, until the effort is spent.

        on_plan : called with each plan found and its value.
        """
        while effort > 0 and self.bound(cutoff) is not None and not budget.used_up:
            part = heapq.heappop(self._open)
            answer, spent = _ask(self.question, part, cutoff, budget)
            effort -= spent
            if answer.plan is not None:
                on_plan(answer.plan, answer.value)
                cutoff = answer.value - 1
            if not answer.settled:
                self._halve(part, answer.bound, budget.used_up)

    def _halve(self, part: Part, bound: int, cut_short: bool) -> None:
        """Put the part back, in halves unless time cut the question short."""
        bound = max(part.bound, bound)
        halves = [] if cut_short else _halves(part.ranges)
        if not halves:
            self._push(bound, part.ranges, part.effort * 2)
        for ranges in halves:
            self._push(bound, ranges, part.effort)

    def _push(self, bound: int, ranges: Ranges, effort: float) -> None:
        self._asked += 1
        heapq.heappush(self._open, Part(bound, self._asked, ranges, effort))


def _halves(ranges: Ranges) -> list[Ranges]:
    """Both halves of the first range still open, so of the highest lay, which cuts most."""
    for lay, a_lay in enumerate(ranges):
        for colour, (low, high) in enumerate(a_lay):
            if low < high:
                middle = (low + high) // 2
                halves = ((low, middle), (middle + 1, high))
                return [_with(ranges, lay, colour, half) for half in halves]
    return []


def _with(ranges: Ranges, lay: int, colour: int, range_: tuple[int, int]) -> Ranges:
    changed = [list(a_lay) for a_lay in ranges]
    changed[lay][colour] = range_
    return tuple(tuple(a_lay) for a_lay in changed)


def _ask(
    question: Question, part: Part, cutoff: int | None, budget: Budget
) -> tuple[_Answer, float]:
    """What CP-SAT says of a part within the effort it may spend; the effort spent."""
    model = build(question, part.ranges, part.bound, cutoff)
    solved = budget.solve(model.cp, part.effort, LEAST_CHARGE)
    if solved.refuted:
        return _Answer(None, 0, True, part.bound), solved.spent
    bound = round(solved.solver.best_objective_bound)
    if not solved.found:
        return _Answer(None, 0, False, part.bound), solved.spent
    value, plan = round(solved.solver.objective_value), model.lays(solved.solver.value)
    return _Answer(plan, value, solved.optimal, bound), solved.spent
