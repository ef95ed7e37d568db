"""A pattern in one size: everything of it that a size may change."""

from __future__ import annotations

from dataclasses import dataclass

from marker.pattern.girth import Girth
from marker.pattern.match import Match
from marker.pattern.piece import Piece
from marker.pattern.sewing import Opening, Seam
from marker.pattern.strip import Strip


@dataclass(frozen=True)
class Pattern:
    """What is cut and how it is sewn, lengths in mm."""

    pieces: tuple[Piece, ...]
    strips: tuple[Strip, ...] = ()
    seams: tuple[Seam, ...] = ()
    openings: tuple[Opening, ...] = ()
    girths: tuple[Girth, ...] = ()
    matches: tuple[Match, ...] = ()
