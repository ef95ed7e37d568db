"""A cloth as it lies on the table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from marker.cloth.behaviour import NO_SHRINKAGE, Direction, Gauge, Shrinkage
from marker.cloth.repeat import Border, Repeat
from marker.cloth.spread import Spreading, Tube
from marker.cloth.stock import Flaw, Remnant, Roll
from marker.errors import CannotBeDone, Part

# a length of cloth eased into one this much shorter still lies flat: common practice, no source
EASES_IN = 0.05


class Nap(StrEnum):
    """Which way pieces may point along the cloth (pile, sheen, one-way print)."""

    EITHER_WAY = "either way"
    ONE_WAY = "one way"
    ONE_WAY_PER_GARMENT = "one way per garment"


@dataclass(frozen=True)
class Price:
    """`amount` of `currency` for each `per_mm` of cloth length."""

    amount: float
    per_mm: float
    currency: str


@dataclass(frozen=True)
class Cost:
    """What something costs: an amount in the currency of its cloth's price, or else a length of
    that cloth, mm, that costs as much."""

    amount: float | None = None
    cloth_mm: float = 0.0

    def in_mm(self, cloth: Cloth) -> int:
        """As whole mm of one cloth on the table. Raises CannotBeDone where that has no price."""
        if self.amount is None:
            return round(self.cloth_mm)
        if cloth.price is None or not cloth.price.amount:
            raise CannotBeDone(
                f"{cloth.name} has no price, so an amount can't be told in cloth. Give it a price "
                f"in the job, or write costs as lengths of cloth, such as '30 cm'.",
                [(Part.CLOTH, cloth.name)],
            )
        bought = self.amount / cloth.price.amount * cloth.price.per_mm
        return round(bought * cloth.shrinkage.of_cloth[0])


FREE = Cost()


@dataclass(frozen=True)
class Cloth:
    """One cloth, lengths in mm.

    width_mm : as bought, from edge to edge, selvages included (ASTM D3774); of a tube, as it lies
        flat.
    selvage_mm : lost along each of the two edges when the pieces are cut.
    gap_mm : least distance kept between two pieces.
    end_allowance_mm : cloth left at each of the two ends.
    sold_by_mm : the shop cuts whole multiples of this length.
    gauge : how far it stretches, None for a cloth not measured, such as most woven ones.
    needed_stretch : the stretch around the body that the pattern asks of this cloth, 0.25 for 25 %.
    eases_in : a length of it sewn to one this share shorter still lies flat.
    spread : how it is to lie on the table. tube : it is a tubular knit, without selvages.
    repeat : its stripes or plaid; none on either axis for a cloth that looks the same all over.
    border : its border print, if it has one.
    shrinkage : what washing takes from it. All lengths but `width_mm`, `sold_by_mm` and `have_mm`
        are those of the cloth on the table: washed, where it is cut after washing.
    flaws : places that no piece may lie on.
    colour : as a person names it, '' where not said; it changes no layout.
    have_mm : the whole length there is, unwashed, both end allowances included; None where it is
        to be bought.
    remnants : all that there is, if that is remnants; a layout lies on one of them.
    rolls : colour -> the rolls that the lays of an order are spread from, under ""
        where no colour is said; empty where there are none to choose from.
    thickness_mm : of one layer; None where it is not known. It changes no layout.
    """

    name: str
    width_mm: float
    selvage_mm: float = 0.0
    nap: Nap = Nap.EITHER_WAY
    gap_mm: float = 0.0
    end_allowance_mm: float = 0.0
    sold_by_mm: float = 100.0
    price: Price | None = None
    gauge: Gauge | None = None
    needed_stretch: float = 0.0
    eases_in: float = EASES_IN
    spread: Spreading = Spreading.OPEN
    tube: Tube | None = None
    shrinkage: Shrinkage = NO_SHRINKAGE
    repeat: Repeat = field(default_factory=Repeat)
    border: Border | None = None
    flaws: tuple[Flaw, ...] = ()
    colour: str = field(default="", compare=False)
    have_mm: float | None = None
    remnants: tuple[Remnant, ...] = ()
    rolls: Mapping[str, tuple[Roll, ...]] = field(default_factory=dict)
    thickness_mm: float | None = field(default=None, compare=False)

    @property
    def usable_width_mm(self) -> float:
        """Width between the selvages when the pieces are cut, mm; of a tube, all around it."""
        width = self.width_mm * self.shrinkage.of_cloth[1]
        return 2 * width if self.tube else width - 2 * self.selvage_mm

    def on(self, remnant: Remnant) -> Cloth:
        """One remnant as a cloth of fixed length, as wide and as long as its bounding box."""
        return replace(
            self,
            width_mm=remnant.across_mm,
            have_mm=remnant.along_mm,
            remnants=(remnant,),
        )

    @property
    def remnant(self) -> Remnant | None:
        """The one that it is, see `on`; None for a cloth that is not laid on a remnant."""
        return self.remnants[0] if len(self.remnants) == 1 else None

    @property
    def full_name(self) -> str:
        """Its name, and that of the remnant that it is."""
        return f"{self.name} {self.remnant.name}" if self.remnant else self.name

    @property
    def start_is_free(self) -> bool:
        """Whether a layout may start on any place of the repeat along it: that of cloth to be
        bought, without flaws, where nobody said where the repeat begins."""
        along = self.repeat.along
        there = self.flaws or self.remnants or self.have_mm is not None
        return along is not None and not along.fixed and not there

    def started_at(self, start_mm: float) -> Cloth:
        """The cloth with the places of its repeat along counted from another one."""
        along = self.repeat.along
        if along is None:
            return self
        return replace(self, repeat=replace(self.repeat, along=along.seen_from(start_mm)))

    def rolls_in(self, colour: str) -> tuple[Roll, ...]:
        """The rolls of one colour; those that say none are of any."""
        return self.rolls.get(colour) or self.rolls[""]

    def width_of(self, roll: Roll) -> float:
        """How wide a roll of it is, mm."""
        return self.width_mm if roll.width_mm is None else roll.width_mm

    def in_width(self, width_mm: float) -> Cloth:
        """The cloth as wide as some of its rolls."""
        return replace(self, width_mm=width_mm)

    @property
    def width_for_pattern_mm(self) -> float:
        """Widest that a piece may be across the cloth as drawn, before it grows to be cut, mm."""
        return self.usable_width_mm / self.shrinkage.growth[1]

    def stretch(self, direction: Direction) -> float | None:
        """How far it stretches, 0.25 for 25 %; None where that was not measured."""
        return self.gauge.stretch(direction) if self.gauge else None
