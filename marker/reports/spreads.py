"""The ways to spread a cloth that were tried, side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from marker.cloth.spread import Spreading
from marker.layout.bought import purchase_for
from marker.layout.on_table import on_table
from marker.planning.laid_cloth import TriedSpread
from marker.reports.facts import LayoutMm
from marker.reports.yardage import asked_words
from marker.units import cut_lengths
from marker.words import counted


@dataclass(frozen=True, kw_only=True)
class LaidSpread:
    """One way to spread a cloth, laid. cuts : outlines to cut. spares : cut and not wanted."""

    spread: Spreading
    why_not: None = None
    length_mm: LayoutMm
    buy_mm: float
    buy_text_yards: str
    cuts: int
    pieces: int
    spares: int
    cost: float | None
    currency: str | None


@dataclass(frozen=True)
class RefusedSpread:
    """A way in which the cloth can't be spread, and why."""

    spread: Spreading
    why_not: str


SpreadFacts = LaidSpread | RefusedSpread


def spread_facts(tried: Sequence[TriedSpread]) -> tuple[SpreadFacts, ...]:
    """What came of each way."""
    return tuple(map(_facts, tried))


def _facts(tried: TriedSpread) -> SpreadFacts:
    if tried.checked is None:
        return RefusedSpread(tried.spreading, tried.why_not)
    layout = tried.checked.layout
    bought = purchase_for(tried.checked)
    return LaidSpread(
        spread=tried.spreading,
        length_mm=layout.length_mm,
        buy_mm=bought.buy_mm,
        buy_text_yards=bought.yards,
        cuts=len(on_table(tried.checked)),
        pieces=len(layout.placements),
        spares=len(layout.spares),
        cost=bought.cost,
        currency=bought.currency,
    )


def spread_lines(
    cloth: str, facts: Sequence[SpreadFacts], chosen: Spreading, *, earlier_stays: bool
) -> Iterator[str]:
    """The facts as lines for a person.

    chosen : the spread whose layout is written; kept beside the earlier one where that stays.
    """
    written = "kept beside; the earlier layout stays" if earlier_stays else "written"
    yield f"{cloth}, spread in every way it allows:"
    wide = max(len(each.spread) for each in facts)
    for each in facts:
        name = f"{each.spread:<{wide}}"
        if isinstance(each, RefusedSpread):
            yield f"  {name}  refused: {each.why_not}"
            continue
        spares = f", {counted(each.spares, 'extra piece')}" if each.spares else ""
        cost = f", {each.cost:.2f} {each.currency}" if each.cost is not None else ""
        mark = f"  <- least cloth, {written}" if each.spread is chosen else ""
        yield (
            f"  {name}  layout {cut_lengths(each.length_mm)}, buy "
            f"{asked_words(each.buy_mm, each.buy_text_yards)}{cost}; "
            f"{counted(each.cuts, 'outline')} to cut for {counted(each.pieces, 'piece')}"
            f"{spares}{mark}"
        )
