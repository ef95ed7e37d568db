"""Walking along edges joined end to end: lengths, and where the marks on them lie."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from marker.errors import CannotBeDone, Part
from marker.geometry.outline import flattening_error, nearest_along
from marker.pattern.edge import EdgeRef
from marker.pattern.piece import Piece
from marker.pattern.seams.opened_side import opened_side
from marker.pattern.seams.sewing import Opening, Place, Spot
from marker.pattern.sewn_edges import SewnScale, sewn_scale
from marker.pattern.stitching import edge_length_mm, edge_line, meets_fold_at_end, notch_point
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length


@dataclass(frozen=True)
class Leg:
    """One edge within a walk; both halves of it if it ends on the fold.

    start_mm : where it starts along the walk.
    scale : how its drawn length is taken in when it is sewn.
    fold_at_end : whether its last corner as written lies on the fold, False for the first, None
        for neither.
    flattening_error_mm : by how much its chords fall short of the curves they stand for.
    on_drawn : of an edge that is there once for each half, whether this is the half drawn; else
        None.
    copies : how many of its piece are cut.
    """

    ref: EdgeRef
    start_mm: float
    scale: SewnScale
    fold_at_end: bool | None = None
    flattening_error_mm: float = 0.0
    on_drawn: bool | None = None
    copies: int = 1

    @property
    def drawn_mm(self) -> float:
        """Its length as drawn, one half of it if it ends on the fold."""
        return self.scale.drawn[-1]

    @property
    def length_mm(self) -> float:
        """Its length once sewn, folds opened."""
        return self.halves * self.scale.length_mm

    @property
    def end_mm(self) -> float:
        """Where it ends along the walk."""
        return self.start_mm + self.length_mm

    @property
    def halves(self) -> int:
        """2 for an edge that ends on the fold."""
        return 1 if self.fold_at_end is None else 2

    def places(self, drawn_mm: float) -> tuple[float, ...]:
        """Along the walk, every place of the point `drawn_mm` from the drawn edge's first corner.

        Two places, one a half, unless the point lies on the fold or the edge does not meet it.
        """
        sewn, half = self.scale.sewn_at(drawn_mm), self.scale.length_mm
        if self.fold_at_end is None:
            found = [half - sewn if self.ref.reversed else sewn]
        else:
            from_fold = half - sewn if self.fold_at_end else sewn
            found = [half - from_fold, half + from_fold]
        if len(found) == 2 and found[1] - found[0] < SAME_POINT_MM:
            found = found[:1]
        return tuple(self.start_mm + at for at in found)

    def drawn_at(self, at_mm: float) -> float:
        """Where on the drawn edge a place of the walk lies, mm from its first corner."""
        along, half = at_mm - self.start_mm, self.scale.length_mm
        if self.fold_at_end is None:
            return self.scale.drawn_at(half - along if self.ref.reversed else along)
        from_fold = abs(along - half)
        return self.scale.drawn_at(half - from_fold if self.fold_at_end else from_fold)


@dataclass(frozen=True)
class Mark:
    """A notch met on the walk, at every place where it stands once the piece is opened.

    name : as in the job, may be empty.
    drawn_mm : its distance from the first corner of the drawn edge.
    """

    ref: EdgeRef
    name: str
    drawn_mm: float
    at_mm: tuple[float, ...]


@dataclass(frozen=True)
class Walk:
    """Edges walked one after the other along the stitching line, mm from the start."""

    legs: tuple[Leg, ...]
    marks: tuple[Mark, ...]

    @property
    def length_mm(self) -> float:
        """Of all the edges, unfolded."""
        return sum(leg.length_mm for leg in self.legs)

    @property
    def flattening_error_mm(self) -> float:
        """By how much chords fall short of the curves they stand for."""
        return sum(leg.flattening_error_mm for leg in self.legs)

    @property
    def joints_mm(self) -> tuple[float, ...]:
        """Where one edge ends and the next begins, without both ends of the walk."""
        return tuple(leg.start_mm for leg in self.legs[1:])

    def leg_at(self, at_mm: float) -> Leg:
        """The edge on which a place of the walk lies."""
        return next((leg for leg in self.legs if at_mm <= leg.end_mm), self.legs[-1])


def walk(pieces: Iterable[Piece], refs: Sequence[EdgeRef]) -> Walk:
    """The edges in the order given, on both halves where they reach the fold (see `opened_side`).

    Raises CannotBeDone for a name that is not there.
    """
    by_name = {piece.name: piece for piece in pieces}
    for ref in refs:
        edge_line(_named(by_name, ref), ref.edge)
    legs: list[Leg] = []
    marks: list[Mark] = []
    start = 0.0
    for part in opened_side(by_name, refs):
        ref, piece = part.ref, by_name[part.ref.piece]
        scale, at_end = sewn_scale(piece, ref.edge), meets_fold_at_end(piece, ref.edge)
        lost = (1 if at_end is None else 2) * flattening_error(edge_line(piece, ref.edge))
        legs.append(Leg(ref, start, scale, at_end, lost, part.on_drawn, piece.cut))
        marks += _marks(piece, legs[-1])
        start = legs[-1].end_mm
    return Walk(tuple(legs), tuple(marks))


def opening_points(pieces: Iterable[Piece], opening: Opening) -> dict[str, tuple[float, ...]]:
    """Where the opening's named points lie, mm along `walk(pieces, opening.edges)`, ascending.

    A point is there once for each half, and once for each time its edge is listed.
    """
    by_name = {piece.name: piece for piece in pieces}
    legs = walk(by_name.values(), opening.edges).legs
    found: dict[str, tuple[float, ...]] = {}
    for name, place in opening.points.items():
        of_edge = [
            leg
            for leg in legs
            if (leg.ref.piece, leg.ref.edge) == (place.edge.piece, place.edge.edge)
        ]
        drawn = drawn_mm(_named(by_name, place.edge), place)
        found[name] = tuple(sorted({at for leg in of_edge for at in leg.places(drawn)}))
    return found


def drawn_mm(piece: Piece, place: Place) -> float:
    """Distance of a place from the first corner of its edge as drawn, on the stitching line.

    Raises CannotBeDone for a place beyond the edge and for a notch that is not there.
    """
    edge, at = place.edge.edge, place.at
    length = edge_length_mm(piece, edge)
    if isinstance(at, float):
        if at > length + SAME_POINT_MM:
            raise CannotBeDone(
                f"a point stands at {cut_length(at)} of edge {place.edge}, whose stitching line is "
                f"only {cut_length(length)} long as drawn. Move the point onto the edge.",
                [(Part.PIECE, piece.name)],
            )
        return at
    if at == Spot.FOLD:
        return length if meets_fold_at_end(piece, edge) else 0.0
    spots = {Spot.START: 0.0, Spot.MIDDLE: length / 2, Spot.END: length}
    if isinstance(at, Spot):
        return spots[at]
    for notch in piece.notches:
        if (notch.edge, notch.name) == (edge, at):
            return notch.at_mm
    raise CannotBeDone(f"edge {place.edge} has no notch {at!r}. Name one in the piece's `notches`.")


def _named(by_name: dict[str, Piece], ref: EdgeRef) -> Piece:
    if ref.piece not in by_name:
        raise CannotBeDone(
            f"there is no piece {ref.piece!r} with an edge {ref.edge!r}. "
            f"Name one of: {', '.join(by_name)}."
        )
    return by_name[ref.piece]


def _marks(piece: Piece, leg: Leg) -> list[Mark]:
    """Notches that stand on the edge, also those measured along another edge that overlaps it."""
    line = edge_line(piece, leg.ref.edge)
    found: dict[float, Mark] = {}
    for notch in piece.notches:
        at, gap = nearest_along(line, notch_point(piece, notch))
        if gap < SAME_POINT_MM:
            found.setdefault(round(at, 2), Mark(leg.ref, notch.name, at, leg.places(at)))
    return list(found.values())
