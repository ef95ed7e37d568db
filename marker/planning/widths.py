"""Which width to buy: a job laid on its main cloth in several widths and on its other cloths."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from marker.cloth.buying import Purchase, as_sold
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, Part
from marker.job import Job
from marker.layout import CheckedLayout, Ending
from marker.layout.bought import purchase_for
from marker.planning.carrying import carried_over
from marker.planning.events import OnEvent
from marker.planning.limits import SearchLimits
from marker.planning.one_cloth import lay_task
from marker.planning.tasks import LayingTask, loads, spread
from marker.tolerances import HAIR_MM
from marker.units import cut_length


@dataclass(frozen=True)
class BoughtCloth:
    """One cloth in one width: what is laid on it, and what is bought for that.

    laid_at_mm : width of the cloth, as bought, on which this layout was found; less than its own
        where a narrower cloth's layout is better and carried over.
    """

    checked: CheckedLayout
    purchase: Purchase
    laid_at_mm: float

    @property
    def width_mm(self) -> float:
        """As bought, selvages included."""
        return self.checked.layout.cloth.width_mm

    @property
    def is_carried(self) -> bool:
        """Whether its layout is that of a narrower cloth."""
        return self.laid_at_mm < self.width_mm

    @property
    def area_mm2(self) -> float:
        """Cloth bought, length × width."""
        return self.purchase.buy_mm * self.width_mm


@dataclass(frozen=True)
class LeftOutWidth:
    """A width without a layout, mm as bought, and why."""

    width_mm: float
    reason: str


@dataclass(frozen=True)
class WidthsResult:
    """What a job may be cut from.

    widths : of the main cloth, narrowest first, at least one. others : the other cloths, each as
    the job has it. not_laid : names of those that were not reached.
    """

    job_name: str
    widths: tuple[BoughtCloth, ...]
    left_out: tuple[LeftOutWidth, ...]
    others: tuple[BoughtCloth, ...]
    not_laid: tuple[str, ...] = ()
    stopped_by_hand: bool = False

    @property
    def by_cost(self) -> bool:
        """Whether the widths have prices to compare; else the area bought is compared."""
        return all(bought.purchase.cost is not None for bought in self.widths)

    @property
    def cheapest(self) -> int:
        """Index of the width that costs least, of those the one of least area."""

        def price(k: int) -> tuple[float, float]:
            bought = self.widths[k]
            cost = bought.purchase.cost if self.by_cost else None
            return cost or 0.0, bought.area_mm2

        return min(range(len(self.widths)), key=price)

    @property
    def shopping(self) -> tuple[BoughtCloth, ...]:
        """The main cloth in its cheapest width, and the other cloths."""
        return self.widths[self.cheapest], *self.others

    @property
    def totals(self) -> dict[str, float]:
        """Currency -> what all cloths with a price cost in it together."""
        found: dict[str, float] = {}
        for bought in self.shopping:
            cost, currency = bought.purchase.cost, bought.purchase.currency
            if cost is not None and currency is not None:
                found[currency] = round(found.get(currency, 0.0) + cost, 2)
        return found

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Names of the cloths whose price is not known, so that no total holds them."""
        unknown = [each for each in self.shopping if each.purchase.cost is None]
        return tuple(each.checked.layout.cloth.name for each in unknown)


@dataclass(frozen=True)
class _BuyingTask:
    """All that has to be laid to know what to buy.

    widths : the main cloth in each width that all pieces fit, narrowest first. left_out : the
    other widths. others : the job's other cloths.
    """

    widths: tuple[LayingTask, ...]
    left_out: tuple[LeftOutWidth, ...]
    others: tuple[LayingTask, ...]


def main_cloth(job: Job) -> Cloth:
    """The first cloth that something is cut from; raises CannotBeDone if there is none."""
    if not job.cloths_cut:
        raise CannotBeDone(f"{job.name} has nothing to cut. Give it pieces or strips.")
    return job.cloths_cut[0]


def compare_widths(
    job: Job, widths: Sequence[Cloth], limits: SearchLimits, on_event: OnEvent
) -> WidthsResult:
    """Lay a job in each width of its main cloth, and price it; a width never needs more than a
    narrower one.

    widths : the main cloth in every width asked for. limits : its seconds are shared out evenly,
    time that a layout does not need goes to the rest; its iterations are those of each layout.
    Once stopped it begins no other layout. Raises CannotBeDone if a piece fits none of the widths,
    or one of the other cloths is too narrow.
    """
    task = _buying_task(job, widths)
    laid = _lay_all((*task.widths, *task.others), limits, on_event)
    found = laid[: len(task.widths)]
    stopped = [
        LeftOutWidth(each.cloth.width_mm, Ending.BY_HAND) for each in task.widths[len(found) :]
    ]
    others = [_bought(checked) for checked in laid[len(task.widths) :]]
    return WidthsResult(
        job.name,
        _never_more(found),
        (*task.left_out, *stopped),
        tuple(others),
        tuple(each.cloth.name for each in task.others[len(others) :]),
        limits.stopped.is_set(),
    )


