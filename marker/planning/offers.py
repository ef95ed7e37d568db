"""What a job may be cut from: its main cloth in several widths, its other cloths, all priced."""

from __future__ import annotations

from dataclasses import dataclass

from marker.cloth.buying import Purchase
from marker.layout import CheckedLayout


@dataclass(frozen=True)
class Offer:
    """One cloth in one width: what is laid on it, and what is bought for that.

    laid_at_mm : width of the cloth, as bought, on which this layout was found; less than its own
        where a narrower cloth's layout is better and carried over.
    """

    checked: CheckedLayout
    purchase: Purchase
    laid_at_mm: float

    @property
    def width_mm(self) -> float:
        """As bought, selvages included."""
        return self.checked.layout.cloth.width_mm

    @property
    def is_carried(self) -> bool:
        """Whether its layout is that of a narrower cloth."""
        return self.laid_at_mm < self.width_mm

    @property
    def area_mm2(self) -> float:
        """Cloth bought, length × width."""
        return self.purchase.buy_mm * self.width_mm


@dataclass(frozen=True)
class LeftOut:
    """A width without a layout, mm as bought, and why."""

    width_mm: float
    reason: str


@dataclass(frozen=True)
class Offers:
    """Everything that was found for one job.

    widths : of the main cloth, narrowest first, at least one. others : the other cloths, each as
    the job has it. not_laid : names of those that were not reached.
    """

    widths: tuple[Offer, ...]
    left_out: tuple[LeftOut, ...]
    others: tuple[Offer, ...]
    not_laid: tuple[str, ...] = ()

    @property
    def by_cost(self) -> bool:
        """Whether the widths have prices to compare; else the area bought is compared."""
        return all(offer.purchase.cost is not None for offer in self.widths)

    @property
    def cheapest(self) -> int:
        """Index of the width that costs least, of those the one of least area."""

        def price(k: int) -> tuple[float, float]:
            offer = self.widths[k]
            cost = offer.purchase.cost if self.by_cost else None
            return cost or 0.0, offer.area_mm2

        return min(range(len(self.widths)), key=price)

    @property
    def shopping(self) -> tuple[Offer, ...]:
        """The main cloth in its cheapest width, and the other cloths."""
        return self.widths[self.cheapest], *self.others

    @property
    def totals(self) -> dict[str, float]:
        """Currency -> what all cloths with a price cost in it together."""
        found: dict[str, float] = {}
        for offer in self.shopping:
            cost, currency = offer.purchase.cost, offer.purchase.currency
            if cost is not None and currency is not None:
                found[currency] = round(found.get(currency, 0.0) + cost, 2)
        return found

    @property
    def unpriced(self) -> tuple[str, ...]:
        """Names of the cloths whose price is not known, so that no total holds them."""
        unknown = [each for each in self.shopping if each.purchase.cost is None]
        return tuple(each.checked.layout.cloth.name for each in unknown)
