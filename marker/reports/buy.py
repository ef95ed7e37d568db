"""What `marker buy` says: each width's figures, the cheapest, the other cloths, the totals; of a
garment that has no pattern yet, what it would need in each width.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Annotated

from marker.blocks.garment import Drafted
from marker.cloth.buying import Addend
from marker.cloth.width_chart import converted_yd
from marker.layout import Ending
from marker.layout.bought import purchase_for
from marker.planning.widths import BoughtCloth, WidthsResult
from marker.reports.facts import Digits, Mark, YardageMm
from marker.reports.layout import matching_lines
from marker.reports.yardage import asked_words, price_words, short_words, sum_words
from marker.units import MM_PER_UNIT, System, area, length, lengths, percent, shown, yards


class ComparedBy(StrEnum):
    """What makes a width the cheapest."""

    COST = "cost"
    AREA = "area"


@dataclass(frozen=True, kw_only=True)
class WidthFacts:
    """One cloth in one width.

    cloth : said of the job's other cloths. width_mm : as bought, selvages included.
    usable_width_mm : between the selvages, when it is cut. length_mm : of the layout.
    utilisation : share of the cloth used. buy_mm : what to buy, in whole steps of the shop.
    addends : what buy_mm is made of, in the order in which it is reckoned. matching_mm : what
    keeping to the repeat costs. step_mm : the shop's step. short_by_mm : what one step less lacks.
    laid_at_mm : the width on which its layout was found, less than its own where a narrower cloth's
    layout is used. stopped_because : why the search ended. seconds : how long it took.
    buy_text_metric, buy_text_yards : what to ask for in the shop.
    """

    cloth: Annotated[str | None, Mark.LEFT_OUT] = None
    width_mm: YardageMm
    usable_width_mm: YardageMm
    length_mm: YardageMm
    utilisation: Annotated[float, Digits(6)]
    buy_mm: YardageMm
    addends: Mapping[Addend, YardageMm]
    matching_mm: YardageMm
    step_mm: YardageMm
    short_by_mm: YardageMm
    cost: float | None
    currency: str | None
    area_m2: Annotated[float, Digits(4)]
    laid_at_mm: YardageMm
    stopped_because: Ending
    seconds: Annotated[float, Digits(3)]
    buy_text_metric: str
    buy_text_yards: str
    bought: Annotated[BoughtCloth, Mark.HIDDEN]


@dataclass(frozen=True)
class LeftOutFacts:
    """A width that was not laid, and why."""

    width_mm: YardageMm
    reason: str


@dataclass(frozen=True, kw_only=True)
class BuyReport:
    """What to buy for a job, by the width of its main cloth.

    cheapest : index of the width that costs least, or is the least cloth by area without prices.
    totals : currency -> cost of all cloths that have a price. unpriced : those without one.
    not_laid : cloths that were not reached.
    """

    name: str
    cloth: str
    widths: tuple[WidthFacts, ...]
    cheapest: int
    cheapest_by: ComparedBy
    left_out: tuple[LeftOutFacts, ...]
    other_cloths: tuple[WidthFacts, ...]
    totals: Mapping[str, float]
    unpriced: tuple[str, ...]
    not_laid: tuple[str, ...]
    files: tuple[Path, ...]


def buy_report(found: WidthsResult, files: Sequence[Path]) -> BuyReport:
    """The report of a result. files : the plots that were written of it."""
    return BuyReport(
        name=found.job_name,
        cloth=found.widths[0].checked.layout.cloth.name,
        widths=tuple(_facts(bought) for bought in found.widths),
        cheapest=found.cheapest,
        cheapest_by=ComparedBy.COST if found.by_cost else ComparedBy.AREA,
        left_out=tuple(LeftOutFacts(each.width_mm, each.reason) for each in found.left_out),
        other_cloths=tuple(
            _facts(bought, bought.checked.layout.cloth.name) for bought in found.others
        ),
        totals=found.totals,
        unpriced=found.unpriced,
        not_laid=found.not_laid,
        files=tuple(files),
    )


def _facts(bought: BoughtCloth, cloth: str | None = None) -> WidthFacts:
    layout, purchase = bought.checked.layout, bought.purchase
    return WidthFacts(
        cloth=cloth,
        width_mm=bought.width_mm,
        usable_width_mm=layout.cloth.usable_width_mm,
        length_mm=layout.length_mm,
        utilisation=bought.checked.utilisation,
        buy_mm=purchase.buy_mm,
        addends=purchase.addends,
        matching_mm=layout.matching_mm,
        step_mm=purchase.step_mm,
        short_by_mm=purchase.short_by_mm,
        cost=purchase.cost,
        currency=purchase.currency,
        area_m2=bought.area_mm2 / 1e6,
        laid_at_mm=bought.laid_at_mm,
        stopped_because=layout.stopped_because,
        seconds=layout.seconds,
        buy_text_metric=purchase.metric,
        buy_text_yards=purchase.yards,
        bought=bought,
    )


def buy_lines(report: BuyReport) -> Iterator[str]:
    """The same as lines for a person."""
    yield f"{report.name} on {report.cloth}, by width of the cloth:"
    yield ""
    yield "     width               buy                 used      cost"
    for k, width in enumerate(report.widths):
        yield from _width_lines(width, report.cheapest_by, "*" if k == report.cheapest else " ")
    for left in report.left_out:
        yield f"     {lengths(left.width_mm)}: not laid. {left.reason}"
    yield ""
    yield _cheapest_line(report)
    yield from _other_lines(report)
    yield from (f"wrote  {path}" for path in report.files)


def _width_lines(width: WidthFacts, by: ComparedBy, mark: str) -> Iterator[str]:
    bought, purchase = width.bought, width.bought.purchase
    buy = asked_words(purchase.buy_mm, purchase.yards)
    cost = price_words(purchase)
    if by is ComparedBy.AREA:
        cost += f"  {area(1e6 * width.area_m2)}"
    used = f"{100 * width.utilisation:.1f} %"
    yield f"   {mark} {lengths(width.width_mm):<19} {buy:<19} {used:<9} {cost.strip()}"
    yield f"       {sum_words(purchase)}"
    yield f"       {short_words(purchase)}"
    yield from (f"     {line}" for line in matching_lines(bought.checked.layout))
    if bought.is_carried:
        yield f"       laid as on {length(bought.laid_at_mm)}, nothing shorter was found"


def _cheapest_line(report: BuyReport) -> str:
    best = report.widths[report.cheapest]
    buy = f"{asked_words(best.buy_mm, best.buy_text_yards)} of {length(best.width_mm)}"
    if len(report.widths) == 1:
        return f"To buy: {buy}."
    by_cost = report.cheapest_by is ComparedBy.COST
    why = "costs least" if by_cost else "is the least cloth (without prices, by area)"
    return f"Cheapest: {buy} {why}."


def _other_lines(report: BuyReport) -> Iterator[str]:
    for other in report.other_cloths:
        purchase = other.bought.purchase
        cost = "" if other.cost is None else f", {price_words(purchase)}"
        yield (
            f"{other.cloth}, {lengths(other.width_mm)} wide: "
            f"{asked_words(other.buy_mm, other.buy_text_yards)}{cost}, "
            f"{percent(other.utilisation)} used"
        )
        yield f"       {sum_words(purchase)}"
        yield f"       {short_words(purchase)}"
    for name in report.not_laid:
        yield f"{name}: not laid, stopped by hand"
    if report.other_cloths or report.not_laid:
        total = " + ".join(f"{cost:.2f} {currency}" for currency, cost in report.totals.items())
        without = [*report.unpriced, *report.not_laid]
        missing = f"; {' and '.join(without)} not counted" if without else ""
        yield f"All cloths together: {total or 'no prices are given'}{missing if total else ''}"


_INCH, _YARD = float(MM_PER_UNIT["in"]), float(MM_PER_UNIT["yd"])


@dataclass(frozen=True, kw_only=True)
class WidthEstimate:
    """One width of the main cloth.

    least_mm : to buy for the shortest layout that is not ruled out. most_mm : for the layout found.
    chart_mm : what the printed chart has for it, None where it has nothing.
    """

    width_mm: YardageMm
    least_mm: YardageMm
    most_mm: YardageMm
    least_text_yards: str
    most_text_yards: str
    chart_mm: YardageMm | None


@dataclass(frozen=True, kw_only=True)
class EstimateReport:
    """A garment's cloth by width.

    measures_mm : the body's, that it was drafted from. options : those chosen, in words.
    chart_from_mm : the width from which the chart converts, None where it has no column for any.
    other_cloths : least and most of the garment's other cloths.
    """

    garment: str
    cloth: str
    measures_mm: dict[str, YardageMm]
    options: dict[str, str]
    widths: tuple[WidthEstimate, ...]
    chart_from_mm: YardageMm | None
    left_out: tuple[LeftOutFacts, ...]
    other_cloths: dict[str, WidthEstimate]


def estimate_report(drafted: Drafted, found: WidthsResult) -> EstimateReport:
    """The report of a garment whose first layouts were found."""
    base = next((each for each in found.widths if _chart_mm(each, each) is not None), None)
    return EstimateReport(
        garment=drafted.garment,
        cloth=found.widths[0].checked.layout.cloth.name,
        measures_mm=dict(drafted.measures[drafted.sample]),
        options=dict(drafted.options),
        widths=tuple(_estimate(each, base) for each in found.widths),
        chart_from_mm=base.width_mm if base else None,
        left_out=tuple(LeftOutFacts(each.width_mm, each.reason) for each in found.left_out),
        other_cloths={
            each.checked.layout.cloth.name: _estimate(each, None) for each in found.others
        },
    )


def _estimate(bought: BoughtCloth, base: BoughtCloth | None) -> WidthEstimate:
    layout = bought.checked.layout
    bound_mm = min(layout.length_lower_bound_mm, layout.length_mm)
    least = purchase_for(bought.checked, bound_mm)
    return WidthEstimate(
        width_mm=bought.width_mm,
        least_mm=least.buy_mm,
        most_mm=bought.purchase.buy_mm,
        least_text_yards=least.yards,
        most_text_yards=bought.purchase.yards,
        chart_mm=_chart_mm(base, bought) if base and base is not bought else None,
    )


def _chart_mm(base: BoughtCloth, other: BoughtCloth) -> float | None:
    found = converted_yd(
        base.purchase.needed_mm / _YARD, base.width_mm / _INCH, other.width_mm / _INCH
    )
    return None if found is None else found * _YARD


def estimate_lines(report: EstimateReport) -> Iterator[str]:
    """The same as lines for a person."""
    yield f"{report.garment} of {report.cloth}, what to buy by width of the cloth:"
    body = [f"{name.replace('_', ' ')} {length(mm)}" for name, mm in report.measures_mm.items()]
    options = [f"{name.replace('_', ' ')} {said}" for name, said in report.options.items()]
    for what, said in (("body", body), ("chosen", options)):
        if said:
            yield f"  {what}: {', '.join(said)}"
    yield ""
    yield from (_line(lengths(each.width_mm), each) for each in report.widths)
    yield from (f"  {lengths(left.width_mm)}: not laid. {left.reason}" for left in report.left_out)
    yield from (_line(name, each) for name, each in report.other_cloths.items())
    yield ""
    yield from _notes(report)


def _line(what: str, each: WidthEstimate) -> str:
    ends = [(each.least_mm, each.least_text_yards), (each.most_mm, each.most_text_yards)]
    said = _span([length(mm, System.METRIC) for mm, _ in ends], [text for _, text in ends])
    chart = ""
    if each.chart_mm is not None:
        chart = f"chart: {_span([length(each.chart_mm, System.METRIC)], [yards(each.chart_mm)])}"
    return f"  {what:<20} {said:<38} {chart}".rstrip()


def _span(lengths: Sequence[str], in_yards: Sequence[str]) -> str:
    """'1.60 m to 1.90 m (1 3/4 yd to 2 1/8 yd)', or one of each where both are alike.

    What leads comes first, and alone where only one system is shown.
    """
    said = [" to ".join(dict.fromkeys(each)) for each in (lengths, in_yards)]
    if shown().lead is System.IMPERIAL:
        said.reverse()
    return f"{said[0]} ({said[1]})" if shown().both else said[0]


def _notes(report: EstimateReport) -> Iterator[str]:
    yield "The first length is proven: no layout needs less. The second is that of a layout found;"
    yield "give --seconds for a shorter one. Both hold the ends and are whole steps of the shop."
    if any(each.chart_mm is not None for each in report.widths):
        base = lengths(report.chart_from_mm or 0.0)
        yield f"chart: what a printed chart of widths makes of the need in {base}; it knows no"
        yield "pieces."
