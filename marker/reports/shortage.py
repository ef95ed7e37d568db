"""What makes a job fit cloth that is short, as JSON and as lines for a person."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from marker.cloth.buying import needed_mm
from marker.planning.shortage import SAVES_MM, ShortageResult, Trial
from marker.reports.facts import LayoutMm
from marker.units import length, lengths


@dataclass(frozen=True)
class ChangeFacts:
    """One change, to be read after 'if you', and what to write in the job file for it."""

    what: str
    edit: str


@dataclass(frozen=True)
class RefusedTrial:
    """Changes with which the job can't be laid, and why."""

    changes: tuple[ChangeFacts, ...]
    fits: bool
    reason: str


@dataclass(frozen=True, kw_only=True)
class LaidTrial:
    """Changes with which the job was laid, lengths in mm.

    needed_mm : cloth that it takes with both ends. spare_mm : what is left over, below 0 what is
    short. saves_mm : cloth less than as it is, None where that can't be laid. cannot_save : proven
    to save nothing. cannot_fit : proven not to fit.
    """

    changes: tuple[ChangeFacts, ...]
    fits: bool
    length_mm: LayoutMm
    length_lower_bound_mm: LayoutMm
    needed_mm: LayoutMm
    spare_mm: LayoutMm
    saves_mm: LayoutMm | None
    cannot_save: bool
    cannot_fit: bool


TrialFacts = RefusedTrial | LaidTrial


@dataclass(frozen=True)
class ShortageReport:
    """The job as it is, each change by itself, and the fewest that make it fit."""

    name: str
    cloth: str
    have_mm: float
    fits: bool
    as_it_is: TrialFacts
    changes: tuple[TrialFacts, ...]
    best: TrialFacts


def shortage_report(found: ShortageResult) -> ShortageReport:
    """The report of a result."""
    return ShortageReport(
        found.job.name,
        found.cloth.name,
        _have_mm(found),
        found.fits,
        _trial_facts(found.base, found),
        tuple(_trial_facts(trial, found) for trial in found.singles),
        _trial_facts(found.best, found),
    )


def _have_mm(found: ShortageResult) -> float:
    assert found.cloth.have_mm is not None, "only a cloth of fixed length is short"
    return found.cloth.have_mm


def _trial_facts(trial: Trial, found: ShortageResult) -> TrialFacts:
    changes = tuple(ChangeFacts(change.what, str(change.edit)) for change in trial.changes)
    fits = trial.fits(found.room_mm)
    if trial.checked is None:
        return RefusedTrial(changes, fits, trial.reason)
    needed = needed_mm(trial.length_mm, found.cloth)
    base = needed_mm(found.base.length_mm, found.cloth) if found.base.checked else None
    return LaidTrial(
        changes=changes,
        fits=fits,
        length_mm=trial.length_mm,
        length_lower_bound_mm=trial.bound_mm,
        needed_mm=needed,
        spare_mm=_have_mm(found) - needed,
        saves_mm=None if base is None else base - needed,
        cannot_save=bool(trial.changes) and trial.saves_nothing(found.base),
        cannot_fit=trial.bound_mm > found.room_mm + SAVES_MM,
    )


def shortage_lines(report: ShortageReport) -> Iterator[str]:
    """The report for a person, the changes that save most first."""
    yield f"{report.name} on {report.cloth}, of which there are {lengths(report.have_mm)}"
    yield f"  as it is  {_standing(report.as_it_is)}"
    helpful = [trial for trial in report.changes if not _costs(trial)]
    if helpful:
        yield ""
        yield "Each change by itself, by the shortest layout found in its share of the time:"
        yield from (f"  {_saving(trial):>24}  {_what(trial)}" for trial in helpful)
    yield ""
    yield from _advice(report)


def _advice(report: ShortageReport) -> Iterator[str]:
    best = report.best
    if not best.changes or isinstance(best, RefusedTrial):
        yield (
            "It fits as it is."
            if report.fits
            else "Nothing tried makes it shorter. More time (--seconds) may find something."
        )
        return
    if report.fits:
        yield f"It fits, with {lengths(best.spare_mm)} to spare, if you"
    else:
        short = lengths(-best.spare_mm)
        yield f"No set of changes fits. The nearest is short by {short}:"
    for change in best.changes:
        yield f"  {change.what}"
        yield f"      {change.edit}"


def _standing(trial: TrialFacts) -> str:
    if isinstance(trial, RefusedTrial):
        return f"it can't be laid: {trial.reason}"
    needs = f"it needs {lengths(trial.needed_mm)}"
    if trial.fits:
        return f"{needs}: it fits, {lengths(trial.spare_mm)} to spare"
    proven = "impossible" if trial.cannot_fit else "no layout that fits was found"
    return f"{needs}: short by {lengths(-trial.spare_mm)}, {proven}"


def _saving(trial: TrialFacts) -> str:
    if isinstance(trial, RefusedTrial):
        return "can't be done"
    if trial.fits:
        return f"fits, {length(trial.spare_mm)} to spare"
    saves = trial.saves_mm
    if saves is None:
        return f"short by {length(-trial.spare_mm)}"
    if abs(saves) > SAVES_MM:
        return f"saves {length(saves)}"
    return "saves nothing (proven)" if trial.cannot_save else "no saving found"


def _costs(trial: TrialFacts) -> bool:
    """Whether it takes more cloth by itself, which nobody wants to hear of."""
    if isinstance(trial, RefusedTrial) or trial.saves_mm is None:
        return False
    return trial.saves_mm < -SAVES_MM


def _what(trial: TrialFacts) -> str:
    said = "; ".join(change.what for change in trial.changes)
    return f"{said}: {trial.reason}" if isinstance(trial, RefusedTrial) else said
