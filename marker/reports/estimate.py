"""What a garment would need in each width of cloth, before there is a pattern of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from marker.blocks.garment import Drafted
from marker.cloth.width_chart import converted_yd
from marker.layout.bought import purchase_for
from marker.planning.widths import BoughtCloth, WidthsResult
from marker.reports.buy import LeftOutFacts
from marker.reports.facts import YardageMm
from marker.units import MM_PER_UNIT, System, length, lengths, shown, yards

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
    """'1.60 m to 1.90 m (1 3/4 yd to 2 1/8 yd)', or one of each where both are alike; what leads
    first, and alone where only one system is shown."""
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
