"""What is sewn to what: seams between edges, openings that several edges make, and girths."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from marker.pattern.edge import EdgeRef
from marker.units import cut_length

DEFAULT_TOLERANCE_MM = 2.0


@dataclass(frozen=True)
class Side:
    """Edges joined end to end, in sewing order, that make one side of a seam.

    ease_mm : how much longer than the finished seam the side is meant to be; below 0 if it is
        stretched to fit.
    """

    edges: tuple[EdgeRef, ...]
    ease_mm: float = 0.0

    def __str__(self) -> str:
        return " + ".join(map(str, self.edges))


@dataclass(frozen=True)
class Seam:
    """Two or more sides sewn together, all walked from the same end; the first is the measure."""

    name: str
    sides: tuple[Side, ...]
    tolerance_mm: float = DEFAULT_TOLERANCE_MM


class Spot(StrEnum):
    """A place on an edge that needs no number: an end as drawn, the middle, or the fold."""

    START = "start"
    END = "end"
    MIDDLE = "middle"
    FOLD = "fold"


@dataclass(frozen=True)
class Place:
    """A place on an edge.

    at : mm from the drawn edge's start, a spot, or the name of a notch on that edge.
    """

    edge: EdgeRef
    at: float | Spot | str

    def __str__(self) -> str:
        at = cut_length(self.at) if isinstance(self.at, float) else self.at
        return f"{self.edge} at {at}"


@dataclass(frozen=True)
class Opening:
    """Edges that together make one opening, in order around it: a neckline, an armhole.

    points : name -> place on one of the edges: centres, shoulder points, under arm.
    passes_mm : girth of what must pass through it, such as the head; None for nothing.
    """

    name: str
    edges: tuple[EdgeRef, ...]
    closed: bool = True
    points: Mapping[str, Place] = field(default_factory=dict)
    passes_mm: float | None = None


@dataclass(frozen=True)
class Girth:
    """Edges that together go once around the body, and the girth they must reach.

    body_mm : of the body there, or of what the garment must pass on its way.
    """

    name: str
    edges: tuple[EdgeRef, ...]
    body_mm: float
