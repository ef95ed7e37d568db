"""Where a garment goes around the body."""

from __future__ import annotations

from dataclasses import dataclass

from marker.pattern.edge import EdgeRef


@dataclass(frozen=True)
class Girth:
    """Edges that together go once around the body, and the girth they must reach.

    body_mm : of the body there, or of what the garment must pass on its way.
    """

    name: str
    edges: tuple[EdgeRef, ...]
    body_mm: float
