"""Lay a job: job -> cut pieces -> placement -> checked layout -> purchase, for all its cloths."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from marker import judge
from marker.cloth.folding import OF_TUBES
from marker.cloth.spread import LAID_OPEN, Spreading
from marker.errors import CannotBeDone, Part
from marker.job import Job
from marker.layout import CheckedLayout, Ending
from marker.planning.events import OnEvent, TimeShared
from marker.planning.laid_cloth import LaidCloth, TriedSpread, laid_cloth
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.remnants import lay_on_remnants
from marker.planning.tasks import ClothLoad, LayingTask, loads, shares, spread

WayToLay = Callable[[SearchLimits, OnEvent], tuple[LaidCloth, ...]]
"""Lays one cloth within its share of the time: one layout, or one for each remnant used."""


def lay(
    job: Job,
    limits: SearchLimits,
    on_event: OnEvent,
    *,
    spreading: Spreading | None = None,
    every_spread: bool = False,
) -> tuple[LaidCloth, ...]:
    """Lay every cloth of a job, the main cloth first; each remnant has a layout of its own.

    limits : its seconds are shared out among the cloths; its iterations are those of each search.
    spreading : how all cloths lie, None for each as it says itself.
    every_spread : compare all ways to spread each cloth instead.

    The same job, seed, iterations and workers give the same layouts. Raises CannotBeDone, before
    any search where that is known.
    """
    every = loads(job)
    ways = [_way_to_lay(load, spreading, every_spread) for load in every]
    parts = shares(every)
    if limits.seconds is not None and len(every) > 1:
        names = [load.cloth.name for load in every]
        seconds = [limits.seconds * part for part in parts]
        on_event(TimeShared(job.name, tuple(zip(names, seconds, strict=True))))
    return tuple(
        laid
        for way, part in zip(ways, parts, strict=True)
        for laid in way(limits.part(part), on_event)
    )


def _way_to_lay(load: ClothLoad, spreading: Spreading | None, every_spread: bool) -> WayToLay:
    """Raises CannotBeDone where the cloth can't be spread like this."""
    if load.cloth.remnants:
        if spreading not in (None, Spreading.OPEN):
            raise CannotBeDone(
                f"the remnants of {load.cloth.name} lie open, not '{spreading}'. Lay them open.",
                [(Part.CLOTH, load.cloth.name)],
            )
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


def try_spreads(
    load: ClothLoad, limits: SearchLimits, on_event: OnEvent
) -> tuple[TriedSpread, ...]:
    """Every way to spread a cloth of this kind, in the order of `Spreading`.

    limits : what the load gets; each way gets an equal part of the time.
    Raises CannotBeDone, with every reason, if there is no way at all.
    """
    ways = [way for way in Spreading if (way in OF_TUBES) == (load.cloth.tube is not None)]
    tried = []
    refused: list[CannotBeDone] = []
    for way in ways:
        try:
            task = spread(load, way)
        except CannotBeDone as reason:
            tried.append(TriedSpread(way, None, str(reason)))
            refused.append(reason)
        else:
            about = f"{load.cloth.name}, {way}"
            checked = lay_task(task, limits.part(1 / len(ways)), on_event, about)
            tried.append(TriedSpread(way, checked))
    if not any(each.checked for each in tried):
        parts = [part for each in refused for part in each.about]
        raise CannotBeDone(" ".join(each.why_not for each in tried), parts)
    return _never_worse_open(tried)


def best(tried: Sequence[TriedSpread]) -> CheckedLayout:
    """The layout that takes least cloth; of equals the one tried first."""
    laid = [each.checked for each in tried if each.checked]
    return min(laid, key=lambda checked: checked.layout.length_mm)


def _never_worse_open(tried: Sequence[TriedSpread]) -> tuple[TriedSpread, ...]:
    """A folded layout, unfolded, is an open one: where that is shorter than what was found for the
    open cloth, it takes its place. A tube's is none, for pieces may lie across any slit."""
    laid = {each.spreading: each.checked for each in tried if each.checked}
    found = laid.get(Spreading.OPEN)
    if found is None:
        return tuple(tried)
    shortest = min(laid.values(), key=lambda checked: checked.layout.length_mm).layout
    if shortest is found.layout or shortest.length_mm >= found.layout.length_mm:
        return tuple(tried)
    opened = replace(
        shortest,
        spread=LAID_OPEN,
        spares=(),
        length_mm=max(float(p.outline_mm[:, 0].max()) for p in shortest.placements),
        length_lower_bound_mm=found.layout.length_lower_bound_mm,
        stopped_because=Ending.OPENED,
        seconds=found.layout.seconds,
    )
    checked = judge.check(opened, found.cut_pieces, found.garments)
    return tuple(
        replace(each, checked=checked) if each.spreading is Spreading.OPEN else each
        for each in tried
    )
