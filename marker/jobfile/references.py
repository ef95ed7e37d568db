"""References to edges, as a job file writes them: 'bodice front.neck', 'skirt.waist reversed'."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from marker.files.faults import Unusable
from marker.pattern.edge import EdgeRef

REVERSED = " reversed"

# piece -> names of its edges as written, so that a faulty piece does not condemn what refers to it
EdgeNames = Mapping[str, Collection[str]]


def edge_ref(reference: str, edges: EdgeNames) -> EdgeRef:
    """The edge referred to; raises Unusable for one that is not there."""
    piece, dot, edge = (part.strip() for part in reference.partition("."))
    if not (piece and dot and edge):
        raise Unusable(f"'{reference}' names no edge", 'Write piece and edge, as "front.neck"')
    if piece not in edges:
        raise Unusable.unknown("piece", piece, edges)
    if edge in edges[piece]:
        return EdgeRef(piece, edge)
    plain = edge.removesuffix(REVERSED).rstrip()
    if plain not in edges[piece]:
        raise Unusable.unknown(f"edge of '{piece}'", plain, edges[piece])
    return EdgeRef(piece, plain, reversed=True)
