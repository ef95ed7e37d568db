"""Which way to spread a cloth takes least of it: all that it allows are laid and compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from marker import judge
from marker.cloth.folding import OF_TUBES
from marker.cloth.spread import LAID_OPEN, Spreading
from marker.errors import CannotBeDone
from marker.layout import CheckedLayout, Ending
from marker.planning.events import OnEvent
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import ClothLoad, spread


@dataclass(frozen=True)
class TriedSpread:
    """One way to spread a cloth: its layout, or why there is none."""

    spreading: Spreading
    checked: CheckedLayout | None
    why_not: str = ""


def try_spreads(
    load: ClothLoad, limits: SearchLimits, on_event: OnEvent
) -> tuple[TriedSpread, ...]:
    """Every way to spread a cloth of this kind, in the order of `Spreading`.

    limits : what the load gets; each way gets an equal part of the time.
    Raises CannotBeDone, with every reason, if there is no way at all.
    """
    ways = [way for way in Spreading if (way in OF_TUBES) == (load.cloth.tube is not None)]
    tried = []
    for way in ways:
        try:
            task = spread(load, way)
        except CannotBeDone as reason:
            tried.append(TriedSpread(way, None, str(reason)))
        else:
            about = f"{load.cloth.name}, {way}"
            checked = lay_task(task, limits.part(1 / len(ways)), on_event, about)
            tried.append(TriedSpread(way, checked))
    if not any(each.checked for each in tried):
        raise CannotBeDone(" ".join(each.why_not for each in tried))
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
