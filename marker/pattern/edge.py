"""Edges: stretches of an outline, and what is added beyond them for sewing."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True)
class Stretch:
    """A stretch of outline, walked counter-clockwise from vertex `start` to vertex `end`."""

    start: int
    end: int


class HemKind(StrEnum):
    """How a hem is made, in the trade's words."""

    TURNED_ONCE = "turned once"
    TURNED_TWICE = "turned twice"
    TWIN_NEEDLE = "twin-needle"
    COVER_STITCHED = "cover-stitched"
    ROLLED = "rolled"


# depth and turn-under in mm of each kind unless the job says otherwise: common practice, no source
_USUAL_MM = {
    HemKind.TURNED_ONCE: (30.0, 0.0),
    HemKind.TURNED_TWICE: (20.0, 10.0),
    HemKind.TWIN_NEEDLE: (25.0, 0.0),
    HemKind.COVER_STITCHED: (25.0, 0.0),
    HemKind.ROLLED: (3.0, 3.0),
}


@dataclass(frozen=True)
class Hem:
    """A hem, folded back along the stitching line.

    depth_mm : how deep it lies against the wrong side once it is sewn.
    under_mm : what is turned under inside it, at most `depth_mm`; 0 for a hem folded once.
    """

    kind: HemKind
    depth_mm: float
    under_mm: float

    @classmethod
    def usual(cls, kind: HemKind) -> Hem:
        """The hem of this kind in the usual width."""
        return cls(kind, *_USUAL_MM[kind])

    @property
    def allowance_mm(self) -> float:
        """From the hem line to the cut line."""
        return self.depth_mm + self.under_mm


class Corner(StrEnum):
    """How the allowance of an edge ends at its two corners.

    MITRED : both cut lines run on until they meet.
    SQUARE : square to the edge, from where its stitching line meets the neighbour's cut line.
    MIRRORED : the neighbour's cut line mirrored in the edge, so that the allowance folds back onto
        the piece without standing out at its sides.
    """

    MITRED = "mitred"
    SQUARE = "square"
    MIRRORED = "mirrored"


@dataclass(frozen=True)
class Edge(Stretch):
    """A named stretch: what is sewn, hemmed or bound as one.

    allowance_mm : between stitching line and cut line, None for the piece's own.
    hem : how it is hemmed; its width is then the allowance.
    corner : how its allowance ends, None for mirrored on a hem beside a seam, else mitred.
    """

    allowance_mm: float | None = None
    hem: Hem | None = None
    corner: Corner | None = None


@dataclass(frozen=True)
class Notch:
    """A mark on the edge, `at_mm` along the named edge from that edge's start."""

    edge: str
    at_mm: float
    name: str = ""


@dataclass(frozen=True)
class EdgeRef:
    """An edge of a piece, walked from its start or, reversed, from its end.

    An edge that ends on the fold stands for both halves.
    """

    piece: str
    edge: str
    reversed: bool = False

    def __str__(self) -> str:
        return f"{self.piece}.{self.edge}" + (" reversed" if self.reversed else "")
