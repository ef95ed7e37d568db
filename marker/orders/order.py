"""What is ordered, and what a lay may be at most."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

EXACT = Fraction(0)


@dataclass(frozen=True)
class CutOrder:
    """Garments wanted by colour and size, and how many more may be cut.

    wanted : colour -> size -> garments, each at least 0, some above 0. An order of one cloth has
    one colour, of any name. Colours can share a marker, and a lay: each has plies of its own in it.
    over_cut : share of each wanted number that may be cut beyond it, rounded down; None for any.
    """

    wanted: Mapping[str, Mapping[str, int]]
    over_cut: Fraction | None = EXACT

    @property
    def colours(self) -> tuple[str, ...]:
        """In the order given."""
        return tuple(self.wanted)

    @property
    def sizes(self) -> tuple[str, ...]:
        """Those wanted in any colour, in the order first named."""
        named = {size: None for sizes in self.wanted.values() for size in sizes}
        return tuple(size for size in named if any(self.least(c, size) for c in self.colours))

    @property
    def by_size(self) -> dict[str, int]:
        """Size -> garments of all colours."""
        return {size: sum(self.least(c, size) for c in self.colours) for size in self.sizes}

    @property
    def garments(self) -> int:
        """Of all colours and sizes."""
        return sum(self.garments_of(colour) for colour in self.colours)

    def garments_of(self, colour: str) -> int:
        """Wanted in one colour."""
        return sum(self.wanted[colour].values())

    def least(self, colour: str, size: str) -> int:
        """How many must be cut."""
        return self.wanted[colour].get(size, 0)

    def most(self, colour: str, size: str) -> int | None:
        """How many may be cut; None for any number."""
        if self.over_cut is None:
            return None
        wanted = self.least(colour, size)
        return wanted + int(wanted * self.over_cut)


@dataclass(frozen=True)
class Limits:
    """What a lay, and a plan, may be at most; None for no limit.

    max_garments : in a marker. max_plies : in a lay, all colours together, as the way of cutting
    allows (1 for shears). max_markers : in a plan; each marker is spread once, so as many lays.
    table_mm : the longest marker, its end loss included; asks for lengths.
    """

    max_garments: int
    max_plies: int | None = None
    max_markers: int | None = None
    table_mm: int | None = None


@dataclass(frozen=True)
class Lay:
    """One marker spread on a number of plies.

    plies : colour -> plies, colours without any left out. garments : size -> how many of it lie in
    the marker, sizes without any left out.
    """

    plies: Mapping[str, int]
    garments: Mapping[str, int]

    @property
    def height(self) -> int:
        """Plies of all colours."""
        return sum(self.plies.values())

    @property
    def cut(self) -> int:
        """Garments that the lay yields."""
        return self.height * sum(self.garments.values())


class Measure(Enum):
    """What is counted of a plan: plies, or what it costs in mm of cloth, or garments cut. What lays
    cost each comes on top where it counts."""

    PLIES = "plies"
    COST = "cost_mm"
    GARMENTS = "garments"


Plan = tuple[Lay, ...]
