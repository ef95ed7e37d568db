"""The whole flow on one page: job -> cut pieces -> placement -> checked layout -> purchase."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from threading import Event

from marker import judge
from marker.cloth.fabric import Cloth
from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone
from marker.job import Job
from marker.layout import CheckedLayout, Layout
from marker.layout.ending import Ending
from marker.pattern.piece import CutPiece
from marker.placement.problem.cuts import Label, labels
from marker.placement.problem.cutting_plans import (
    Arranged,
    CuttingPlan,
    cutting_plans,
    flat_length,
    in_order,
    opened_flat,
)
from marker.placement.problem.ties import ties
from marker.placement.solve import Result, solve
from marker.placement.stop import (
    Flag,
    Progress,
    Stop,
    after_iterations,
    after_seconds,
    at_bound,
    decided,
    first_of,
    when_set,
)
from marker.tolerances import PROVEN_WITHIN_MM

__all__ = ["Limits", "Load", "Task", "lay", "loads", "spread", "tasks"]

MATCHED_SHARE = 0.7
"""Of the time of a cloth with matches, what the layout gets; the rest tells what matching costs."""


@dataclass(frozen=True)
class Limits:
    """How long to search (whichever comes first), from which seed, on how many cores.

    interrupted : set it to have the search end with the best layout so far.
    enough_mm, hopeless_mm : it ends at a layout that short, and once none is proven to be that
        short.
    """

    seconds: float | None = None
    iterations: int | None = None
    seed: int = 0
    workers: int = 2
    interrupted: Flag = field(default_factory=Event)
    enough_mm: float = 0.0
    hopeless_mm: float = float("inf")

    def stop(self, share: float) -> Stop:
        """The stop rule of a task that gets this share of the time; every task its own."""
        rules = [when_set(self.interrupted), at_bound(), decided(self.enough_mm, self.hopeless_mm)]
        if self.seconds is not None:
            rules.append(after_seconds(self.seconds * share))
        if self.iterations is not None:
            rules.append(after_iterations(self.iterations))
        return first_of(*rules)


@dataclass(frozen=True)
class Load:
    """What one cloth of a job holds.

    share : part of the job's time that this cloth gets.
    """

    job: Job
    cloth: Cloth
    cut_pieces: tuple[CutPiece, ...]
    items: tuple[Label, ...]
    share: float


@dataclass(frozen=True)
class Task(Load):
    """A cloth's load with the cloth spread in one way.

    plans : ways to cut it, of one or two stretches each; all are laid, the shortest counts.
    unmatched : a way to cut it without its matches, to tell what they cost; None without any.
    """

    spreading: Spreading
    plans: tuple[CuttingPlan, ...]
    unmatched: CuttingPlan | None


def loads(job: Job, cloths: Sequence[Cloth] | None = None) -> tuple[Load, ...]:
    """One for each cloth that something is cut from, the main cloth first.

    cloths : those of the job that are asked for, None for all.
    Raises CannotBeDone for a piece or strip that can't be cut from its cloth.
    """
    found = []
    for cloth in job.cloths if cloths is None else cloths:
        pieces = job.cut_pieces(cloth)
        items = labels(pieces, job.garments)
        if items:
            found.append((cloth, pieces, items))
    if not found:
        raise CannotBeDone(f"{job.name} has nothing to cut. Give it pieces or strips.")
    total = sum(len(items) for _, _, items in found)
    # half the time in equal parts, so that a cloth of few pieces gets enough, half by pieces
    return tuple(
        Load(job, *parts, share=0.5 / len(found) + 0.5 * len(parts[2]) / total) for parts in found
    )


def spread(load: Load, spreading: Spreading) -> Task:
    """The load with its cloth spread like this; raises CannotBeDone where that can't be."""
    cloth, pieces = load.cloth, load.cut_pieces
    plans = cutting_plans(load.items, spreading, cloth, ties(pieces, cloth))
    unmatched = None
    if any(piece.match_points for piece in pieces):
        bare = [replace(piece, match_points=()) for piece in pieces]
        unmatched = cutting_plans(load.items, spreading, cloth, ties(bare, cloth))[0]
    return Task(**vars(load), spreading=spreading, plans=plans, unmatched=unmatched)


def tasks(job: Job, spreading: Spreading | None = None) -> tuple[Task, ...]:
    """Every load with its cloth spread like this; if None, as each cloth says itself."""
    return tuple(spread(load, spreading or load.cloth.spread) for load in loads(job))


def lay(task: Task, limits: Limits, on_progress: Callable[[Progress], None]) -> CheckedLayout:
    """Lay one task and have the judge check it."""
    share = task.share * (1.0 if task.unmatched is None else MATCHED_SHARE)
    share /= sum(len(plan) for plan in task.plans)
    if any(len(plan) > 1 for plan in task.plans) or task.spreading.ends_meet:
        limits = replace(limits, enough_mm=0.0)  # a stretch of the table tells too little
    solved = [_solved(plan, share, limits, on_progress) for plan in task.plans]
    layout = _best(task, solved, limits.seed)
    if task.unmatched is not None:
        bare = _solved(task.unmatched, task.share * (1 - MATCHED_SHARE), limits, lambda _: None)
        lengths = [max(each.length, each.bound) for each in bare]
        # a matched layout is an unmatched one, too
        unmatched = min(layout.length_mm, flat_length(task.spreading, task.cloth, lengths))
        layout = replace(layout, unmatched_mm=unmatched)
    return judge.check(layout, task.cut_pieces, task.job.garments)


def _solved(
    plan: CuttingPlan, share: float, limits: Limits, on_progress: Callable[[Progress], None]
) -> list[Result]:
    """Each stretch of a plan laid in this share of the time."""
    return [
        solve(part.problem, limits.stop(share), limits.seed, limits.workers, on_progress)
        for part in plan
    ]


def _best(task: Task, solved: Sequence[Sequence[Result]], seed: int) -> Layout:
    """The shortest of the cutting plans, as the search laid each of their stretches."""
    every = [
        opened_flat(task.spreading, task.cloth, [
            Arranged(part, result.problem, result.arrangement)
            for part, result in zip(plan, results, strict=True)
        ])
        for plan, results in zip(task.plans, solved, strict=True)
    ]  # fmt: skip
    best = min(range(len(every)), key=lambda k: every[k].length_mm)
    bound = _bound(task, solved)
    return Layout(
        job_name=task.job.name,
        cloth=task.cloth,
        placements=in_order(every[best].placements, task.items),
        # outlines are rounded to a grid: what that gains must not beat what is proven
        length_mm=max(every[best].length_mm, bound),
        length_lower_bound_mm=bound,
        stopped_because=_ending(solved[best], every[best].length_mm, bound),
        seed=seed,
        seconds=sum(result.seconds for results in solved for result in results),
        spread=every[best].spread,
        spares=every[best].spares,
    )


def _ending(results: Sequence[Result], length_mm: float, bound_mm: float) -> Ending:
    """Why the search ended: what is proven of a stretch, or of one way to cut, says nothing of
    all that there are."""
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


def _bound(task: Task, solved: Sequence[Sequence[Result]]) -> float:
    """No way to cut is shorter, also none with some of the spares: whatever it lays open comes
    behind the cuts that all ways have; and all pieces take their area of the cloth opened flat."""
    bounds = [[result.bound for result in results] for results in solved]
    shared = [bounds[0], *(each[:1] for each in bounds[1:])]
    area = sum(label.piece.area_mm2 for label in task.items)
    return max(
        area / task.cloth.usable_width_mm,
        min(flat_length(task.spreading, task.cloth, each) for each in shared),
    )
