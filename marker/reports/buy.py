"""What `marker buy` says: each width's figures, the cheapest, the other cloths, the totals."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from marker.planning.offers import LeftOut, Offer, Offers
from marker.reports.matches import matching_lines
from marker.units import inches, metric, percent

_NAMES = {
    "layout": "layout",
    "ends": "for the two ends",
    "repeat": "to whole repeats",
    "shrinkage": "lost in washing",
    "rounding": "to a whole step",
}


def offers_facts(job_name: str, offers: Offers) -> dict[str, Any]:
    """Plain values for JSON; lengths in mm to 0.001."""
    main = offers.widths[0].checked.layout.cloth
    return {
        "name": job_name,
        "cloth": main.name,
        "widths": [_facts(offer) for offer in offers.widths],
        "cheapest": offers.cheapest,
        "cheapest_by": "cost" if offers.by_cost else "area",
        "left_out": [
            {"width_mm": _mm(each.width_mm), "reason": each.reason} for each in offers.left_out
        ],
        "other_cloths": [
            {"cloth": offer.checked.layout.cloth.name} | _facts(offer) for offer in offers.others
        ],
        "totals": offers.totals,
        "unpriced": list(offers.unpriced),
        "not_laid": list(offers.not_laid),
    }


def _facts(offer: Offer) -> dict[str, Any]:
    layout, bought = offer.checked.layout, offer.purchase
    figures = bought.as_dict()
    return {
        "width_mm": _mm(offer.width_mm),
        "usable_width_mm": _mm(layout.cloth.usable_width_mm),
        "length_mm": _mm(layout.length_mm),
        "utilisation": round(offer.checked.utilisation, 6),
        "buy_mm": _mm(bought.buy_mm),
        "addends": {f"{name}_mm": _mm(mm) for name, mm in bought.addends.items()},
        "matching_mm": _mm(layout.matching_mm),
        "step_mm": _mm(bought.step_mm),
        "short_by_mm": _mm(bought.short_by_mm),
        "cost": bought.cost,
        "currency": bought.currency,
        "area_m2": round(offer.area_mm2 / 1e6, 4),
        "laid_at_mm": _mm(offer.laid_at_mm),
        "stopped_because": layout.stopped_because,
        "seconds": round(layout.seconds, 3),
        "buy_text_metric": figures["buy_text_metric"],
        "buy_text_yards": figures["buy_text_yards"],
    }


def _mm(length: float) -> float:
    return round(length, 3) + 0.0


def offers_lines(job_name: str, offers: Offers) -> Iterator[str]:
    """The same as lines for a person."""
    main = offers.widths[0].checked.layout.cloth
    yield f"{job_name} on {main.name}, by width of the cloth:"
    yield ""
    yield "     width               buy                 used      cost"
    for k, offer in enumerate(offers.widths):
        yield from _offer_lines(offer, offers, "*" if k == offers.cheapest else " ")
    for left in offers.left_out:
        yield from _left_out_lines(left)
    yield ""
    yield _cheapest_line(offers)
    yield from _other_lines(offers)


def _offer_lines(offer: Offer, offers: Offers, mark: str) -> Iterator[str]:
    bought = offer.purchase
    width = f"{metric(offer.width_mm)} ({inches(offer.width_mm)})"
    buy = f"{metric(bought.buy_mm)} ({bought.yards})"
    used = f"{100 * offer.checked.utilisation:.1f} %"
    cost = "" if bought.cost is None else f"{bought.cost:.2f} {bought.currency}"
    if not offers.by_cost:
        cost += f"  {offer.area_mm2 / 1e6:.2f} m²"
    yield f"   {mark} {width:<19} {buy:<19} {used:<9} {cost.strip()}"
    yield f"       {_sum(offer)}"
    yield f"       one step of {_both(bought.step_mm)} less would be short by {_short(offer)}"
    yield from (f"     {line}" for line in matching_lines(offer.checked.layout))
    if offer.is_carried:
        yield f"       laid as on {metric(offer.laid_at_mm)}, nothing shorter was found"


def _sum(offer: Offer) -> str:
    """'layout 1.24 m + 40 mm for the two ends + 20 mm to a whole step'."""
    addends = {name: mm for name, mm in offer.purchase.addends.items() if mm or name == "layout"}
    said = f"layout {_both(addends.pop('layout'))}"
    for name, mm in addends.items():
        said += f" {'-' if mm < 0 else '+'} {metric(abs(mm))} {_NAMES[name]}"
    return said


def _short(offer: Offer) -> str:
    return _both(offer.purchase.short_by_mm)


def _both(mm: float) -> str:
    return f"{metric(mm)} ({inches(mm)})"


def _left_out_lines(left: LeftOut) -> Iterator[str]:
    yield f"     {metric(left.width_mm)} ({inches(left.width_mm)}): not laid. {left.reason}"


def _cheapest_line(offers: Offers) -> str:
    best = offers.widths[offers.cheapest]
    buy = f"{metric(best.purchase.buy_mm)} ({best.purchase.yards}) of {metric(best.width_mm)}"
    if len(offers.widths) == 1:
        return f"To buy: {buy}."
    why = "costs least" if offers.by_cost else "is the least cloth (without prices, by area)"
    return f"Cheapest: {buy} {why}."


def _other_lines(offers: Offers) -> Iterator[str]:
    for offer in offers.others:
        cloth, bought = offer.checked.layout.cloth, offer.purchase
        cost = "" if bought.cost is None else f", {bought.cost:.2f} {bought.currency}"
        yield (
            f"{cloth.name}, {_both(cloth.width_mm)} wide: {metric(bought.buy_mm)} "
            f"({bought.yards}){cost}, {percent(offer.checked.utilisation)} used"
        )
        yield f"       {_sum(offer)}"
        yield f"       one step of {_both(bought.step_mm)} less would be short by {_short(offer)}"
    for name in offers.not_laid:
        yield f"{name}: not laid, stopped by hand"
    if offers.others or offers.not_laid:
        total = " + ".join(f"{cost:.2f} {currency}" for currency, cost in offers.totals.items())
        without = [*offers.unpriced, *offers.not_laid]
        missing = f", without {' and '.join(without)}" if without else ""
        yield f"All cloths together: {total or 'no prices are given'}{missing if total else ''}"
