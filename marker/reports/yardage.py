"""What to buy, and whether what is on hand suffices, in words."""

from __future__ import annotations

from marker.cloth.buying import Addend, Answer, Fit, Purchase
from marker.units import System, cut_length, cut_lengths, length, shown, step_length, that_add_up

ADDEND_WORDS = {
    Addend.LAYOUT: "layout",
    Addend.END_ALLOWANCE: "for the two ends",
    Addend.REPEAT: "to start on its bar wherever it is cut",
    Addend.SHRINKAGE: "lost in washing",
    Addend.ROUNDING: "to a whole step",
}


def price_words(purchase: Purchase) -> str:
    """'12.40 EUR', empty without a price."""
    return "" if purchase.cost is None else amount_words(purchase.cost, purchase.currency or "")


def amount_words(amount: float, currency: str) -> str:
    """'12.40 EUR'."""
    return f"{amount:.2f} {currency}".rstrip()


def shown_addends(purchase: Purchase) -> dict[Addend, float]:
    """What the length to buy is made of, mm, rounded so that the figures shown add up."""
    shown_mm = that_add_up(purchase.addends.values())
    return dict(zip(purchase.addends, shown_mm, strict=True))


def shown_short_by(purchase: Purchase) -> float:
    """What one step less would lack, mm, as follows from the figures shown."""
    (step,) = that_add_up([purchase.step_mm])
    return max(0.0, step - shown_addends(purchase)[Addend.ROUNDING])


def sum_words(purchase: Purchase) -> str:
    """'layout 1.24 m (48 7/8 in) + 40 mm for the two ends + 20 mm to a whole step'."""
    addends = shown_addends(purchase)
    said = f"{ADDEND_WORDS[Addend.LAYOUT]} {cut_lengths(purchase.layout_mm)}"
    del addends[Addend.LAYOUT]
    for addend, mm in addends.items():
        if mm:
            words = "gained in washing" if mm < 0 else ADDEND_WORDS[addend]
            said += f" {'-' if mm < 0 else '+'} {cut_length(abs(mm))} {words}"
    return said


def asked_alone(purchase: Purchase) -> str:
    """What to ask for in the shop, in the leading system alone: '1.50 m', '1 5/8 yd'."""
    return purchase.yards if shown().lead is System.IMPERIAL else length(purchase.buy_mm)


def asked_words(buy_mm: float, by_yard: str, *, named: bool = False) -> str:
    """What to ask for in the shop: '1.50 m (1 5/8 yd)', the leading system first, one alone where
    only one is shown.

    by_yard : the same as the shop cuts it by the yard. named : '1.50 m (by the yard 1 5/8 yd)'.
    """
    words, others, unit = length(buy_mm, System.METRIC), by_yard, "yard"
    if shown().lead is System.IMPERIAL:
        words, others, unit = others, words, "metre"
    if not shown().both:
        return words
    return f"{words} (by the {unit} {others})" if named else f"{words} ({others})"


def purchase_words(purchase: Purchase) -> str:
    """Length to buy with its cost and all that it is made of."""
    price = f", {price_words(purchase)}" if purchase.cost is not None else ""
    asked = asked_words(purchase.buy_mm, purchase.yards, named=True)
    steps = f"sold in steps of {step_length(purchase.step_mm)}{_cut_in_place(purchase)}"
    return f"{asked}{price}: {sum_words(purchase)}; {steps}"


def _cut_in_place(purchase: Purchase) -> str:
    """What suffices where the shop cuts the cloth in the right place of its repeat."""
    if not purchase.repeat_mm or purchase.cut_in_place_mm == purchase.buy_mm:
        return ""
    return f"; {length(purchase.cut_in_place_mm)} will do if you have it cut there"


def is_least(purchase: Purchase, least: Purchase) -> bool:
    """Whether a shorter layout saves none of the cloth bought, as its length is told.

    least : what to buy for a layout as long as is proven of every one.
    """
    asked, needed = (asked_words(each.buy_mm, each.yards) for each in (purchase, least))
    return asked == needed


def short_words(purchase: Purchase) -> str:
    """What one step less would lack."""
    step, short = step_length(purchase.step_mm), cut_lengths(shown_short_by(purchase))
    return f"one step of {step} less would be short by {short}"


def fit_words(fits: Fit) -> str:
    """Whether it fits the cloth there is, by how much, and what is proven."""
    needed, spare = that_add_up([fits.needed_mm, fits.spare_mm])
    have = f"{cut_lengths(fits.have_mm)}, {cut_length(needed)} needed"
    by = cut_lengths(abs(spare))
    if fits.answer is Answer.FITS:
        return f"{have}: it fits, {by} to spare"
    if fits.answer is Answer.IMPOSSIBLE:
        least = cut_length(fits.least_needed_mm)
        return f"{have}: short by {by}; impossible, no layout needs less than {least}"
    return f"{have}: short by {by}; none that fits was found, which does not prove there is none"
