"""The figures of a title block, in the reader's own units."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from marker.cloth.behaviour import Cut
from marker.cloth.buying import Addend, Answer, Fit, Purchase, fit
from marker.cloth.fabric import Cloth
from marker.job import Reader
from marker.layout import CheckedLayout
from marker.reports.yardage import price_words, shown_addends
from marker.units import (
    System,
    cut_length,
    cut_lengths,
    length,
    other_length,
    percent,
    shown,
    step_length,
)
from marker.words import ONE_SIZE, counted

PROVEN_MM = 0.5


@dataclass(frozen=True)
class Fact:
    """One figure of the title block: what it is, the figure, and a line of small print."""

    label: str
    value: str
    detail: str


def title_facts(checked: CheckedLayout, purchase: Purchase, reader: Reader) -> tuple[Fact, ...]:
    """What to buy or what there is, length, width, nap, share used, pieces, price or what is
    needed; for a cutting room also what is proven of the length."""
    layout, cloth = checked.layout, checked.layout.cloth
    fits = fit(layout.length_mm, layout.length_lower_bound_mm, cloth)
    share = percent(checked.utilisation)
    facts = [
        _cloth(fits, purchase),
        Fact("length used", cut_length(layout.length_mm), _addends(layout.length_mm, purchase)),
        Fact(
            "usable width",
            cut_length(cloth.usable_width_mm),
            _of_width(cloth),
        ),
        Fact(
            "nap",
            str(cloth.nap),
            gap_words(cloth),
        ),
    ]
    if reader is Reader.CUTTING_ROOM:
        facts.append(Fact("marker efficiency", share, "of length × usable width"))
        facts.append(_bound(layout.length_mm, layout.length_lower_bound_mm))
    else:
        facts.append(Fact("share of the cloth used", share, "the rest is left over"))
    return (*facts, _pieces(checked), _price(purchase) if fits is None else _needed(fits))


def gap_words(cloth: Cloth) -> str:
    """'2 mm between pieces'."""
    return f"{cut_length(cloth.gap_mm) if cloth.gap_mm else 'no gap'} between pieces"


def _cloth(fits: Fit | None, purchase: Purchase) -> Fact:
    """What to buy; of a cloth of fixed length, what there is."""
    if fits is None:
        return Fact("to buy", *_to_buy(purchase))
    spare = cut_length(abs(fits.spare_mm))
    detail = f"{spare} to spare" if fits.answer is Answer.FITS else f"short by {spare}"
    return Fact("there is", length(fits.have_mm), detail)


def _to_buy(purchase: Purchase) -> tuple[str, str]:
    """In the leading system, and in the other if that is shown."""
    by_metre, by_yard = length(purchase.buy_mm, System.METRIC), purchase.yards
    if shown().lead is System.IMPERIAL:
        return by_yard, f"by the metre: {by_metre}" if shown().both else ""
    return by_metre, f"by the yard: {by_yard}" if shown().both else ""


def _addends(mm: float, purchase: Purchase) -> str:
    """What is bought besides, in what room there is: of washed cloth without the other system."""
    addends = shown_addends(purchase)
    ends, taken = addends[Addend.END_ALLOWANCE], addends[Addend.SHRINKAGE]
    if taken:
        more, what = ends + taken, "ends, washing" if ends else "washing"
        return f"{'+' if more >= 0 else '-'} {cut_length(abs(more))}: {what}"
    return ", ".join(filter(None, [other_length(mm), f"ends {cut_length(ends)}" if ends else ""]))


def _needed(fits: Fit) -> Fact:
    return Fact("needed, ends included", cut_length(fits.needed_mm), other_length(fits.needed_mm))


def _of_width(cloth: Cloth) -> str:
    """The width as bought, in what room there is: where washing matters without the other system.

    Rounded as the usable width is, so that this never looks wider.
    """
    if not (cloth.shrinkage.along or cloth.shrinkage.across):
        return f"of {cut_lengths(cloth.width_mm)}"
    washed = "washed" if cloth.shrinkage.cut is Cut.AFTER_WASHING else "unwashed"
    return f"of {cut_length(cloth.width_mm)}, {washed}"


def _bound(mm: float, bound: float) -> Fact:
    """What is proven; of one length only one figure."""
    if mm - bound <= PROVEN_MM:
        return Fact("proven shortest", cut_length(mm), f"to within {cut_length(PROVEN_MM)}")
    gap = f"at most {percent(1 - bound / mm)} less"
    return Fact("no layout is shorter than", cut_length(bound), gap)


def _pieces(checked: CheckedLayout) -> Fact:
    many = len(checked.garments)
    if set(checked.garments) == {ONE_SIZE}:
        return Fact("pieces", str(len(checked.layout.placements)), counted(many, "garment"))
    sizes = ", ".join(
        size if count == 1 else f"{count} × {size}"
        for size, count in Counter(checked.garments).items()
    )
    garments = f"1 garment, size {sizes}" if many == 1 else f"of {sizes}"
    return Fact("pieces", str(len(checked.layout.placements)), garments)


def _price(purchase: Purchase) -> Fact:
    step = step_length(purchase.step_mm)
    if purchase.cost is None:
        return Fact("sold in steps of", step, "")
    return Fact("price", price_words(purchase), f"sold in steps of {step}")
