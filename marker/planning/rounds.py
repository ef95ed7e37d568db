"""An order planned in rounds.

The lengths of markers are estimated, and those of a plan are laid. Then the order is planned again
with what was learned, until that changes nothing. What time is left then goes into the markers of
the plan. One allowance is for all of it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from marker.orders.budget import Budget
from marker.orders.feasible import Nearest, NoPlan, plan_or_nearest
from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Limits
from marker.orders.planning import Aim, CutPlan, Tier, by_counting
from marker.orders.table import on_table
from marker.planning.laid_markers import LaidMarkers
from marker.units import cut_length, cut_length_up
from marker.words import counted

MOST_ROUNDS, HOPEFUL_ROUNDS = 8, 6
DOUBT = {0: 1.0, 1: 2.0}
"""How often an order is planned at most. Once the hopeful rounds are over, what was not laid counts
as no better than the worst that was, at last as twice that: then the plan comes to rest."""

MOST_SHORTER = 3
"""How often shorter plies are tried where the rolls do not suffice."""

PLANNING_EFFORT = 5.0
"""Deterministic effort of a round's planning, where no seconds limit it."""


@dataclass(frozen=True)
class TimeShares:
    """Parts of the seconds that are left, but for the first, which is of all.

    estimate : for the markers that the first estimate comes from. plan : for a round's planning.
    leisure : for planning once nothing else is to be done. lay : for its markers. improve : for
    laying the markers of a settled plan again. kept : of all, for the last planning.
    """

    estimate: float = 0.1
    plan: float = 0.12
    leisure: float = 0.5
    lay: float = 0.3
    improve: float = 0.7
    kept: float = 0.06


SHARES = TimeShares()


@dataclass(frozen=True)
class Allowance:
    """Seconds of wall time for a plan and all its markers; None for no limit.

    began : by the monotonic clock.
    """

    seconds: float | None
    began: float = field(default_factory=time.monotonic)

    @property
    def left(self) -> float | None:
        """Never below 0; None for no limit."""
        if self.seconds is None:
            return None
        return max(0.0, self.began + self.seconds - time.monotonic())

    def part(self, share: float, kept: float = 0.0) -> float | None:
        """A share of what is left but for a share of all that is kept."""
        if self.left is None or self.seconds is None:
            return None
        return share * max(0.0, self.left - kept * self.seconds)


@dataclass(frozen=True)
class Settled:
    """The best plan met, its value and bound with the lengths known in the end.

    rounds : how often the order was planned. stable : planning again would change nothing.
    """

    plan: CutPlan
    rounds: int
    stable: bool