def compare_redrafted(
    draft: Callable[[float], Job],
    widths: Sequence[Cloth],
    limits: SearchLimits,
    on_event: OnEvent,
) -> WidthsResult:
    """`compare_widths` of a job whose pieces depend on the width: drafted again for each.

    draft : the job for a width of its main cloth, mm from edge to edge; raises CannotBeDone where
    there is none. Raises CannotBeDone if there is none in any of the widths.
    """
    results: list[WidthsResult] = []
    left_out: list[LeftOutWidth] = []
    for cloth in sorted(widths, key=lambda cloth: cloth.width_mm):
        try:
            job = draft(cloth.width_mm)
            results.append(compare_widths(job, [cloth], limits.part(1 / len(widths)), on_event))
        except CannotBeDone as reason:
            left_out.append(LeftOutWidth(cloth.width_mm, " ".join(str(reason).splitlines())))
    if not results:
        raise CannotBeDone(
            "\n".join(f"{cut_length(each.width_mm)}: {each.reason}" for each in left_out)
        )
    return replace(
        results[0],
        widths=tuple(bought for result in results for bought in result.widths),
        left_out=tuple(left_out),
        stopped_by_hand=limits.stopped.is_set(),
    )


def _buying_task(job: Job, widths: Sequence[Cloth]) -> _BuyingTask:
    main = main_cloth(job)
    for cloth in job.cloths:
        if cloth.remnants:
            raise CannotBeDone(
                f"{cloth.name} is remnants, which are not bought. Take them out.",
                [(Part.CLOTH, cloth.name)],
            )
    rest = [as_sold(cloth) for cloth in job.cloths_cut if cloth.name != main.name]
    others = _tasks(job, rest) if rest else ()
    found: list[LayingTask] = []
    left_out: list[LeftOutWidth] = []
    about: list[tuple[Part, str]] = []
    for cloth in sorted(widths, key=lambda cloth: cloth.width_mm):
        try:
            found += _tasks(_with_cloth(job, cloth), [cloth])
        except CannotBeDone as reason:
            left_out.append(LeftOutWidth(cloth.width_mm, " ".join(str(reason).splitlines())))
            about += reason.about
    if not found:
        said = "".join(f"\n  {cut_length(each.width_mm)}: {each.reason}" for each in left_out)
        raise CannotBeDone(f"{main.name} can be laid in none of the widths asked for:{said}", about)
    return _BuyingTask(tuple(found), tuple(left_out), others)


def _tasks(job: Job, cloths: Sequence[Cloth]) -> tuple[LayingTask, ...]:
    """What is cut from each of these cloths, spread as it says itself."""
    return tuple(spread(load) for load in loads(job, cloths))


def _with_cloth(job: Job, cloth: Cloth) -> Job:
    cloths = tuple(cloth if cloth.name == each.name else each for each in job.cloths)
    return replace(job, cloths=cloths)


def _lay_all(
    work: Sequence[LayingTask], limits: SearchLimits, on_event: OnEvent
) -> list[CheckedLayout]:
    laid: list[CheckedLayout] = []
    left = limits.seconds
    for k, task in enumerate(work):
        if laid and limits.stopped.is_set():
            break
        share = None if left is None else left / (len(work) - k)
        about = f"{task.cloth.name} {cut_length(task.cloth.width_mm)}"
        started = time.monotonic()
        laid.append(lay_task(task, replace(limits, seconds=share), on_event, about))
        if left is not None and share is not None:
            left -= min(share, time.monotonic() - started)
    return laid


def _never_more(laid: Sequence[CheckedLayout]) -> tuple[BoughtCloth, ...]:
    """Each width with its own layout, or the best of a narrower one where that is shorter."""
    every: list[BoughtCloth] = []
    for own in laid:
        best = _bought(own)
        for narrower in sorted(every, key=lambda bought: bought.checked.layout.length_mm):
            if narrower.checked.layout.length_mm >= own.layout.length_mm - HAIR_MM:
                break
            carried = carried_over(narrower.checked, own.layout.cloth)
            if carried is not None:
                best = _bought(carried, narrower.laid_at_mm)
                break
        every.append(best)
    return tuple(every)


def _bought(checked: CheckedLayout, laid_at_mm: float | None = None) -> BoughtCloth:
    cloth = checked.layout.cloth
    bought = purchase_for(checked)
    return BoughtCloth(checked, bought, laid_at_mm or cloth.width_mm)
