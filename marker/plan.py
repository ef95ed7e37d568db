"""The whole flow on one page: job -> cut pieces -> placement -> checked layout -> purchase."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from threading import Event

from marker import judge
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.job import Job
from marker.layout import CheckedLayout, Layout
from marker.pattern.cutting import cut_pieces
from marker.pattern.piece import CutPiece
from marker.placement.prepare import Label, labels, placement_problem, placements
from marker.placement.problem import PlacementProblem
from marker.placement.solve import solve
from marker.placement.stop import (
    BY_HAND,
    Progress,
    Stop,
    after_iterations,
    after_seconds,
    at_bound,
    first_of,
    when_set,
)
from marker.placement.ties import ties

__all__ = ["BY_HAND", "Limits", "Task", "lay", "tasks"]

MATCHED_SHARE = 0.7
"""Of the time of a cloth with matches, what the layout gets; the rest tells what matching costs."""


@dataclass(frozen=True)
class Limits:
    """How long to search (whichever comes first), from which seed, on how many cores.

    interrupted : set it to have the search end with the best layout so far.
    """

    seconds: float | None = None
    iterations: int | None = None
    seed: int = 0
    workers: int = 2
    interrupted: Event = field(default_factory=Event)

    def stop(self, share: float) -> Stop:
        """The stop rule of a task that gets this share of the time; every task its own."""
        rules = [when_set(self.interrupted), at_bound()]
        if self.seconds is not None:
            rules.append(after_seconds(self.seconds * share))
        if self.iterations is not None:
            rules.append(after_iterations(self.iterations))
        return first_of(*rules)


@dataclass(frozen=True)
class Task:
    """Everything of a job that is laid on one cloth.

    share : part of the job's time that this cloth gets.
    unmatched : the problem without its matches, to tell what they cost; None without any.
    """

    job: Job
    cloth: Cloth
    cut_pieces: tuple[CutPiece, ...]
    items: tuple[Label, ...]
    problem: PlacementProblem
    unmatched: PlacementProblem | None
    share: float


def tasks(job: Job) -> tuple[Task, ...]:
    """One task for each cloth that something is cut from, the main cloth first.

    Raises CannotBeDone for a piece or strip that can't be cut from its cloth.
    """
    found = []
    for cloth in job.cloths:
        pieces = cut_pieces(job, cloth)
        items = labels(pieces, job.garments)
        if items:
            problem = placement_problem(items, cloth, ties(pieces, cloth))
            found.append((cloth, pieces, items, problem, _unmatched(pieces, items, cloth)))
    if not found:
        raise CannotBeDone(f"{job.name} has nothing to cut. Give it pieces or strips.")
    total = sum(len(items) for _, _, items, *_ in found)
    # half the time in equal parts, so that a cloth of few pieces gets enough, half by pieces
    return tuple(
        Task(job, *parts, share=0.5 / len(found) + 0.5 * len(parts[2]) / total) for parts in found
    )


def _unmatched(
    pieces: Sequence[CutPiece], items: Sequence[Label], cloth: Cloth
) -> PlacementProblem | None:
    """The problem with borders but without matches; None if there are none."""
    if not any(piece.match_points for piece in pieces):
        return None
    bare = [replace(piece, match_points=()) for piece in pieces]
    return placement_problem(items, cloth, ties(bare, cloth))


def lay(task: Task, limits: Limits, on_progress: Callable[[Progress], None]) -> CheckedLayout:
    """Lay one task and have the judge check it."""
    share = task.share * (1.0 if task.unmatched is None else MATCHED_SHARE)
    result = solve(task.problem, limits.stop(share), limits.seed, limits.workers, on_progress)
    # outlines are rounded to a grid: what that gains must not beat what is proven
    length = max(result.length, result.bound)
    layout = Layout(
        job_name=task.job.name,
        cloth=task.cloth,
        placements=placements(result.problem, task.items, result.arrangement),
        length_mm=length,
        length_lower_bound_mm=result.bound,
        stopped_because=result.stopped_because,
        seed=limits.seed,
        seconds=result.seconds,
        unmatched_mm=_unmatched_length(task, limits, length),
    )
    return judge.check(layout, task.cut_pieces, task.job.garments)


def _unmatched_length(task: Task, limits: Limits, matched_mm: float) -> float | None:
    """Of the shortest layout known without matches; the matched one is such a layout, too."""
    if task.unmatched is None:
        return None
    stop = limits.stop(task.share * (1 - MATCHED_SHARE))
    result = solve(task.unmatched, stop, limits.seed, limits.workers, lambda _: None)
    return min(max(result.length, result.bound), matched_mm)
