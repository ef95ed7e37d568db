"""A pattern in one size: everything of it that a size may change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from marker.pattern.bands.strip import Strip
from marker.pattern.piece import Piece
from marker.pattern.repeats.match import Match
from marker.pattern.seams.sewing import Girth, Opening, Seam


@dataclass(frozen=True)
class Pattern:
    """What is cut and how it is sewn in one size, lengths in mm."""

    size: str
    pieces: tuple[Piece, ...] = ()
    strips: tuple[Strip, ...] = ()
    seams: tuple[Seam, ...] = ()
    openings: tuple[Opening, ...] = ()
    girths: tuple[Girth, ...] = ()
    matches: tuple[Match, ...] = ()

    @property
    def cloth_names(self) -> set[str]:
        """The cloths that something is cut from."""
        strips = (name for strip in self.strips for name in strip.cloths)
        return {*(piece.cloth for piece in self.pieces), *strips}

    def with_pieces(self, change: Callable[[Piece], Piece]) -> Pattern:
        """The same pattern, each piece changed."""
        return replace(self, pieces=tuple(map(change, self.pieces)))

    def with_strips(self, change: Callable[[Strip], Strip | None]) -> Pattern:
        """The same pattern, each strip changed, or left out."""
        strips = tuple(new for strip in self.strips if (new := change(strip)))
        return replace(self, strips=strips)
