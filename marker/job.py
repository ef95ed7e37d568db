"""A job: the pattern, the cloths it is cut from, and how many garments are wanted."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from marker.cloth.fabric import Cloth
from marker.pattern.bands.strip import Strip
from marker.pattern.bands.strip_plan import StripPlan, strip_plans
from marker.pattern.checks import pattern_findings
from marker.pattern.cutting import cut_pieces
from marker.pattern.finding import Finding
from marker.pattern.pattern import Pattern
from marker.pattern.piece import CutPiece, Piece
from marker.units import Show

_CORD = re.compile(r"\b(draw)?(cord|string|ribbon|tie|lace)s?\b", re.IGNORECASE)


class Reader(StrEnum):
    """Whom the sheets and drawings are for."""

    SEWING = "sewing"
    CUTTING_ROOM = "cutting room"


@dataclass(frozen=True)
class Making:
    """What a job says for whoever cuts and sews it, beside the pattern.

    version, dated : of the pattern, as its maker writes them, '' where not said. notions : what is
    needed besides cloth. notes : a sentence or two each.
    """

    version: str = ""
    dated: str = ""
    notions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    reader: Reader = Reader.SEWING

    @property
    def has_cords(self) -> bool:
        """Whether a notion is called what may be a cord or a tie on the garment."""
        return any(map(_CORD.search, self.notions))


@dataclass(frozen=True)
class Job:
    """What a job file says, in mm and names.

    size : the sample size.
    patterns : the pattern in every size it comes in, in the order listed.
    cloths : in the order written; the first is the main cloth.
    order : size -> garments wanted.
    show : how its lengths are written. blade_reach_mm : the highest lay that is cut at once, None
        where not said. Neither changes a layout, nor does `making`.
    said : a short name for what its files say, but for the order and what changes no layout; '' for
        a job that is not as its files say.
    """

    name: str
    size: str
    patterns: tuple[Pattern, ...]
    cloths: tuple[Cloth, ...]
    order: Mapping[str, int]
    show: Show = field(default_factory=Show, compare=False)
    blade_reach_mm: float | None = field(default=None, compare=False)
    making: Making = field(default_factory=Making, compare=False)
    said: str = field(default="", compare=False)
    # size -> its strips planned, so that a job does so once for all who ask
    _planned: dict[str, tuple[StripPlan, ...]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    @property
    def sizes(self) -> tuple[str, ...]:
        """Every size that the pattern comes in."""
        return tuple(pattern.size for pattern in self.patterns)

    @property
    def pattern(self) -> Pattern:
        """The pattern in the sample size."""
        return self.in_size(self.size)

    @property
    def cloths_cut(self) -> tuple[Cloth, ...]:
        """The cloths that something is cut from, the main one first."""
        names = self.pattern.cloth_names
        return tuple(cloth for cloth in self.cloths if cloth.name in names)

    def in_size(self, size: str) -> Pattern:
        """The pattern in one of its sizes."""
        return next(pattern for pattern in self.patterns if pattern.size == size)

    @property
    def ordered(self) -> tuple[Pattern, ...]:
        """The pattern in each size that is ordered."""
        return tuple(map(self.in_size, self.order))

    @property
    def garments(self) -> tuple[str, ...]:
        """The size of each garment wanted; garment g of a layout is entry g - 1."""
        return tuple(size for size, count in self.order.items() for _ in range(count))

    def strip_plans(self, size: str) -> tuple[StripPlan, ...]:
        """How every strip is cut in one size, cloth by cloth; raises CannotBeDone."""
        if size not in self._planned:
            self._planned[size] = strip_plans(self.in_size(size), self.cloths)
        return self._planned[size]

    def cut_pieces(self, cloth: Cloth) -> tuple[CutPiece, ...]:
        """Everything one garment of each size ordered needs from this cloth, size by size.

        cloth : one of the job's, or a remnant of it. Raises CannotBeDone, naming the piece or
        strip, its fault and the remedy.
        """
        return tuple(
            piece
            for pattern in self.ordered
            for piece in cut_pieces(pattern, self.strip_plans(pattern.size), cloth)
        )

    def findings(self, size: str) -> tuple[Finding, ...]:
        """What is wrong with the pattern in one size, though it can be cut."""
        return pattern_findings(self.in_size(size), self.strip_plans(size), self.cloths)

    def with_order(self, order: Mapping[str, int]) -> Job:
        """The same pattern and cloths for another order; strips once planned stay so."""
        ordered = replace(self, order=dict(order))
        # strips are planned by size, whatever is ordered: both share what either of them plans
        object.__setattr__(ordered, "_planned", self._planned)
        return ordered

    def read_by(self, reader: Reader | None) -> Job:
        """The same job for another reader; the same for None."""
        if reader is None:
            return self
        return replace(self, making=replace(self.making, reader=reader))

    def with_patterns(self, change: Callable[[Pattern], Pattern]) -> Job:
        """The same job, its pattern changed in every size."""
        return replace(self, patterns=tuple(map(change, self.patterns)), said="")

    def with_pieces(self, change: Callable[[Piece], Piece]) -> Job:
        """The same job, each piece changed in every size."""
        return self.with_patterns(lambda pattern: pattern.with_pieces(change))

    def with_strips(self, change: Callable[[Strip], Strip | None]) -> Job:
        """The same job, each strip changed in every size, or left out."""
        return self.with_patterns(lambda pattern: pattern.with_strips(change))
