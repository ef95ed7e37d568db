"""A job: the pattern, the cloths it is cut from, and how many garments are wanted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from marker.cloth.fabric import Cloth
from marker.pattern.girth import Girth
from marker.pattern.match import Match
from marker.pattern.piece import Piece
from marker.pattern.sewing import Opening, Seam
from marker.pattern.strip import Strip


@dataclass(frozen=True)
class Job:
    """What a job file says, in mm and names.

    size : the one size the pattern is drawn in.
    order : size -> garments wanted.
    cloths : in the order written; the first is the main cloth.
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

    @property
    def garments(self) -> tuple[str, ...]:
        """The size of each garment wanted; garment g of a layout is entry g - 1."""
        return tuple(size for size, count in self.order.items() for _ in range(count))
