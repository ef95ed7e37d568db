"""The figures of a title block, in the reader's own units."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from marker.cloth.behaviour import Cut
from marker.cloth.buying import Answer, Fit, Purchase, fit
from marker.cloth.fabric import Cloth
from marker.layout import CheckedLayout
from marker.units import inches, metric


@dataclass(frozen=True)
class Fact:
    """One figure of the title block: what it is, the figure, and a line of small print."""

    label: str
    value: str
    detail: str


def title_facts(checked: CheckedLayout, purchase: Purchase) -> tuple[Fact, ...]:
    """To buy or there, length, width, nap; utilisation, lower bound, pieces, price, selling step or
    what is needed."""
    layout, cloth = checked.layout, checked.layout.cloth
    fits = fit(layout.length_mm, layout.length_lower_bound_mm, cloth)
    return (
        _cloth(fits, purchase),
        Fact(
            "length used",
            metric(layout.length_mm),
            _addends(layout.length_mm, purchase),
        ),
        Fact(
            "usable width",
            metric(cloth.usable_width_mm),
            f"{inches(cloth.usable_width_mm)} of {metric(cloth.width_mm)}{_washing(cloth)}",
        ),
        Fact("nap", str(cloth.nap), f"{metric(cloth.gap_mm)} between pieces"),
        Fact("utilisation", f"{checked.utilisation:.1%}".replace("%", " %"), "of length × width"),
        _bound(layout.length_mm, layout.length_lower_bound_mm),
        _pieces(checked),
        _price(purchase) if fits is None else _needed(fits),
    )


def _cloth(fits: Fit | None, purchase: Purchase) -> Fact:
    """What to buy; of a cloth of fixed length, what there is."""
    if fits is None:
        return Fact("to buy", metric(purchase.buy_mm), f"by the yard: {purchase.yards}")
    spare = metric(abs(fits.spare_mm))
    detail = f"{spare} to spare" if fits.answer is Answer.FITS else f"short by {spare}"
    return Fact("there is", metric(fits.have_mm), f"{inches(fits.have_mm)}, {detail}")


def _addends(length: float, purchase: Purchase) -> str:
    """What is bought besides, in what room there is: of washed cloth without the inches."""
    ends = f"ends {metric(purchase.end_allowance_mm)}"
    if purchase.shrinkage_mm:
        taken, gained = purchase.shrinkage_mm, purchase.shrinkage_mm < 0
        return f"{ends}, {'gained in ' if gained else ''}washing {metric(abs(taken))}"
    return f"{inches(length)}, {ends}"


def _needed(fits: Fit) -> Fact:
    return Fact("needed, ends included", metric(fits.needed_mm), inches(fits.needed_mm))


def _washing(cloth: Cloth) -> str:
    """Whether the cloth on the table is washed, where it matters."""
    if not (cloth.shrinkage.along or cloth.shrinkage.across):
        return ""
    return ", washed" if cloth.shrinkage.cut is Cut.AFTER_WASHING else ", unwashed"


def _bound(length: float, bound: float) -> Fact:
    gap = f"gap to this layout {1 - bound / length:.1%}".replace("%", " %")
    return Fact("no layout is shorter than", metric(bound), gap)


def _pieces(checked: CheckedLayout) -> Fact:
    sizes = ", ".join(
        size if count == 1 else f"{count} × {size}"
        for size, count in Counter(checked.garments).items()
    )
    many = len(checked.garments)
    garments = "1 garment" if many == 1 else f"{many} garments"
    return Fact("pieces", str(len(checked.layout.placements)), f"{garments}, size {sizes}")


def _price(purchase: Purchase) -> Fact:
    sold = f"sold in steps of {metric(purchase.step_mm)}"
    if purchase.cost is None:
        return Fact("sold in steps of", metric(purchase.step_mm), inches(purchase.step_mm))
    return Fact("price", f"{purchase.cost:.2f} {purchase.currency}", sold)
