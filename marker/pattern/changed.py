"""What refers to a piece follows it through its changes: edges, places, seams at its cuts."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.geometry.outline import nearest_along
from marker.pattern.dividing import Undivided
from marker.pattern.edge import EdgeRef, Notch
from marker.pattern.piece import Piece
from marker.pattern.seams.sewing import Place, Seam, Side, Spot
from marker.pattern.seams.walk import drawn_mm
from marker.pattern.stitching import edge_line, meets_fold_at_end, notch_point

_ON_EDGE_MM = 1.0  # a place that a cut moved by less is still there


@dataclass(frozen=True)
class PieceChange:
    """One change of one piece.

    said : its place in the file, such as 'change 1'. before : the piece, of which `after` were
    made. moved : where its points lie now. seam : what sews the parts together; None for nothing.
    """

    said: str
    before: Piece
    after: tuple[Piece, ...]
    moved: Callable[[FloatArray], FloatArray] = field(default=lambda points: points)
    seam: Seam | None = None

    def edges(self, ref: EdgeRef) -> tuple[EdgeRef, ...]:
        """What an edge of the piece is now, in its own order; raises Undivided for one cut away."""
        if ref.piece != self.before.name:
            return (ref,)
        if ref.edge not in self.before.edges:
            return (ref,)  # one that this change made
        parts = [piece for piece in self.after if ref.edge in piece.edges]
        if not parts:
            raise Undivided(
                f"{self.said} cuts '{ref.piece}.{ref.edge}' away",
                "Take it out here, or cut elsewhere",
            )
        found = [replace(ref, piece=part.name) for part in sorted(parts, key=self._first(ref.edge))]
        at_end = meets_fold_at_end(self.before, ref.edge)
        if at_end is not None:
            inward = found if at_end else found[::-1]
            return _over_fold([replace(ref, reversed=not at_end) for ref in inward], parts)
        return tuple(found[::-1] if ref.reversed else found)

    def place(self, place: Place) -> Place:
        """Where a place of the piece is now; raises Undivided for one that is cut away."""
        ref = place.edge
        if ref.piece != self.before.name or ref.edge not in self.before.edges:
            return place
        at = drawn_mm(self.before, place)
        point = self.moved(notch_point(self.before, Notch(ref.edge, at))[np.newaxis])[0]
        for piece in self.after:
            if ref.edge not in piece.edges:
                continue
            along, off = nearest_along(edge_line(piece, ref.edge), point)
            if off < _ON_EDGE_MM:
                on_fold = place.at is Spot.FOLD and meets_fold_at_end(piece, ref.edge) is not None
                return Place(replace(ref, piece=piece.name), Spot.FOLD if on_fold else along)
        raise Undivided(f"{self.said} cuts '{place}' away", "Name a place that is left")

    def _first(self, edge: str) -> Callable[[Piece], float]:
        """How far along the edge as it was a part of it begins."""
        line = edge_line(self.before, edge)

        def begins(part: Piece) -> float:
            return nearest_along(line, edge_line(part, edge).mean(axis=0))[0]

        return begins


def _over_fold(refs: Sequence[EdgeRef], parts: Iterable[Piece]) -> tuple[EdgeRef, ...]:
    """Parts of an edge that ended on the fold, from its free end to there, over to the other half.
    One that reaches the fold stands for both halves, all others are there once for each."""
    pieces = {part.name: part for part in parts}
    whole = [ref for ref in refs if meets_fold_at_end(pieces[ref.piece], ref.edge) is not None]
    loose = [ref for ref in refs if ref not in whole]
    other = [replace(ref, reversed=not ref.reversed) for ref in reversed(loose)]
    return (*loose, *whole, *other)


@dataclass(frozen=True)
class PieceChanges:
    """All changes of a pattern in one size, in their order. drawn : the pieces before, by name."""

    drawn: Mapping[str, Piece] = field(default_factory=dict)
    made: tuple[PieceChange, ...] = ()

    @property
    def seams(self) -> tuple[Seam, ...]:
        """At the cuts, each of edges as they are now."""
        found = []
        for number, change in enumerate(self.made):
            if change.seam is not None:
                later = PieceChanges(made=self.made[number + 1 :])
                sides = (Side(later.edges(side.edges)) for side in change.seam.sides)
                found.append(replace(change.seam, sides=tuple(sides)))
        return tuple(found)

    def edges(self, refs: Iterable[EdgeRef]) -> tuple[EdgeRef, ...]:
        """What edges are now."""
        found = tuple(refs)
        for change in self.made:
            found = tuple(new for ref in found for new in change.edges(ref))
        return found

    def place(self, place: Place) -> Place:
        """Where a place is now."""
        for change in self.made:
            place = change.place(place)
        return place
