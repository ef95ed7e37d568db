"""The ways to spread a cloth that were tried, side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from marker.cloth.buying import purchase
from marker.layout.on_table import on_table
from marker.planning.spreads import TriedSpread
from marker.units import inches, metric
from marker.words import counted


def spread_facts(tried: Sequence[TriedSpread]) -> list[dict[str, Any]]:
    """For each way its cloth, outlines to cut and cost, or why it can't be; lengths in mm."""
    return [_facts(each) for each in tried]


def _facts(tried: TriedSpread) -> dict[str, Any]:
    found: dict[str, Any] = {"spread": tried.spreading.value, "why_not": tried.why_not or None}
    if tried.checked is None:
        return found
    layout = tried.checked.layout
    bought = purchase(layout.length_mm, layout.cloth)
    return found | {
        "length_mm": round(layout.length_mm, 4),
        "buy_mm": bought.buy_mm,
        "buy_text_yards": bought.yards,
        "cuts": len(on_table(tried.checked)),
        "pieces": len(layout.placements),
        "spares": len(layout.spares),
        "cost": bought.cost,
        "currency": bought.currency,
    }


def spread_lines(cloth: str, facts: Sequence[dict[str, Any]], chosen: str) -> Iterator[str]:
    """The facts as lines for a person. chosen : the spread whose layout is written."""
    yield f"{cloth}, spread in every way it allows:"
    wide = max(len(each["spread"]) for each in facts)
    for each in facts:
        name = f"{each['spread']:<{wide}}"
        if each["why_not"]:
            yield f"  {name}  refused: {each['why_not']}"
            continue
        spares = f", {counted(each['spares'], 'spare')}" if each["spares"] else ""
        cost = f", {each['cost']:.2f} {each['currency']}" if each["cost"] is not None else ""
        mark = "  <- least cloth, written" if each["spread"] == chosen else ""
        yield (
            f"  {name}  layout {metric(each['length_mm'])} ({inches(each['length_mm'])}), buy "
            f"{metric(each['buy_mm'])} ({each['buy_text_yards']}){cost}; "
            f"{counted(each['cuts'], 'outline')} to cut for {counted(each['pieces'], 'piece')}"
            f"{spares}{mark}"
        )
