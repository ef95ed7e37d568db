"""The search for the fewest changes that make a job fit the cloth there is."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from marker.cloth.buying import room_mm
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.job import Job
from marker.layout import CheckedLayout
from marker.planning.changes import Change, changes
from marker.planning.events import OnEvent, PlanningEvent
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import tasks
from marker.tolerances import JUDGED_MM

SINGLES_SHARE = 0.7
"""Of the time, for the job as it is and for each change by itself, all alike; the rest is for sets
of changes."""

SAVES_MM = 0.5
"""A change saves if the layout is shorter by more than this."""


@dataclass(frozen=True)
class Trial:
    """A job with some changes, laid and judged; or the reason why it can't be.

    bound_mm : no layout with these changes is shorter.
    """

    changes: tuple[Change, ...]
    checked: CheckedLayout | None
    bound_mm: float = float("inf")
    reason: str = ""

    @property
    def length_mm(self) -> float:
        """Of the layout, mm; endless if there is none."""
        return self.checked.layout.length_mm if self.checked else float("inf")

    def fits(self, room: float) -> bool:
        """Whether the layout is no longer than this, mm."""
        return self.length_mm <= room + JUDGED_MM

    def saves_nothing(self, than: Trial) -> bool:
        """Whether it is proven that no layout with the changes is shorter than one without."""
        return self.bound_mm > than.length_mm - SAVES_MM


@dataclass(frozen=True)
class TrialEnded(PlanningEvent):
    """A trial is done. number, count : the changes are tried singly first, this is one of so many;
    0 of 0 for a set of changes."""

    trial: Trial
    number: int
    count: int


@dataclass(frozen=True)
class ShortageResult:
    """What makes a job fit a cloth that is short.

    cloth : with the length there is of it. room_mm : the longest layout that it has room for.
    base : the job as it is. singles : each change by itself, the shortest layout first.
    best : the fewest changes found that make the job fit, or else those with the shortest layout.
    stopped_by_hand : before all was tried.
    """

    job: Job
    cloth: Cloth
    room_mm: float
    base: Trial
    singles: tuple[Trial, ...]
    best: Trial
    stopped_by_hand: bool

    @property
    def fits(self) -> bool:
        """Whether the job fits with the best changes."""
        return self.best.fits(self.room_mm)


def remedy_shortage(
    job: Job, cloth: Cloth, limits: SearchLimits, on_event: OnEvent, keep_nap: bool = False
) -> ShortageResult:
    """The fewest changes that make a job fit one of its cloths that is short.

    Each change is laid by itself; what saves most is put together until the job fits.
    cloth : one of the job's by its name, with `have_mm`, the length there is.
    limits : its seconds are those of all trials together, its iterations those of each.
    keep_nap : the nap is not given up, which is else the last resort.
    """
    cloths = tuple(cloth if each.name == cloth.name else each for each in job.cloths)
    short = replace(job, cloths=cloths)
    return _ShortageSearch(short, cloth, limits, on_event, keep_nap).result()


class _ShortageSearch:
    """One search. All that is known so far: the job as it is, single changes, the best set."""

    def __init__(
        self, job: Job, cloth: Cloth, limits: SearchLimits, on_event: OnEvent, keep_nap: bool
    ) -> None:
        self._job, self._cloth, self._room = job, cloth, room_mm(cloth)
        self._limits, self._on_event = limits, on_event
        self._changes = changes(job, cloth, keep_nap)
        seconds = limits.seconds
        self._ends = None if seconds is None else time.monotonic() + seconds
        self._each = None if seconds is None else seconds * SINGLES_SHARE / (len(self._changes) + 1)
        self._base = self._trial((), self._each, float("inf"), 0, len(self._changes))
        self._singles: list[Trial] = []
        self._best = self._base

    def result(self) -> ShortageResult:
        """Each change by itself; then sets of them, the best first; where the job is too long."""
        if not self._fits:
            self._try_singles()
            for allowed in self._in_turn():
                if not self._fits:
                    self._begin_with_best(allowed)
                    self._add_up(allowed)
                    self._take_all(allowed)
            self._leave_out()
        return ShortageResult(
            self._job,
            self._cloth,
            self._room,
            self._base,
            tuple(self._singles),
            self._best,
            self._limits.stopped.is_set(),
        )

    @property
    def _fits(self) -> bool:
        return self._best.fits(self._room)

    def _try_singles(self) -> None:
        base, count = self._base, len(self._changes)
        for number, change in enumerate(self._changes, 1):
            if self._limits.stopped.is_set():
                break
            trial = self._trial((change,), self._each, base.length_mm - SAVES_MM, number, count)
            self._singles.append(_carried_over(trial, base))
        self._singles.sort(key=lambda trial: trial.length_mm)

    def _in_turn(self) -> Iterator[list[Trial]]:
        """The single changes that may be put together: those of the first resort, then those of
        each later one with them."""
        for resort in sorted({trial.changes[0].resort for trial in self._singles}):
            yield [trial for trial in self._singles if trial.changes[0].resort <= resort]

    def _begin_with_best(self, allowed: Sequence[Trial]) -> None:
        if allowed and allowed[0].length_mm < self._best.length_mm - SAVES_MM:
            self._best = allowed[0]

    def _add_up(self, allowed: Sequence[Trial]) -> None:
        """Add to the best change the others that save, in their order, until the job fits."""
        saving = [
            trial.changes[0]
            for trial in allowed
            if trial.checked and not trial.saves_nothing(self._base)
        ]
        for left, change in _countdown(saving):
            if self._fits or self._is_over():
                return
            if change in self._best.changes:
                continue
            wanted = (*self._best.changes, change)
            hopeless = self._best.length_mm - SAVES_MM
            trial = self._trial(wanted, self._share(left + 2), hopeless)
            if trial.length_mm < hopeless:
                self._best = trial

    def _take_all(self, allowed: Sequence[Trial]) -> None:
        """All changes at once, where adding them up was not enough: two long pieces may stand in
        the way together, so that neither saves anything by itself."""
        wanted = tuple(trial.changes[0] for trial in allowed if trial.checked)
        if self._fits or len(wanted) < 2 or self._is_over():
            return
        trial = self._trial(wanted, self._share(2), self._room)
        if trial.fits(self._room):
            self._best = trial

    def _leave_out(self) -> None:
        """Take back each change that the job fits without: those of the latest resort first, then
        the one that saves least."""
        backwards = [*reversed(self._best.changes)]
        backwards.sort(key=lambda change: -change.resort)
        for left, change in _countdown(backwards):
            if not self._fits or len(self._best.changes) < 2 or self._is_over():
                return
            rest = tuple(other for other in self._best.changes if other is not change)
            trial = self._trial(rest, self._share(left), self._room)
            if trial.fits(self._room):
                self._best = trial

    def _trial(
        self,
        wanted: tuple[Change, ...],
        seconds: float | None,
        hopeless: float,
        number: int = 0,
        count: int = 0,
    ) -> Trial:
        """Lay the job with some changes. hopeless : it ends once none so short is possible."""
        about = "; ".join(change.what for change in wanted) or "as it is"
        try:
            checked = self._laid(wanted, about, seconds, hopeless)
            trial = Trial(wanted, checked, checked.layout.length_lower_bound_mm)
        except CannotBeDone as error:
            trial = Trial(wanted, None, reason=" ".join(str(error).splitlines()))
        self._on_event(TrialEnded(about, trial, number, count))
        return trial

    def _laid(
        self, wanted: tuple[Change, ...], about: str, seconds: float | None, hopeless: float
    ) -> CheckedLayout:
        """The changed job's layout on the cloth that is short."""
        job = self._job
        for change in wanted:
            job = change.apply(job)
        limits = replace(
            self._limits,
            seconds=seconds,
            enough_mm=self._room + JUDGED_MM,
            hopeless_mm=hopeless,
        )
        for task in tasks(job):  # all of them: the other cloths must do for it, too
            if task.cloth.name == self._cloth.name:
                return lay_task(task, limits, self._on_event, about)
        raise CannotBeDone(f"nothing is left to cut from {self._cloth.name}.")

    def _share(self, left: int) -> float | None:
        """Seconds for the next of so many trials."""
        return None if self._ends is None else max(0.0, self._ends - time.monotonic()) / left

    def _is_over(self) -> bool:
        out_of_time = self._ends is not None and time.monotonic() >= self._ends
        return out_of_time or self._limits.stopped.is_set()


def _carried_over(trial: Trial, base: Trial) -> Trial:
    """The layout without the change is one with it, too, where the change only allows more."""
    (change,) = trial.changes
    if change.relaxes and base.length_mm < trial.length_mm:
        return replace(trial, checked=base.checked)
    return trial


def _countdown(wanted: Sequence[Change]) -> Iterator[tuple[int, Change]]:
    """Each change, with how many are left, itself included."""
    return ((len(wanted) - k, change) for k, change in enumerate(wanted))
