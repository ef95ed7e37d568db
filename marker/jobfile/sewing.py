"""Checked seam, opening and girth tables as seams, openings and girths."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from marker.errors import CannotBeDone
from marker.files.faults import FaultList, Unusable, nearest
from marker.jobfile.as_written import EdgeNames, edge_ref
from marker.jobfile.sewing_tables import GirthTable, OpeningTable, SeamTable, SideTable
from marker.pattern.bands.strip import CutLength
from marker.pattern.bands.strip_plan import strip_as_piece
from marker.pattern.changed import PieceChanges
from marker.pattern.dividing import Undivided
from marker.pattern.edge import EdgeRef
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.seams.opened_side import UnclearSide, opened_side
from marker.pattern.seams.sewing import Girth, Opening, Place, Seam, Side, Spot
from marker.pattern.seams.walk import drawn_mm
from marker.pattern.stitching import meets_fold_at_end
from marker.units import NotALength, parse_length

SEWN = ("seam", "opening", "girth")
SewingTables = Mapping[str, Sequence[tuple[str, Mapping[str, Any]]]]
"""'seam', 'opening' or 'girth' -> place and table of each."""


def check_sides(pattern: Pattern, tables: SewingTables, faults: FaultList) -> None:
    """Whether it is clear what every side, opening and girth that reaches a fold stands for.

    tables : place and table of each, by kind, all of them without fault.
    """
    strips = [strip_as_piece(each) for each in pattern.strips if isinstance(each.length, CutLength)]
    pieces = {piece.name: piece for piece in (*pattern.pieces, *strips)}
    lists = [
        (place, f"sides[{number}]", side.edges)
        for (place, _), seam in zip(tables["seam"], pattern.seams, strict=True)
        for number, side in enumerate(seam.sides, 1)
    ]
    rings: list[Opening | Girth] = [*pattern.openings, *pattern.girths]
    for (place, _), ring in zip((*tables["opening"], *tables["girth"]), rings, strict=True):
        lists.append((place, "edges", ring.edges))
    for place, key, edges in lists:
        with faults.under(place).gathering(key):
            try:
                opened_side(pieces, edges)
            except UnclearSide as fault:
                raise Unusable(fault.problem, fault.remedy) from fault


@contextmanager
def _followed() -> Iterator[None]:
    """Raise what a change has cut away as Unusable."""
    try:
        yield
    except Undivided as error:
        raise Unusable(error.problem, error.remedy) from error


@dataclass(frozen=True)
class SewingMaker:
    """Makes seams, openings and girths of one job file.

    edges : of every piece as written; pieces : by name, those without fault, as they are cut.
    changes : of pieces, which all that refers to them as they are drawn follows.
    """

    edges: EdgeNames
    pieces: Mapping[str, Piece]
    changes: PieceChanges = field(default_factory=PieceChanges)

    def seam(self, table: SeamTable, faults: FaultList) -> Seam:
        """The seam; every fault of it is noted."""
        sides = [
            self._side(side, f"sides[{number}]", faults)
            for number, side in enumerate(table.sides, 1)
        ]
        return Seam(table.name, tuple(sides), table.tolerance)

    def opening(self, table: OpeningTable, faults: FaultList) -> Opening:
        """The opening; every fault of it is noted."""
        edges = self._edges(table.edges, "edges", faults)
        points: dict[str, Place] = {}
        for name, text in table.points.items():
            with faults.gathering(f"points.{name}"):
                points[name] = self._point(text, edges)
        return Opening(table.name, edges, table.closed, points, table.passes)

    def girth(self, table: GirthTable, faults: FaultList) -> Girth:
        """The girth; every fault of it is noted."""
        return Girth(table.name, self._edges(table.edges, "edges", faults), table.body)

    def _side(self, table: SideTable, key: str, faults: FaultList) -> Side:
        return Side(self._edges(table.edges, f"{key}.edges", faults), table.ease)

    def _edges(self, written: list[str], key: str, faults: FaultList) -> tuple[EdgeRef, ...]:
        refs: list[EdgeRef] = []
        for number, reference in enumerate(written, 1):
            with faults.gathering(f"{key}[{number}]"):
                ref = edge_ref(reference, self.edges)
                with _followed():
                    refs += self.changes.edges([ref])
        return tuple(refs)

    def _point(self, text: str, edges: tuple[EdgeRef, ...]) -> Place:
        place = self.place(text)
        if (place.edge.piece, place.edge.edge) not in {(edge.piece, edge.edge) for edge in edges}:
            raise Unusable(
                f"'{place.edge}' is not part of this opening",
                "Add it to `edges`, or name one of them",
            )
        return place

    def sound(self, ref: EdgeRef) -> Piece | None:
        """The piece of an edge; None where it or the edge has a fault of its own."""
        piece = self.pieces.get(ref.piece)
        return piece if piece and ref.edge in piece.edges else None

    def _as_drawn(self, ref: EdgeRef) -> Piece | None:
        """The piece of an edge before all changes, or as it is of an edge that a change made."""
        piece = self.changes.drawn.get(ref.piece)
        return piece if piece and ref.edge in piece.edges else self.sound(ref)

    def place(self, text: str) -> Place:
        """The place written as `piece.edge at ...`; raises Unusable for one that is not there."""
        reference, word, at = text.rpartition(" at ")
        if not (reference.strip() and word and at.strip()):
            raise Unusable(
                f"'{text}' names no place", 'Write "front.neck at fold" or "front.neck at 3 cm"'
            )
        ref = edge_ref(reference, self.edges)
        place = Place(ref, self._at(ref, at.strip()))
        piece = self._as_drawn(ref)
        if piece:
            try:
                drawn_mm(piece, place)
            except CannotBeDone as error:
                raise Unusable(
                    f"'{text}' is not on a stitching line: {str(error).rstrip('.')}",
                    "Name a place on the edge",
                ) from error
        with _followed():
            return self.changes.place(place)
        return place

    def _at(self, ref: EdgeRef, text: str) -> float | Spot | str:
        piece = self._as_drawn(ref)
        if text in set(Spot):
            if text == Spot.FOLD and piece and meets_fold_at_end(piece, ref.edge) is None:
                raise Unusable(f"'{ref}' does not end on a fold", "Say start, end, middle or where")
            return Spot(text)
        if text[0].isdigit() or text[0] in ".½¼¾⅛⅜⅝⅞":
            try:
                return parse_length(text)
            except NotALength as error:
                raise Unusable(error.problem, 'Write a length such as "3 cm"') from error
        if piece:
            names = [notch.name for notch in piece.notches if notch.edge == ref.edge and notch.name]
            if text not in names:
                raise Unusable(
                    f"'{ref}' has no place called '{text}'", nearest(text, [*Spot, *names])
                )
        return text
