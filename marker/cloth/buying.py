"""What to buy for a length of cloth, each addend shown, or whether what is on hand suffices."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from marker.cloth.fabric import Cloth
from marker.tolerances import JUDGED_MM
from marker.units import EIGHTH_YARD_MM, metric, round_up, yards


class Addend(StrEnum):
    """What a length to buy is made of. The value is its key in JSON."""

    LAYOUT = "layout_mm"
    END_ALLOWANCE = "end_allowance_mm"
    REPEAT = "repeat_mm"
    SHRINKAGE = "shrinkage_mm"
    ROUNDING = "rounding_mm"


@dataclass(frozen=True)
class Purchase:
    """A length of cloth to buy, lengths in mm.

    layout_mm, end_allowance_mm, repeat_mm and shrinkage_mm add up to needed_mm. buy_mm is that
    rounded up to whole steps of the shop.
    end_allowance_mm : both ends together.
    repeat_mm : so that a layout tied to the repeat can start where it must, wherever the shop cuts:
    one repeat at worst.
    shrinkage_mm : what washing takes from the cloth before it is cut; below 0 if it grows.
    cost : rounded to the nearest 0.01 of `currency`; None without a price.
    """

    layout_mm: float
    end_allowance_mm: float
    repeat_mm: float
    shrinkage_mm: float
    needed_mm: float
    step_mm: float
    buy_mm: float
    cost: float | None
    currency: str | None

    @property
    def rounding_mm(self) -> float:
        """What is bought beyond the need because the shop cuts whole steps; the last addend."""
        return max(0.0, self.buy_mm - self.needed_mm)

    @property
    def addends(self) -> dict[Addend, float]:
        """What the length to buy is made of, in the order in which it is reckoned, mm."""
        return {
            Addend.LAYOUT: self.layout_mm,
            Addend.END_ALLOWANCE: self.end_allowance_mm,
            Addend.REPEAT: self.repeat_mm,
            Addend.SHRINKAGE: self.shrinkage_mm,
            Addend.ROUNDING: self.rounding_mm,
        }

    @property
    def short_by_mm(self) -> float:
        """What one step less would lack."""
        return self.step_mm - self.rounding_mm

    @property
    def cut_in_place_mm(self) -> float:
        """What is bought where the shop cuts it in that place of the repeat where it must start."""
        share = self.repeat_mm / (self.needed_mm - self.shrinkage_mm)
        return round_up(self.needed_mm * (1 - share), self.step_mm)

    @property
    def metric(self) -> str:
        """Length to ask for, rounded up to a whole cm."""
        return metric(round_up(self.buy_mm, 10))

    @property
    def yards(self) -> str:
        """Length to ask for by the yard, in the shop's own steps where those are eighths of a yard.

        Else it is the length needed, rounded up to 1/8 yd. Shops that sell by the yard have that
        step (common practice, no source).
        """
        by_eighths = math.isclose(self.step_mm, round_up(self.step_mm, EIGHTH_YARD_MM))
        return yards(self.buy_mm if by_eighths else self.needed_mm)


def purchase(length_mm: float, cloth: Cloth, tied_along: bool = False) -> Purchase:
    """What to buy for a layout of this length on this cloth, mm.

    tied_along : the layout is tied to the cloth's repeat along it; then it takes one repeat more,
    for nobody knows in which place of the repeat the shop will cut. Cloth washed before it is cut:
    length bought = length on the table ÷ (1 - share) (arithmetic).
    """
    ends = 2 * cloth.end_allowance_mm
    laid, along = length_mm + ends, cloth.repeat.along
    on_table = laid + along.every_mm if along and tied_along else laid
    needed = on_table / cloth.shrinkage.of_cloth[0]
    buy = round_up(needed, cloth.sold_by_mm)
    price = cloth.price
    return Purchase(
        layout_mm=length_mm,
        end_allowance_mm=ends,
        repeat_mm=on_table - laid,
        shrinkage_mm=needed - on_table,
        needed_mm=needed,
        step_mm=cloth.sold_by_mm,
        buy_mm=buy,
        cost=round(buy / price.per_mm * price.amount, 2) if price else None,
        currency=price.currency if price else None,
    )


def cost_of(on_table_mm: float, cloth: Cloth) -> float | None:
    """What so much cloth on the table costs, to 0.01 of its currency; None without a price."""
    bought = on_table_mm / cloth.shrinkage.of_cloth[0]
    return round(bought / cloth.price.per_mm * cloth.price.amount, 2) if cloth.price else None


def whole_repeats_mm(length_mm: float, cloth: Cloth) -> float:
    """A length of cloth after which the next begins in the same place of the repeat."""
    along = cloth.repeat.along
    return round_up(length_mm, along.every_mm) if along else length_mm


class Answer(StrEnum):
    """Whether a layout fits what there is; without one that does, whether that is proven."""

    FITS = "fits"
    NOT_FOUND = "not found"
    IMPOSSIBLE = "impossible"


@dataclass(frozen=True)
class Fit:
    """What a layout needs of the cloth there is, mm, ends and washing included. Cloth that is there
    already need not be whole repeats.

    least_needed_mm : no layout of these pieces on this cloth needs less (proven).
    """

    have_mm: float
    needed_mm: float
    least_needed_mm: float

    @property
    def spare_mm(self) -> float:
        """What is left over; below 0 what is short."""
        return self.have_mm - self.needed_mm

    @property
    def answer(self) -> Answer:
        """Fits, or not found, or proven impossible."""
        if self.spare_mm >= -JUDGED_MM:
            return Answer.FITS
        if self.least_needed_mm > self.have_mm + JUDGED_MM:
            return Answer.IMPOSSIBLE
        return Answer.NOT_FOUND


def fit(length_mm: float, bound_mm: float, cloth: Cloth) -> Fit | None:
    """What a layout of this length with this lower bound means on a cloth of fixed length, None
    where the cloth is bought."""
    if cloth.have_mm is None:
        return None
    return Fit(cloth.have_mm, needed_mm(length_mm, cloth), needed_mm(bound_mm, cloth))


def needed_mm(length_mm: float, cloth: Cloth) -> float:
    """Cloth, as it is before any washing, that a layout of this length takes with both ends."""
    return (length_mm + 2 * cloth.end_allowance_mm) / cloth.shrinkage.of_cloth[0]


def room_mm(cloth: Cloth) -> float:
    """The longest layout for which the cloth there suffices, mm; endless where it is bought."""
    if cloth.have_mm is None:
        return float("inf")
    return cloth.have_mm * cloth.shrinkage.of_cloth[0] - 2 * cloth.end_allowance_mm


_INCH = 25.4
# common practice, no source
FLAT_WIDTHS_MM = tuple(_INCH * inches for inches in (36, 42, 45, 48, 54, 60, 72))
TUBE_WIDTHS_MM = tuple(_INCH * inches for inches in (28, 30, 32, 34))
_ALIKE_MM = 1.5 * _INCH


def usual_widths(own_mm: float, tube: bool) -> tuple[float, ...]:
    """The trade's widths and a cloth's own, in place of one nearly as wide; mm, narrowest first."""
    trade = TUBE_WIDTHS_MM if tube else FLAT_WIDTHS_MM
    nearest = min(trade, key=lambda width: abs(width - own_mm))
    kept = {width for width in trade if width != nearest or abs(width - own_mm) > _ALIKE_MM}
    return tuple(sorted({*kept, own_mm}))


def as_sold(cloth: Cloth, width_mm: float | None = None) -> Cloth:
    """The cloth as a shop has it, of this width or its own: without the flaws and the length of a
    piece at home."""
    width = width_mm or cloth.width_mm
    return replace(cloth, width_mm=width, flaws=(), have_mm=None)
