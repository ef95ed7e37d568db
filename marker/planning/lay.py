"""Lay a job: job -> cut pieces -> placement -> checked layout -> purchase, for all its cloths."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone
from marker.job import Job
from marker.layout import Ending
from marker.planning.events import OnEvent, TimeShared
from marker.planning.laid_cloth import LaidCloth, laid_cloth
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.remnants import lay_on_remnants
from marker.planning.spreads import best, try_spreads
from marker.planning.tasks import ClothLoad, LayingTask, loads, shares, spread

WayToLay = Callable[[SearchLimits, OnEvent], tuple[LaidCloth, ...]]
"""Lays one cloth: one layout, or one for each remnant that gets pieces."""


@dataclass(frozen=True)
class LaidJob:
    """A job with each of its cloths laid, the main cloth first; each remnant is one of `cloths`."""

    job: Job
    cloths: tuple[LaidCloth, ...]

    @property
    def stopped_by_hand(self) -> bool:
        """Whether one of the searches was stopped before it had ended."""
        laid = [each.checked for each in self.cloths]
        laid += [way.checked for each in self.cloths for way in each.tried if way.checked]
        return any(each.layout.stopped_because is Ending.BY_HAND for each in laid)


def lay(
    job: Job,
    limits: SearchLimits,
    on_event: OnEvent,
    *,
    spreading: Spreading | None = None,
    every_spread: bool = False,
) -> LaidJob:
    """Lay every cloth of a job.

    limits : its seconds are shared out among the cloths; its iterations are those of each search.
    spreading : how all cloths lie, None for each as it says itself. every_spread : compare all
    ways to spread each cloth instead. The same job, seed, iterations and workers give the same
    layouts. Raises CannotBeDone, before any search where that is known.
    """
    every = loads(job)
    ways = [_way_to_lay(load, spreading, every_spread) for load in every]
    parts = shares(every)
    if limits.seconds is not None and len(every) > 1:
        names = [load.cloth.name for load in every]
        seconds = [limits.seconds * part for part in parts]
        on_event(TimeShared(job.name, tuple(zip(names, seconds, strict=True))))
    return LaidJob(
        job,
        tuple(
            laid
            for way, part in zip(ways, parts, strict=True)
            for laid in way(limits.part(part), on_event)
        ),
    )


def _way_to_lay(load: ClothLoad, spreading: Spreading | None, every_spread: bool) -> WayToLay:
    """Raises CannotBeDone where the cloth can't be spread like this."""
    if load.cloth.remnants:
        if spreading not in (None, Spreading.OPEN):
            raise CannotBeDone(f"the remnants of {load.cloth.name} lie open, not '{spreading}'.")
        return partial(_on_remnants, load)
    if every_spread:
        return partial(_in_every_spread, load)
    return partial(_in_one_spread, spread(load, spreading))


def _on_remnants(load: ClothLoad, limits: SearchLimits, on_event: OnEvent) -> tuple[LaidCloth, ...]:
    return tuple(map(laid_cloth, lay_on_remnants(load, limits, on_event)))


def _in_every_spread(
    load: ClothLoad, limits: SearchLimits, on_event: OnEvent
) -> tuple[LaidCloth, ...]:
    tried = try_spreads(load, limits, on_event)
    return (laid_cloth(best(tried), tried),)


def _in_one_spread(
    task: LayingTask, limits: SearchLimits, on_event: OnEvent
) -> tuple[LaidCloth, ...]:
    return (laid_cloth(lay_task(task, limits, on_event)),)
