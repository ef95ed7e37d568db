"""What a flow reports while it runs. Printing or drawing it is somebody else's job."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from marker.cloth.fabric import Cloth
from marker.layout import CheckedLayout
from marker.layout.ending import Ending
from marker.placement.problem.cutting_plans import Arranged
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
    """The search is compiled before its first use on this machine: half a minute, once."""


@dataclass(frozen=True)
class SearchBegan(PlanningEvent):
    """A search begins. seconds : its allowance, None without one."""

    cloth: Cloth
    seconds: float | None


@dataclass(frozen=True)
class SearchProgressed(PlanningEvent):
    """Where a search stands, several times a second. Lengths are those of the table in mm.

    seconds_left : of its allowance, None without one.
    """

    seconds: float
    seconds_left: float | None
    length_mm: float
    bound_mm: float
    utilisation: float


@dataclass(frozen=True)
class BetterLayoutFound(PlanningEvent):
    """A search has a shorter layout than before. What there is to draw of it is made on demand.

    arranged : each stretch of it, as the search left it. bound_mm : 0 where nothing is proven yet.
    """

    task: LayingTask
    arranged: tuple[Arranged, ...]
    bound_mm: float
    seed: int
    seconds: float

    def checked(self) -> CheckedLayout:
        """The layout, passed by the judge."""
        layout = self.task.layout(
            self.arranged, self.bound_mm, Ending.UNKNOWN, self.seed, self.seconds
        )
        return self.task.checked(layout)


@dataclass(frozen=True)
class SearchEnded(PlanningEvent):
    """A search has ended with this layout, passed by the judge."""

    checked: CheckedLayout


def progressed(
    about: str, progress: Progress, before: float, allowed: float | None
) -> PlanningEvent:
    """The event of a search's progress. before : seconds of earlier parts of the same search."""
    seconds = before + progress.seconds
    left = None if allowed is None else max(0.0, allowed - seconds)
    return SearchProgressed(
        about, seconds, left, progress.length, progress.bound, progress.utilisation
    )
