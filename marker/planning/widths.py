"""Lay a job on its main cloth in several widths and on its other cloths, and price all that."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from marker.cloth.buying import as_sold, purchase
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.job import Job
from marker.layout import CheckedLayout
from marker.layout.ending import Ending
from marker.planning.carrying import carried_over
from marker.planning.events import OnEvent
from marker.planning.limits import SearchLimits
from marker.planning.offers import LeftOut, Offer, Offers
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import LayingTask, loads, spread
from marker.tolerances import HAIR_MM
from marker.units import metric


@dataclass(frozen=True)
class Errand:
    """All that has to be laid to know what to buy.

    widths : the main cloth in each width that all pieces fit, narrowest first. left_out : the
    other widths. others : the job's other cloths.
    """

    widths: tuple[LayingTask, ...]
    left_out: tuple[LeftOut, ...]
    others: tuple[LayingTask, ...]


def main_cloth(job: Job) -> Cloth:
    """The first cloth that something is cut from; raises CannotBeDone if there is none."""
    used = job.pattern.cloth_names
    for cloth in job.cloths:
        if cloth.name in used:
            return cloth
    raise CannotBeDone(f"{job.name} has nothing to cut. Give it pieces or strips.")


def errand(job: Job, widths: Sequence[Cloth]) -> Errand:
    """What to lay to buy for a job.

    widths : the main cloth in every width asked for. Raises CannotBeDone if a piece fits none of
    them, or one of the other cloths is too narrow.
    """
    main = main_cloth(job)
    for cloth in job.cloths:
        if cloth.remnants:
            raise CannotBeDone(f"{cloth.name} is remnants, which are not bought. Take them out.")
    used = job.pattern.cloth_names - {main.name}
    rest = [as_sold(cloth) for cloth in job.cloths if cloth.name in used]
    others = _tasks(job, rest) if rest else ()
    found: list[LayingTask] = []
    left_out: list[LeftOut] = []
    for cloth in sorted(widths, key=lambda cloth: cloth.width_mm):
        try:
            found += _tasks(_with_cloth(job, cloth), [cloth])
        except CannotBeDone as reason:
            left_out.append(LeftOut(cloth.width_mm, str(reason)))
    if not found:
        said = "".join(f"\n  {metric(each.width_mm)}: {each.reason}" for each in left_out)
        raise CannotBeDone(f"{main.name} is wide enough in none of the widths asked for:{said}")
    return Errand(tuple(found), tuple(left_out), others)


def _tasks(job: Job, cloths: Sequence[Cloth]) -> tuple[LayingTask, ...]:
    """What is cut from each of these cloths, spread as it says itself."""
    return tuple(spread(load) for load in loads(job, cloths))


def _with_cloth(job: Job, cloth: Cloth) -> Job:
    cloths = tuple(cloth if cloth.name == each.name else each for each in job.cloths)
    return replace(job, cloths=cloths)


def shop(errand: Errand, limits: SearchLimits, on_event: OnEvent) -> Offers:
    """Lay all of the errand and price it; a width never needs more than a narrower one.

    limits : its seconds are shared out evenly, time that a layout does not need goes to the rest;
    its iterations are those of each layout. Once interrupted it begins no other layout.
    """
    work = (*errand.widths, *errand.others)
    laid = _lay_all(work, limits, on_event)
    widths = laid[: len(errand.widths)]
    stopped = [
        LeftOut(task.cloth.width_mm, Ending.BY_HAND) for task in errand.widths[len(widths) :]
    ]
    others = [_offer(checked) for checked in laid[len(errand.widths) :]]
    return Offers(
        _never_more(widths),
        (*errand.left_out, *stopped),
        tuple(others),
        tuple(task.cloth.name for task in errand.others[len(others) :]),
    )


def _lay_all(
    work: Sequence[LayingTask], limits: SearchLimits, on_event: OnEvent
) -> list[CheckedLayout]:
    laid: list[CheckedLayout] = []
    left = limits.seconds
    for k, task in enumerate(work):
        if laid and limits.stopped.is_set():
            break
        share = None if left is None else left / (len(work) - k)
        about = f"{task.cloth.name} {metric(task.cloth.width_mm)}"
        started = time.monotonic()
        laid.append(lay_task(task, replace(limits, seconds=share), on_event, about))
        if left is not None and share is not None:
            left -= min(share, time.monotonic() - started)
    return laid


def _never_more(laid: Sequence[CheckedLayout]) -> tuple[Offer, ...]:
    """Each width with its own layout, or the best of a narrower one where that is shorter."""
    offers: list[Offer] = []
    for own in laid:
        best = _offer(own)
        for narrower in sorted(offers, key=lambda offer: offer.checked.layout.length_mm):
            if narrower.checked.layout.length_mm >= own.layout.length_mm - HAIR_MM:
                break
            carried = carried_over(narrower.checked, own.layout.cloth)
            if carried is not None:
                best = _offer(carried, narrower.laid_at_mm)
                break
        offers.append(best)
    return tuple(offers)


def _offer(checked: CheckedLayout, laid_at_mm: float | None = None) -> Offer:
    cloth = checked.layout.cloth
    return Offer(checked, purchase(checked.layout.length_mm, cloth), laid_at_mm or cloth.width_mm)
