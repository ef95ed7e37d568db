"""The search for the fewest changes that make a job fit the cloth there is."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from marker.cloth.buying import room_mm
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.job import Job
from marker.layout import CheckedLayout
from marker.planning.shortage.change import Change
from marker.planning.shortage.on_cloth import cloth_changes
from marker.planning.shortage.on_pattern import pattern_changes
from marker.tolerances import JUDGED_MM

SINGLES_SHARE = 0.7
"""Of the time, for the job as it is and for each change by itself, all alike; the rest is for sets
of changes."""

SAVES_MM = 0.5
"""A change saves if the layout is shorter by more than this."""

Lay = Callable[[Job, float | None, float, float], CheckedLayout]
"""Lay a job on the cloth asked for: within these seconds (None: as the caller likes), until it is
as short as the third, or proven never to be as short as the fourth."""


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


@dataclass
class Eked:
    """What came of it. room_mm : the longest layout that the cloth has room for.

    singles : each change by itself, the shortest layout first. best : the fewest changes found that
    make the job fit, or else those with the shortest layout.
    """

    room_mm: float
    base: Trial
    singles: list[Trial] = field(default_factory=list)
    best: Trial = field(init=False)

    def __post_init__(self) -> None:
        self.best = self.base

    @property
    def fits(self) -> bool:
        """Whether the job fits with the best changes."""
        return self.best.fits(self.room_mm)


def changes(job: Job, cloth: Cloth) -> tuple[Change, ...]:
    """All that may be given way on, for this cloth of the job."""
    return (*cloth_changes(job, cloth), *pattern_changes(job, cloth))


class Eking:
    """One search: for a job, the cloth that is short, and seconds to spend (None: no limit)."""

    def __init__(
        self,
        job: Job,
        cloth: Cloth,
        seconds: float | None,
        lay: Lay,
        on_trial: Callable[[Trial, int, int], None],
        stopped: Callable[[], bool],
    ) -> None:
        self._job, self._room, self._lay = job, room_mm(cloth), lay
        self._on_trial, self._stopped = on_trial, stopped
        self._changes = _applicable(job, cloth)
        self._seconds = seconds
        self._ends = None if seconds is None else time.monotonic() + seconds

    def search(self) -> Eked:
        """The job as it is; each change by itself; then sets of them, the best first."""
        each = None
        if self._seconds is not None:
            each = self._seconds * SINGLES_SHARE / (len(self._changes) + 1)
        count = len(self._changes)
        base = self._trial((), each, float("inf"), 0, count)
        eked = Eked(self._room, base)
        if eked.fits:
            return eked
        for number, change in enumerate(self._changes, 1):
            if self._stopped():
                break
            trial = self._trial((change,), each, base.length_mm - SAVES_MM, number, count)
            eked.singles.append(_carried_over(trial, base))
        eked.singles.sort(key=lambda trial: trial.length_mm)
        if eked.singles and eked.singles[0].length_mm < base.length_mm - SAVES_MM:
            eked.best = eked.singles[0]
        self._add_up(eked)
        self._take_all(eked)
        self._leave_out(eked)
        return eked

    def _add_up(self, eked: Eked) -> None:
        """Add to the best change the others that save, in their order, until the job fits."""
        saving = [
            trial.changes[0]
            for trial in eked.singles
            if trial.checked and not trial.saves_nothing(eked.base)
        ]
        for left, change in _countdown(saving):
            if eked.fits or self._is_over():
                return
            if change in eked.best.changes:
                continue
            wanted = (*eked.best.changes, change)
            hopeless = eked.best.length_mm - SAVES_MM
            trial = self._trial(wanted, self._share(left + 2), hopeless, 0, 0)
            if trial.length_mm < hopeless:
                eked.best = trial

    def _take_all(self, eked: Eked) -> None:
        """All changes at once, where adding them up was not enough: two long pieces may stand in
        the way together, so that neither saves anything by itself."""
        wanted = tuple(trial.changes[0] for trial in eked.singles if trial.checked)
        if eked.fits or len(wanted) < 2 or self._is_over():
            return
        trial = self._trial(wanted, self._share(2), self._room, 0, 0)
        if trial.fits(self._room):
            eked.best = trial

    def _leave_out(self, eked: Eked) -> None:
        """Take back each change that the job fits without, the one that saves least first."""
        for left, change in _countdown(eked.best.changes[::-1]):
            if not eked.fits or len(eked.best.changes) < 2 or self._is_over():
                return
            rest = tuple(other for other in eked.best.changes if other is not change)
            trial = self._trial(rest, self._share(left), self._room, 0, 0)
            if trial.fits(self._room):
                eked.best = trial

    def _trial(
        self,
        wanted: tuple[Change, ...],
        seconds: float | None,
        hopeless: float,
        number: int,
        count: int,
    ) -> Trial:
        try:
            job = self._job
            for change in wanted:
                job = change.apply(job)
            checked = self._lay(job, seconds, self._room + JUDGED_MM, hopeless)
            trial = Trial(wanted, checked, checked.layout.length_lower_bound_mm)
        except CannotBeDone as error:
            trial = Trial(wanted, None, reason=str(error))
        self._on_trial(trial, number, count)
        return trial

    def _share(self, left: int) -> float | None:
        """Seconds for the next of so many trials."""
        return None if self._ends is None else max(0.0, self._ends - time.monotonic()) / left

    def _is_over(self) -> bool:
        out_of_time = self._ends is not None and time.monotonic() >= self._ends
        return out_of_time or self._stopped()


def _applicable(job: Job, cloth: Cloth) -> tuple[Change, ...]:
    """The changes; none of the pattern where the job's own strips can't be cut."""
    try:
        return changes(job, cloth)
    except CannotBeDone:
        return tuple(cloth_changes(job, cloth))


def _carried_over(trial: Trial, base: Trial) -> Trial:
    """The layout without the change is one with it, too, where the change only allows more."""
    (change,) = trial.changes
    if change.relaxes and base.length_mm < trial.length_mm:
        return replace(trial, checked=base.checked)
    return trial


def _countdown(wanted: Sequence[Change]) -> Iterator[tuple[int, Change]]:
    """Each change, with how many are left, itself included."""
    return ((len(wanted) - k, change) for k, change in enumerate(wanted))
