"""What a flow reports while it runs. Printing or drawing it is somebody else's job."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from marker.cloth.fabric import Cloth
from marker.geometry.arrays import FloatArray
from marker.geometry.kernels import how_often
from marker.layout import CheckedLayout, Ending, PieceKey
from marker.placement.problem.cutting_plans import Arranged, CuttingPlan
from marker.placement.problem.statement import Arrangement, PlacementProblem
from marker.placement.stop import Progress
from marker.planning.tasks import LayingTask


@dataclass(frozen=True)
class PlanningEvent:
    """Something that happened in a flow.

    about : what it concerns, in words: the cloth, and its width, spread or changes where several
        are compared.
    """

    about: str


OnEvent = Callable[[PlanningEvent], None]


def unheard(_event: PlanningEvent) -> None:
    """For callers who want no events."""


@dataclass(frozen=True)
class TimeShared(PlanningEvent):
    """The seconds of a job were shared out; `shares` is (cloth, seconds) of each."""

    shares: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class CompilingBegan(PlanningEvent):
    """The search is compiled before its first use on this machine."""

    @property
    def said(self) -> str:
        """That, and how often it happens."""
        return f"preparing the search for its first use; this takes half a minute, {how_often()}"


@dataclass(frozen=True)
class WorkersGone(PlanningEvent):
    """Those that laid markers are lost: why. What is still wanted gets a first layout here."""

    why: str


@dataclass(frozen=True)
class WorkerLeftOut(PlanningEvent):
    """One of several workers is lost, or can't be used: why. The others go on."""

    why: str


@dataclass(frozen=True)
class SearchBegan(PlanningEvent):
    """A search begins. seconds : its allowance, None without one."""

    cloth: Cloth
    seconds: float | None


@dataclass(frozen=True)
class Trying:
    """What a search is trying, to be watched: outlines that still lie over one another, no layout.

    problem : of the stretch that is searched. begins_mm : where that begins, along and across the
    table. now : where its items stand when it is called, from any thread.
    """

    problem: PlacementProblem
    begins_mm: tuple[float, float]
    now: Callable[[], Arrangement]

    def places(self) -> FloatArray:
        """(n, 3) where each item stands now: the corner of its box on the table, mm, and which of
        the problem's shapes it has."""
        x, y = np.array(self.begins_mm) - self.problem.margin
        return np.array(
            [
                (x + at.x, y + at.y, item.orientations[at.orientation].shape)
                for item, at in zip(self.problem.items, self.now(), strict=True)
            ]
        )


def trying_on(plan: CuttingPlan, done_mm: Sequence[float], progress: Progress) -> Trying | None:
    """What is being tried for a stretch of a plan; None where nothing is.

    done_mm : lengths of the stretches before it.
    """
    if progress.trying is None:
        return None
    table = plan[len(done_mm)].table
    along = sum(length + table.cloth.gap_mm for length in done_mm)
    across = table.start_mm if len(plan) > 1 else 0.0
    return Trying(progress.problem, (along, across), progress.trying)


@dataclass(frozen=True)
class SearchProgressed(PlanningEvent):
    """Where a search stands, several times a second. Lengths are those of the table in mm.

    seconds_left : of its allowance, None without one. trying : None where nothing is to be watched.
    """

    seconds: float
    seconds_left: float | None
    length_mm: float
    bound_mm: float
    utilisation: float
    trying: Trying | None = None


@dataclass(frozen=True)
class BetterLayoutFound(PlanningEvent):
    """A search has a shorter layout than before. What there is to draw of it is made on demand.

    arranged : each stretch of it, as the search left it. bound_mm : 0 where nothing is proven yet.
    numbers : that pieces have from the layout that it goes on from.
    """

    task: LayingTask
    arranged: tuple[Arranged, ...]
    bound_mm: float
    seed: int
    seconds: float
    numbers: Mapping[PieceKey, int] = field(default_factory=dict)

    def checked(self) -> CheckedLayout:
        """The layout, passed by the judge."""
        layout = self.task.layout(
            self.arranged, self.bound_mm, Ending.UNKNOWN, self.seed, self.seconds
        )
        return self.task.checked(layout.numbered(self.numbers))


@dataclass(frozen=True)
class SearchEnded(PlanningEvent):
    """A search has ended with this layout, passed by the judge."""

    checked: CheckedLayout


def progressed(
    about: str,
    progress: Progress,
    before: float,
    allowed: float | None,
    trying: Trying | None = None,
) -> PlanningEvent:
    """The event of a search's progress. before : seconds of earlier parts of the same search."""
    seconds = before + progress.seconds
    left = None if allowed is None else max(0.0, allowed - seconds)
    return SearchProgressed(
        about, seconds, left, progress.length, progress.bound, progress.utilisation, trying
    )
