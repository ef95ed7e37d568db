"""How a piece follows from another: as a lining, an interfacing or a facing does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from marker.pattern.edge import Edge

INNER = "inner"
"""Name of the edge of a facing that is none of its piece's."""


@dataclass(frozen=True)
class Recipe:
    """What is taken of a piece, and how it is cut.

    of : name of the piece. from_cut_line : it is its cut line less the trim, without allowances of
        its own to sew by; else its stitching line.
    trim_mm, trims_mm : how much smaller it is along every edge, and along single ones.
    near, within_mm : edges of the piece, and how far from them the part reaches that is taken;
        all of it without any.
    cut, pair, turns : as of a Piece, None for those of the piece.
    allowance_mm : outside the stitching line. edges : edge -> what it says of its own allowance,
        hem and corner; its stretch means nothing.
    """

    name: str
    cloth: str
    of: str
    from_cut_line: bool = False
    trim_mm: float = 0.0
    trims_mm: Mapping[str, float] = field(default_factory=dict)
    near: tuple[str, ...] = ()
    within_mm: float = 0.0
    cut: int | None = None
    pair: bool | None = None
    turns: tuple[float, ...] | None = None
    allowance_mm: float = 0.0
    edges: Mapping[str, Edge] = field(default_factory=dict)
