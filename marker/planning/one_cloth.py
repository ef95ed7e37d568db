"""One cloth, spread in one way: laid, and checked by the judge."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from marker.geometry.kernels import is_compiled
from marker.layout import CheckedLayout, Ending, Layout
from marker.placement.problem.as_laid import as_laid
from marker.placement.problem.cutting_plans import Arranged, CuttingPlan, flat_length
from marker.placement.problem.prepare import Stretch
from marker.placement.search.separation import separate
from marker.placement.search.windows import ALONE, Share
from marker.placement.solve import Begun, Result, go_on, solve
from marker.placement.stop import Progress
from marker.planning.events import (
    BetterLayoutFound,
    CompilingBegan,
    OnEvent,
    SearchBegan,
    SearchEnded,
    progressed,
    trying_on,
)
from marker.planning.limits import SearchLimits
from marker.planning.tasks import LayingTask
from marker.tolerances import PROVEN_WITHIN_MM

_NOTHING_LEFT = 0.05
"""Of the time, what is no longer worth telling."""

MATCHED_SHARE = 0.7
"""Of the time of a cloth with matches, what the layout gets; the rest tells what matching costs."""


def lay_task(
    task: LayingTask,
    limits: SearchLimits,
    on_event: OnEvent,
    about: str = "",
    begun: Layout | None = None,
    share: Share = ALONE,
) -> CheckedLayout:
    """Lay one task and have the judge check it.

    limits : what this task gets alone. about : what events call it, the cloth unless given.
    begun : a layout of this task to go on from, where there is one way to cut it, in one stretch.
    share : of the work on that, where several searches go on from it.
    """
    about = about or task.cloth.name
    if not is_compiled(separate):
        on_event(CompilingBegan(about))
    on_event(SearchBegan(about, task.cloth, limits.seconds))
    if any(len(plan) > 1 for plan in task.plans) or task.spreading.ends_meet:
        limits = replace(limits, enough_mm=0.0)  # a stretch of the table tells too little
    matched = limits if task.unmatched is None else limits.part(MATCHED_SHARE)
    search = _Search(task, matched, on_event, about, begun=begun, share=share)
    layout = search.layout()
    if task.unmatched is not None:
        bare = _Search(
            replace(task, plans=(task.unmatched,), unmatched=None),
            limits.part(1 - MATCHED_SHARE),
            on_event,
            f"{about} without its matches",
            tells_layouts=False,
        )
        layout = _compared(layout, *bare.length_and_bound_mm())
    checked = task.checked(layout)
    on_event(SearchEnded(about, checked))
    return checked


def _compared(layout: Layout, unmatched_mm: float, bound_mm: float) -> Layout:
    """A matched layout with what was found, and what is proven, of the same without its matches.

    Every matched layout is an unmatched one, too: a bound of these holds for those.
    """
    bound = max(layout.length_lower_bound_mm, min(bound_mm, layout.length_mm))
    ending = layout.stopped_because
    if ending is Ending.CUT_PROVEN and layout.length_mm <= bound + PROVEN_WITHIN_MM:
        ending = Ending.PROVEN
    return replace(
        layout,
        unmatched_mm=min(layout.length_mm, unmatched_mm),
        length_lower_bound_mm=bound,
        stopped_because=ending,
    )


@dataclass
class _Search:
    """All plans of a task, laid stretch by stretch. Each stretch gets an equal part of the time
    that is left.

    tells_layouts : whether events show them. begun, share : as of `lay_task`.
    best_mm : the shortest layout told of so far. before : seconds that earlier stretches took.
    """

    task: LayingTask
    limits: SearchLimits
    on_event: OnEvent
    about: str
    tells_layouts: bool = True
    begun: Layout | None = None
    share: Share = ALONE
    best_mm: float = field(default=float("inf"), init=False)
    before: float = field(default=0.0, init=False)

    def layout(self) -> Layout:
        """The shortest of the cutting plans, as the search laid each of their stretches."""
        solved = self._solved()
        arranged = [
            [_arranged(part, result) for part, result in zip(plan, results, strict=True)]
            for plan, results in zip(self.task.plans, solved, strict=True)
        ]
        lengths = [self._flat_mm([part.length_mm for part in parts]) for parts in arranged]
        best = min(range(len(lengths)), key=lengths.__getitem__)
        bound = self._bound(solved)
        ending = _ending(solved[best], lengths[best], bound)
        if ending is Ending.SHARE_UP and self._share_of(1) < _NOTHING_LEFT:
            ending = self.limits.time_up
        return self.task.layout(arranged[best], bound, ending, self.limits.seed, self.before)

    def length_and_bound_mm(self) -> tuple[float, float]:
        """Length of the only plan as it was laid, and a proven bound on it, mm."""
        (results,) = solved = self._solved()
        length = self._flat_mm([max(each.length, each.bound) for each in results])
        return length, self._bound(solved)

    @property
    def _is_one_problem(self) -> bool:
        """Whether the layout is that of one problem: there is one way to cut the cloth, in one
        stretch of the table, which stays where it was laid."""
        one = len(self.task.plans) == len(self.task.plans[0]) == 1
        return one and not self.task.start_is_free

    def _solved(self) -> list[list[Result]]:
        """Every stretch of every plan as it was laid."""
        solved, to_do = [], sum(len(plan) for plan in self.task.plans)
        for plan in self.task.plans:
            solved.append(self._solved_plan(plan, to_do))
            to_do -= len(plan)
        return solved

    def _share_of(self, to_do: int) -> float:
        """Of the seconds, what each of so many searches gets that are still to come."""
        spent = self.before / self.limits.seconds if self.limits.seconds else 1.0
        return max(0.0, 1 - spent) / to_do

    def _solved_plan(self, plan: CuttingPlan, to_do: int) -> list[Result]:
        """to_do : stretches of this plan and of those after it."""
        results: list[Result] = []
        for number, part in enumerate(plan):
            limits = self.limits.part(self._share_of(to_do - number))

            def tell(progress: Progress, done: Sequence[Result] = tuple(results)) -> None:
                self._tell(plan, done, progress)

            results.append(self._solved_part(part, limits, tell))
            self.before += results[-1].seconds
        return results

    def _solved_part(
        self, part: Stretch, limits: SearchLimits, tell: Callable[[Progress], None]
    ) -> Result:
        if self.begun is None or not self._is_one_problem or not part.problem.items:
            return solve(part.problem, limits.rule(), limits.seed, limits.workers, tell)
        problem, laid = as_laid(part, self.begun)
        begun = Begun(laid, self.share)
        return go_on(problem, begun, limits.rule(), limits.seed, limits.workers, tell)

    def _tell(self, plan: CuttingPlan, done: Sequence[Result], progress: Progress) -> None:
        """Tell where the search stands. done : the stretches of the plan before this one."""
        trying = (
            trying_on(plan, [each.length for each in done], progress)
            if self.tells_layouts
            else None
        )
        allowed = self.limits.seconds
        self.on_event(progressed(self.about, progress, self.before, allowed, trying))
        if self.tells_layouts and len(done) + 1 == len(plan):
            self._tell_layout(plan, done, progress)

    def _tell_layout(self, plan: CuttingPlan, done: Sequence[Result], progress: Progress) -> None:
        """Tell of the layout now that its last stretch has one, if it is shorter."""
        length = self._flat_mm([*(each.length for each in done), progress.length])
        if length >= self.best_mm:
            return
        self.best_mm = length
        arranged = (
            *(_arranged(part, result) for part, result in zip(plan, done, strict=False)),
            Arranged(plan[-1], progress.problem, progress.arrangement),
        )
        self.on_event(
            BetterLayoutFound(
                self.about,
                self.task,
                arranged,
                self._flat_mm([progress.bound]) if self._is_one_problem else 0.0,
                self.limits.seed,
                self.before + progress.seconds,
            )
        )

    def _flat_mm(self, lengths: Sequence[float]) -> float:
        """Of the cloth opened flat, for stretches of these lengths of the table."""
        return flat_length(self.task.spreading, self.task.cloth, lengths)

    def _bound(self, solved: Sequence[Sequence[Result]]) -> float:
        """A length, mm, than which no way to cut the cloth is shorter.

        That holds for ways with some of the spares as well: whatever one lays open comes behind the
        cuts that all ways have. And all pieces take their area of the cloth opened flat.
        """
        bounds = [[result.bound for result in results] for results in solved]
        shared = [bounds[0], *(each[:1] for each in bounds[1:])]
        area = sum(label.piece.area_mm2 for label in self.task.load.items)
        proven = min(self._flat_mm(each) for each in shared)
        along = self.task.cloth.repeat.along
        if self.task.start_is_free and along:
            # laid in any place of the repeat it could move on, by less than one, to where it was
            # proven for
            proven -= along.every_mm
        return max(area / self.task.cloth.usable_width_mm, proven)


def _arranged(part: Stretch, result: Result) -> Arranged:
    return Arranged(part, result.problem, result.arrangement)


def _ending(results: Sequence[Result], length_mm: float, bound_mm: float) -> Ending:
    """Why the search of all plans ended.

    What is proven of one stretch, or of one way to cut, proves nothing of the others.
    """
    ends = [
        each.ending
        for each in results
        if each.ending is Ending.BY_HAND or each.length > each.bound + PROVEN_WITHIN_MM
    ]
    if ends:
        return Ending.BY_HAND if Ending.BY_HAND in ends else ends[0]
    if length_mm <= bound_mm + PROVEN_WITHIN_MM:
        return results[0].ending
    return Ending.CUT_PROVEN
