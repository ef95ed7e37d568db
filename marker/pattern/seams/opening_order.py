"""Whether the edges of an opening are listed as they follow one another once the seams are sewn."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, pairwise

from marker.pattern.edge import EdgeRef
from marker.pattern.finding import Finding, FindingCode, Severity
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.seams.opened_side import Part, UnclearSide, opened_side
from marker.pattern.seams.sewing import Opening
from marker.pattern.stitching import meets_fold_at_end

End = tuple[str, int]
"""A corner of a piece, by its name and the corner's place in the outline."""


def opening_findings(pattern: Pattern) -> tuple[Finding, ...]:
    """One for each opening whose edges meet at more of their ends in another order."""
    return tuple(
        _out_of_order(pattern.size, opening, better)
        for opening in pattern.openings
        if (better := in_order(pattern, opening)) != opening.edges
    )


def in_order(pattern: Pattern, opening: Opening) -> tuple[EdgeRef, ...]:
    """The edges of an opening as they follow one another.

    One of them is walked the other way, or two change places, as long as more ends meet then.

    Two ends meet at one corner of a piece, or where a seam begins or ends. Edges of whose ends no
    seam says anything stay as they are listed.
    """
    pieces = {piece.name: piece for piece in pattern.pieces}
    spots, own = _sewn_together(pieces, pattern)

    def meet(before: Part, after: Part) -> bool:
        end, start = _ends(pieces, before)[1], _ends(pieces, after)[0]
        if end == start and before.ref.edge == after.ref.edge:
            return end in own  # one corner of two copies
        return spots.get(end, end) == spots.get(start, start)

    def meeting(edges: Sequence[EdgeRef]) -> int:
        try:
            walked = opened_side(pieces, edges)
        except UnclearSide:
            return -1
        following = [*walked, *(walked[:1] if opening.closed else ())]
        return sum(meet(before, after) for before, after in pairwise(following))

    best = opening.edges
    while meeting(better := max(_one_step_away(best), key=meeting)) > meeting(best):
        best = better
    return best


def _out_of_order(size: str, opening: Opening, better: Sequence[EdgeRef]) -> Finding:
    said, so = (", ".join(f'"{ref}"' for ref in edges) for edges in (opening.edges, better))
    return Finding(
        code=FindingCode.OPENING_ORDER,
        severity=Severity.ERROR,
        piece="",
        seam=opening.name,
        size=size,
        message=(
            f"opening {opening.name!r} lists {said}: an edge there does not begin where the one "
            f"before it ends, so that marks of a band would be made at wrong places"
        ),
        remedy=f"List its edges as they follow one another: [{so}]",
    )


def _one_step_away(edges: tuple[EdgeRef, ...]) -> Iterator[tuple[EdgeRef, ...]]:
    """The list with one edge walked the other way, or two edges in each other's place."""
    for k, ref in enumerate(edges):
        yield (*edges[:k], replace(ref, reversed=not ref.reversed), *edges[k + 1 :])
    for i, j in combinations(range(len(edges)), 2):
        swapped = list(edges)
        swapped[i], swapped[j] = edges[j], edges[i]
        yield tuple(swapped)


def _ends(pieces: Mapping[str, Piece], part: Part) -> tuple[End, End]:
    """Where the walk over an edge begins and ends; at its free corner both times if it meets the
    fold."""
    piece, ref = pieces[part.ref.piece], part.ref
    edge = piece.edges[ref.edge]
    first, last = (edge.end, edge.start) if piece.drawn_clockwise else (edge.start, edge.end)
    on_fold = meets_fold_at_end(piece, ref.edge)
    if on_fold is not None:
        first = last = first if on_fold else last
    elif ref.reversed:
        first, last = last, first
    return (piece.name, first), (piece.name, last)


def _sewn_together(
    pieces: Mapping[str, Piece], pattern: Pattern
) -> tuple[dict[End, End], set[End]]:
    """End -> one that stands for all that are sewn to it, at the beginnings and ends of seams.

    Then the ends that are sewn to the same end of another copy.
    """
    spots: dict[End, End] = {}
    own: set[End] = set()
    for seam in pattern.seams:
        sides = [opened_side(pieces, side.edges) for side in seam.sides]
        for k in (0, -1):
            ends = [_ends(pieces, parts[k])[k] for parts in sides]
            own |= {end for end in ends if ends.count(end) > 1}
            met = {spots.get(end, end) for end in ends}
            together = {end for end, spot in spots.items() if spot in met} | met
            spots |= dict.fromkeys(together, min(met))
    return spots, own
