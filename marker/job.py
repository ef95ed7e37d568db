"""A job: the pattern, the cloths it is cut from, and how many garments are wanted."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from marker.cloth.fabric import Cloth
from marker.pattern.bands.strip import Strip
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.repeats.match import Match
from marker.pattern.seams.girth import Girth
from marker.pattern.seams.sewing import Opening, Seam


@dataclass(frozen=True)
class Job:
    """What a job file says, in mm and names.

    size : the sample size, in which pieces, strips and all that is sewn are.
    order : size -> garments wanted.
    cloths : in the order written; the first is the main cloth.
    graded : size -> the pattern in it, for every size it comes in, in the order listed; empty for a
        pattern of one size.
    """

    name: str
    size: str
    pieces: tuple[Piece, ...]
    strips: tuple[Strip, ...]
    cloths: tuple[Cloth, ...]
    order: Mapping[str, int]
    seams: tuple[Seam, ...] = ()
    openings: tuple[Opening, ...] = ()
    girths: tuple[Girth, ...] = ()
    matches: tuple[Match, ...] = ()
    graded: Mapping[str, Pattern] = field(default_factory=dict)

    @property
    def garments(self) -> tuple[str, ...]:
        """The size of each garment wanted; garment g of a layout is entry g - 1."""
        return tuple(size for size, count in self.order.items() for _ in range(count))

    @property
    def sizes(self) -> tuple[str, ...]:
        """Every size that the pattern comes in."""
        return tuple(self.graded) or (self.size,)

    def in_size(self, size: str) -> Job:
        """The job as one of this size alone, and of the garments ordered in it."""
        if not self.graded and size == self.size:
            return self
        pattern = self.graded[size]
        return replace(
            self,
            size=size,
            order={size: self.order.get(size, 0)},
            pieces=pattern.pieces,
            strips=pattern.strips,
            seams=pattern.seams,
            openings=pattern.openings,
            girths=pattern.girths,
            matches=pattern.matches,
            graded={},
        )

    def ordered_sizes(self) -> tuple[Job, ...]:
        """The job in each size that is ordered."""
        return tuple(self.in_size(size) for size in self.order)

    def with_order(self, order: Mapping[str, int]) -> Job:
        """The same pattern and cloths for another order."""
        return replace(self, order=dict(order))

    def with_pieces(self, change: Callable[[Piece], Piece]) -> Job:
        """The same job, each piece changed in every size."""

        def changed(pieces: tuple[Piece, ...]) -> tuple[Piece, ...]:
            return tuple(change(piece) for piece in pieces)

        graded = {
            size: replace(pattern, pieces=changed(pattern.pieces))
            for size, pattern in self.graded.items()
        }
        return replace(self, pieces=changed(self.pieces), graded=graded)

    def with_strips(self, change: Callable[[Strip], Strip | None]) -> Job:
        """The same job, each strip changed in every size, or left out."""

        def changed(strips: tuple[Strip, ...]) -> tuple[Strip, ...]:
            return tuple(new for strip in strips if (new := change(strip)))

        graded = {
            size: replace(pattern, strips=changed(pattern.strips))
            for size, pattern in self.graded.items()
        }
        return replace(self, strips=changed(self.strips), graded=graded)