@dataclass
class Rounds:
    """Planning and laying in turns, for one cloth.

    missing : cloth, mm, that the rolls lack for a plan whose markers are laid. shorter_mm : plies,
    as long as these on the table, that suit the rolls better; the longest first.
    """

    order: CutOrder
    limits: Limits
    aim: Aim
    markers: LaidMarkers
    first: Lengths
    allowance: Allowance
    seed: int
    on_plan: Callable[[CutPlan], None]
    missing: Callable[[CutPlan], int] = lambda _: 0
    shorter_mm: Sequence[int] = ()
    _limits: Limits = field(init=False)
    _plans: list[CutPlan] = field(init=False, default_factory=list)
    _before: int = field(init=False, default=0)
    _asked: tuple[Lengths, CutPlan] | None = field(init=False, default=None)
    _at_leisure: bool = field(init=False, default=False)
    _shortened: int = field(init=False, default=0)
    _lacked: dict[tuple[int, tuple[int, ...]], int] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self._limits = self.limits

    def settled(self) -> Settled:
        """Plan until nothing changes, or the time is up. Raises NoPlan where there is none.

        Asked again, with another allowance, it goes on from what it has.
        """
        self._before = len(self._plans)
        stable = self._run()
        lengths = self.markers.fitted(self.first, 0.0)
        asked = None
        if self._asked is not None and self._asked[0].known == lengths.known:
            lengths, asked = self._asked  # what the last search proved holds for these lengths
        best = self._best(lengths)
        plan = self._counted(best, lengths)
        if asked is not None:
            main, *rest = plan.tiers
            tiers = (Tier(main.what, main.value, max(main.bound, asked.tiers[0].bound)), *rest)
            plan = replace(plan, tiers=asked.tiers if asked is best else tiers)
        return Settled(plan, len(self._plans), stable and best is self._plans[-1])

    def _run(self) -> bool:
        """Whether one more round would change nothing."""
        while True:
            plan = self._planned()
            if plan is None:
                return False
            self._plans.append(plan)
            self.on_plan(plan)
            mixes = [lay.garments for lay in plan.lays]
            new = self.markers.lay_new(mixes, self.allowance.part(SHARES.lay, SHARES.kept))
            if self._over:
                return not (new or self.markers.ended or self._hurried)
            if not (new or self._shorten() or self._improved() or self._may_think_longer()):
                return not self.markers.ended

    @property
    def _hurried(self) -> bool:
        """Whether seconds may have cut the last plan's search short."""
        timed = self.allowance.seconds is not None
        return timed and self._asked is not None and not self._asked[1].optimal

    def _may_think_longer(self) -> bool:
        """Whether to plan once more, with much of the time that is left."""
        if self._at_leisure or not self._hurried:
            return False
        self._at_leisure = True
        return True

    def _shorten(self) -> bool:
        """Where the rolls lack cloth for the best plan, plan with shorter plies; whether to."""
        self._limits = self.limits
        lengths = self.markers.fitted(self.first, 0.0)
        best = self._best(lengths)
        if self._shortened >= MOST_SHORTER or not self.shorter_mm:
            return False
        if not self._missing_of(best, lengths):
            return False
        longest = max(lengths.on_table_mm(lay.garments) for lay in self._plans[-1].lays)
        table = next((each for each in self.shorter_mm if each < longest), None)
        if table is None:
            return False
        self._shortened += 1
        self._limits = replace(self.limits, table_mm=table)
        return True

    @property
    def _over(self) -> bool:
        """Whether no further round begins."""
        left = self.allowance.part(1.0, SHARES.kept)
        no_time = left is not None and left <= 0
        rounds = len(self._plans) - self._before - self._shortened
        return no_time or self.markers.ended or rounds >= MOST_ROUNDS

    def _planned(self) -> CutPlan | None:
        """The plan by what is known; None where there is none only by what is doubted, or with
        plies so short."""
        doubt = DOUBT.get(len(self._plans) - self._before - HOPEFUL_ROUNDS, 0.0)
        lengths = self.markers.fitted(self.first, doubt)
        seconds = self.allowance.part(SHARES.lay, SHARES.kept)
        if self.markers.lay_new(self._too_long_alone(lengths), seconds):
            lengths = self.markers.fitted(self.first, doubt)
        try:
            plan = plan_or_nearest(self.order, self._limits, self.aim, lengths, self._budget())
        except NoPlan:
            if any(self._fits(earlier, lengths) for earlier in self._plans):
                return None
            raise
        self._asked = (lengths, plan) if self._limits == self.limits else None
        return plan

    def _budget(self) -> Budget:
        seconds = self.allowance.part(SHARES.leisure if self._at_leisure else SHARES.plan)
        effort = PLANNING_EFFORT if seconds is None else None
        return Budget(seconds, effort, self.seed, self.markers.stop)

    def _improved(self) -> bool:
        """Lay the markers of the best plan again, with time that is left; whether one got
        shorter."""
        mixes = [lay.garments for lay in self._best(self.markers.fitted(self.first, 0.0)).lays]
        seconds = self.allowance.part(SHARES.improve, SHARES.kept)
        return seconds is not None and self.markers.lay_again(mixes, seconds)

    def _too_long_alone(self, lengths: Lengths) -> list[Mapping[str, int]]:
        """Markers of one garment that seem longer than the table: laid before that is said."""
        alone = ({size: 1} for size in self.order.sizes)
        return [each for each in alone if not on_table(each, self._limits, lengths)]

    def _missing_of(self, plan: CutPlan, lengths: Lengths) -> int:
        """Cloth that the rolls lack for a plan with its markers as long as they are."""
        key = id(plan), tuple(lengths.of(lay.garments) for lay in plan.lays)
        if key not in self._lacked:
            self._lacked[key] = self.missing(plan)
        return self._lacked[key]

    def _counted(self, plan: CutPlan, lengths: Lengths) -> CutPlan:
        """The plan with its values at these lengths, and what counting proves of it."""
        return by_counting(self.order, self.limits, self.aim, lengths, plan.lays)

    def _fits(self, plan: CutPlan, lengths: Lengths) -> bool:
        return all(on_table(lay.garments, self.limits, lengths) for lay in plan.lays)

    def _best(self, lengths: Lengths) -> CutPlan:
        """The best plan whose markers fit the table as laid, the latest of several; none comes
        before one that the rolls lack less cloth for."""

        def values(plan: CutPlan) -> list[int]:
            tiers = self._counted(plan, lengths).tiers
            return [self._missing_of(plan, lengths), *(tier.value for tier in tiers)]

        fitting = [plan for plan in self._plans if self._fits(plan, lengths)]
        if fitting:
            return min(fitting[::-1], key=values)
        tables = {
            max(lengths.on_table_mm(lay.garments) for lay in plan.lays): plan.lays
            for plan in self._plans
        }
        raise NoPlan(
            f"no plan was found in {counted(len(self._plans), 'round')} whose markers, once laid, "
            f"fit a table of {cut_length(self.limits.table_mm or 0)}",
            (Nearest(f"has a table of {cut_length_up(min(tables))}", tables[min(tables)]),),
        )
