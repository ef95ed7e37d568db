"""A pattern in one size: everything of it that a size may change."""

from __future__ import annotations

from dataclasses import dataclass

from marker.pattern.bands.strip import Strip
from marker.pattern.piece import Piece
from marker.pattern.repeats.match import Match
from marker.pattern.seams.girth import Girth
from marker.pattern.seams.sewing import Opening, Seam


@dataclass(frozen=True)
class Pattern:
    """What is cut and how it is sewn, lengths in mm."""

    pieces: tuple[Piece, ...]
    strips: tuple[Strip, ...] = ()
    seams: tuple[Seam, ...] = ()
    openings: tuple[Opening, ...] = ()
    girths: tuple[Girth, ...] = ()
    matches: tuple[Match, ...] = ()
