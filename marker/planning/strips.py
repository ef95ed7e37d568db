"""What strips cost: laid among the pieces, or cut by themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from marker.job import Job
from marker.layout import CheckedLayout
from marker.pattern.bands.strip_layout import StripLayout, strip_layout

if TYPE_CHECKING:
    from marker.planning.events import OnEvent
    from marker.planning.limits import SearchLimits


@dataclass(frozen=True)
class StripCost:
    """Lengths of one cloth in mm.

    among_mm : pieces and strips laid together.
    pieces_mm, strips_mm : the pieces laid alone, and the strips cut by themselves.
    """

    cloth: str
    among_mm: float
    pieces_mm: float
    strips_mm: float

    @property
    def saved_mm(self) -> float:
        """What laying them together saves; below 0 if it costs more."""
        return self.pieces_mm + self.strips_mm - self.among_mm


def strips_alone(job: Job) -> tuple[StripLayout, ...]:
    """The strips of all garments ordered, cut by themselves: one layout for each cloth with any."""
    found = []
    for cloth in job.cloths:
        plans = [
            plan
            for size in job.garments
            for plan in job.strip_plans(size)
            if plan.cloth.name == cloth.name
        ]
        if plans:
            found.append(strip_layout(plans, cloth, 1))
    return tuple(found)


def strip_costs(
    job: Job, layouts: Sequence[StripLayout], limits: SearchLimits, on_event: OnEvent
) -> list[StripCost]:
    """What the strips of each cloth cost. limits : of the job with its strips, and again without.

    layouts : the strips of each cloth cut by themselves.
    """
    together = _laid(job, limits, on_event, "with strips")
    bare = job.with_strips(lambda _: None)
    alone = _laid(bare, limits, on_event, "without") if job.pattern.pieces else {}
    return [
        StripCost(
            layout.cloth.name,
            together[layout.cloth.name].layout.length_mm,
            _alone_mm(alone.get(layout.cloth.name), together[layout.cloth.name]),
            layout.length_mm,
        )
        for layout in layouts
    ]


def _alone_mm(alone: CheckedLayout | None, together: CheckedLayout) -> float:
    """Length of the pieces by themselves, 0 where a cloth holds nothing but strips; never more
    than with the strips, for these can be left out of that layout."""
    from marker.planning.carrying import carried_over

    if alone is None:
        return 0.0
    pieces = {piece.name for piece in alone.cut_pieces}
    without = carried_over(together, together.layout.cloth, pieces)
    lengths = [each.layout.length_mm for each in (alone, without) if each is not None]
    return min(lengths)


def _laid(job: Job, limits: SearchLimits, on_event: OnEvent, what: str) -> dict[str, CheckedLayout]:
    from marker.planning.one_cloth import lay_task  # with all that searches, which takes a while
    from marker.planning.tasks import loads, shares, spread

    every = loads(job)
    return {
        load.cloth.name: lay_task(
            spread(load), limits.part(part), on_event, f"{load.cloth.name} {what}"
        )
        for load, part in zip(every, shares(every), strict=True)
    }
