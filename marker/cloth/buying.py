"""What to buy for a length of cloth, each addend shown."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

from marker.cloth.fabric import Cloth
from marker.units import EIGHTH_YARD_MM, metric, round_up, yards


@dataclass(frozen=True)
class Purchase:
    """A length of cloth to buy, lengths in mm.

    layout_mm, end_allowance_mm (both ends together), repeat_mm (up to whole repeats of a cloth that
    repeats along its length) and shrinkage_mm (what washing takes from the cloth before it is cut;
    below 0 if it grows) add up to needed_mm. buy_mm is that rounded up to whole steps of the shop.
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
    def addends(self) -> dict[str, float]:
        """What the length to buy is made of, in the order in which it is reckoned, mm."""
        return {
            "layout": self.layout_mm,
            "ends": self.end_allowance_mm,
            "repeat": self.repeat_mm,
            "shrinkage": self.shrinkage_mm,
            "rounding": self.rounding_mm,
        }

    @property
    def short_by_mm(self) -> float:
        """What one step less would lack."""
        return self.step_mm - self.rounding_mm

    @property
    def yards(self) -> str:
        """Length to ask for by the yard, in the shop's own steps where those are eighths of a yard;
        else the length needed, rounded up to 1/8 yd, the step of shops that sell by the yard
        (common practice, no source)."""
        by_eighths = math.isclose(self.step_mm, round_up(self.step_mm, EIGHTH_YARD_MM))
        return yards(self.buy_mm if by_eighths else self.needed_mm)

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON, with the properties and two texts for the shop.

        buy_text_metric : the length to buy, rounded up to a whole cm.
        buy_text_yards : `yards`.
        """
        return asdict(self) | {
            "rounding_mm": self.rounding_mm,
            "short_by_mm": self.short_by_mm,
            "buy_text_metric": metric(round_up(self.buy_mm, 10)),
            "buy_text_yards": self.yards,
        }


def purchase(length_mm: float, cloth: Cloth) -> Purchase:
    """What to buy for a layout of this length on this cloth, mm.

    A cloth that repeats along is bought in whole repeats (common practice, no source). Cloth washed
    before it is cut: length bought = length on the table ÷ (1 - share) (arithmetic).
    """
    ends = 2 * cloth.end_allowance_mm
    laid, along = length_mm + ends, cloth.repeat.along
    on_table = max(laid, round_up(laid, along.every_mm)) if along else laid
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
