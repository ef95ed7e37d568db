"""A checked layout with what follows from it: what is bought, whether it fits, what it leaves."""

from __future__ import annotations

from dataclasses import dataclass

from marker.cloth.buying import Answer, Fit, Purchase, fit
from marker.cloth.leftover import Remaining
from marker.cloth.spread import Spreading
from marker.layout import CheckedLayout
from marker.layout.bought import leftovers, purchase_for


@dataclass(frozen=True)
class TriedSpread:
    """One way to spread a cloth: its layout, or why there is none."""

    spreading: Spreading
    checked: CheckedLayout | None
    why_not: str = ""


@dataclass(frozen=True)
class LaidCloth:
    """One cloth of a job, or one remnant of it, laid.

    fit : whether the layout fits what there is, None where the cloth is bought. leftovers : the
    remnants worth keeping. tried : every way to spread the cloth that was compared, or none.
    """

    checked: CheckedLayout
    purchase: Purchase
    fit: Fit | None
    leftovers: tuple[Remaining, ...]
    tried: tuple[TriedSpread, ...] = ()

    @property
    def name(self) -> str:
        """Name of the cloth, and of the remnant of it."""
        return self.checked.layout.cloth.full_name

    @property
    def fits(self) -> bool:
        """Whether there is enough cloth, or as much as is wanted can be bought."""
        return self.fit is None or self.fit.answer is Answer.FITS


def laid_cloth(checked: CheckedLayout, tried: tuple[TriedSpread, ...] = ()) -> LaidCloth:
    """What follows from a layout. Works out its leftovers, some milliseconds for each piece."""
    layout = checked.layout
    bought = purchase_for(checked)
    return LaidCloth(
        checked,
        bought,
        fit(layout.length_mm, layout.length_lower_bound_mm, layout.cloth),
        leftovers(checked, bought),
        tried,
    )
