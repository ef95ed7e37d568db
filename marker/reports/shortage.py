"""What makes a job fit cloth that is short, as plain values for JSON and as lines for a person."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from marker.cloth.buying import needed_mm
from marker.planning.shortage.search import SAVES_MM, ShortageResult, Trial
from marker.units import inches, metric


def shortage_facts(found: ShortageResult) -> dict[str, Any]:
    """Lengths in mm. A trial without a layout has no lengths, but a reason."""
    return {
        "name": found.job.name,
        "cloth": found.cloth.name,
        "have_mm": found.cloth.have_mm,
        "fits": found.fits,
        "as_it_is": _trial_facts(found.base, found),
        "changes": [_trial_facts(trial, found) for trial in found.singles],
        "best": _trial_facts(found.best, found),
    }


def _trial_facts(trial: Trial, found: ShortageResult) -> dict[str, Any]:
    cloth = found.cloth
    facts: dict[str, Any] = {
        "changes": [{"what": change.what, "edit": change.edit} for change in trial.changes],
        "fits": trial.fits(found.room_mm),
    }
    if trial.checked is None:
        return facts | {"reason": trial.reason}
    needed = needed_mm(trial.length_mm, cloth)
    assert cloth.have_mm is not None, "only a cloth of fixed length is short"
    base = needed_mm(found.base.length_mm, cloth) if found.base.checked else None
    return facts | {
        "length_mm": round(trial.length_mm, 4),
        "length_lower_bound_mm": round(trial.bound_mm, 4),
        "needed_mm": round(needed, 4),
        "spare_mm": round(cloth.have_mm - needed, 4),
        "saves_mm": None if base is None else round(base - needed, 4),
        "cannot_save": bool(trial.changes) and trial.saves_nothing(found.base),
        "cannot_fit": trial.bound_mm > found.room_mm + SAVES_MM,
    }


def shortage_lines(facts: dict[str, Any]) -> Iterator[str]:
    """The facts for a person, the changes that save most first."""
    have = facts["have_mm"]
    yield f"{facts['name']} on {facts['cloth']}, of which there are {_both(have)}"
    yield f"  as it is  {_standing(facts['as_it_is'])}"
    if facts["changes"]:
        yield ""
        yield "Each change by itself, by the shortest layout found in its share of the time:"
        yield from (f"  {_saving(trial):>24}  {_what(trial)}" for trial in facts["changes"])
    yield ""
    yield from _advice(facts)


def _advice(facts: dict[str, Any]) -> Iterator[str]:
    best = facts["best"]
    if not best["changes"]:
        yield (
            "It fits as it is."
            if facts["fits"]
            else "Nothing tried makes it shorter. More time (--seconds) may find something."
        )
        return
    if facts["fits"]:
        yield f"It fits, with {_both(best['spare_mm'])} to spare, if you"
    else:
        short = _both(-best["spare_mm"])
        yield f"It was not made to fit. The nearest found, short by {short}, is to"
    for change in best["changes"]:
        yield f"  {change['what']}"
        yield f"      {change['edit']}"


def _standing(trial: dict[str, Any]) -> str:
    if "reason" in trial:
        return f"it can't be laid: {trial['reason']}"
    needs = f"it needs {_both(trial['needed_mm'])}"
    if trial["fits"]:
        return f"{needs}: it fits, {_both(trial['spare_mm'])} to spare"
    proven = "impossible" if trial["cannot_fit"] else "no layout that fits was found"
    return f"{needs}: short by {_both(-trial['spare_mm'])}, {proven}"


def _saving(trial: dict[str, Any]) -> str:
    if "reason" in trial:
        return "can't be done"
    if trial["fits"]:
        return f"fits, {metric(trial['spare_mm'])} to spare"
    saves = trial["saves_mm"]
    if saves is None:
        return f"short by {metric(-trial['spare_mm'])}"
    if abs(saves) > SAVES_MM:
        return f"saves {metric(saves)}" if saves > 0 else f"costs {metric(-saves)}"
    return "saves nothing (proven)" if trial["cannot_save"] else "no saving found"


def _what(trial: dict[str, Any]) -> str:
    said = "; ".join(change["what"] for change in trial["changes"])
    return f"{said}: {trial['reason']}" if "reason" in trial else said


def _both(mm: float) -> str:
    return f"{metric(mm)} ({inches(mm)})"
