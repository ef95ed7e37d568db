"""Checked [[change]] tables as changes of a pattern's pieces."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from marker.errors import CannotBeDone
from marker.files.faults import FaultList, Unusable
from marker.geometry.arrays import FloatArray
from marker.jobfile.derived_tables import ChangeTable, Keep
from marker.jobfile.edges import hem_from
from marker.jobfile.sewing import SewingMaker
from marker.pattern.changed import PieceChange, PieceChanges
from marker.pattern.dividing import CutLine, NewEdge, Undivided, part_of
from marker.pattern.edge import EdgeRef, Notch
from marker.pattern.piece import Piece
from marker.pattern.resizing import resized, resizing
from marker.pattern.seams.sewing import Seam, Side
from marker.pattern.seams.walk import drawn_mm
from marker.pattern.stitching import notch_point
from marker.tolerances import SAME_POINT_MM

WAYS = ("lengthen", "shorten", "widen", "narrow", "keep", "split")
_STEEP = np.sin(np.radians(10))  # a line nearer to the grain is along it
_ACROSS = np.sin(np.radians(45))


@dataclass
class Changing:
    """Makes the changes of one job file in one size, one after the other.

    drawn : the pieces as drawn. derived : names of those that follow from others. taken : names of
    strips. pieces : by name, as the changes so far leave them.
    """

    drawn: Mapping[str, Piece]
    derived: Collection[str]
    taken: Collection[str]
    made: list[PieceChange] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.pieces = dict(self.drawn)

    @property
    def changes(self) -> PieceChanges:
        """All of them."""
        return PieceChanges(self.drawn, tuple(self.made))

    def add(self, said: str, table: ChangeTable, faults: FaultList) -> None:
        """Make one change; every fault of it is noted. said : its place in the file."""
        piece = self._piece(table, faults)
        given = [way for way in WAYS if getattr(table, way) is not None]
        if len(given) != 1:
            found = "nothing says" if not given else f"{' and '.join(given)} say"
            faults.add("", f"{found} what is done", f"Give exactly one of {', '.join(WAYS)}")
            return
        _check_cut_keys(table, faults)
        if piece is None:
            return
        with faults.gathering("line"):
            try:
                line = self._line(table, piece)
                change = self._made(said, table, piece, line, faults)
            except Undivided as error:
                raise Unusable(f"'{piece.name}': {error.problem}", error.remedy) from error
            except CannotBeDone as error:
                raise Unusable(str(error).rstrip("."), "Cut elsewhere") from error
            if change is not None:
                self._take(change)

    def _take(self, change: PieceChange) -> None:
        """Its pieces in place of the piece, in its place."""
        pieces: list[Piece] = []
        for piece in self.pieces.values():
            pieces += change.after if piece.name == change.before.name else [piece]
        self.pieces = {piece.name: piece for piece in pieces}
        self.made.append(change)

    def _piece(self, table: ChangeTable, faults: FaultList) -> Piece | None:
        with faults.gathering("piece"):
            if table.piece in self.derived:
                raise Unusable(
                    f"'{table.piece}' follows from another piece", "Change that piece instead"
                )
            parts = [change for change in self.made if change.before.name == table.piece]
            if table.piece not in self.pieces and parts:
                names = " and ".join(f"'{part.name}'" for part in parts[-1].after)
                raise Unusable(f"'{table.piece}' is split above", f"Name one of its parts, {names}")
            if table.piece not in self.pieces:
                raise Unusable.unknown("piece", table.piece, self.pieces)
            return self.pieces[table.piece]
        return None

    def _line(self, table: ChangeTable, piece: Piece) -> CutLine:
        """The line, its inward side the one that is kept, moved, or named first."""
        maker = SewingMaker({piece.name: set(piece.edges)}, {piece.name: piece})
        points = []
        for text in table.line:
            place = maker.place(f"{piece.name}.{text}")
            at = drawn_mm(piece, place)
            points.append(notch_point(piece, Notch(place.edge.edge, at)))
        up = np.radians(piece.grain_deg)
        grain = np.array([np.cos(up), np.sin(up)])
        left = np.array([-grain[1], grain[0]])
        upright = table.widen is not None or table.narrow is not None
        upright = upright or table.keep in (Keep.LEFT, Keep.RIGHT)
        if len(points) == 1:
            return CutLine(points[0], _towards(table.keep, left if upright else grain, grain, left))
        way = points[1] - points[0]
        if np.hypot(*way) < SAME_POINT_MM:
            raise Unusable("both places are one point", "Name two places that lie apart")
        square = np.array([-way[1], way[0]]) / np.hypot(*way)
        return CutLine(points[0], _towards(table.keep, square, grain, left))

    def _made(
        self, said: str, table: ChangeTable, piece: Piece, line: CutLine, faults: FaultList
    ) -> PieceChange | None:
        by = table.lengthen or table.widen or -(table.shorten or table.narrow or 0.0)
        if by:
            change = resizing(piece, line, by)
            return PieceChange(said, piece, (resized(piece, change),), change.moved)
        new = _new_edge(table, piece, faults)
        if table.split is None:
            return PieceChange(said, piece, (part_of(piece, line, piece.name, new),))
        self._check_names(table.split, piece.name, faults)
        first, second = table.split
        parts = (part_of(piece, line, first, new), part_of(piece, line.other_side, second, new))
        sides = (EdgeRef(first, new.name), EdgeRef(second, new.name, reversed=True))
        seam = Seam(f"{piece.name} {new.name}", tuple(Side((each,)) for each in sides))
        return PieceChange(said, piece, parts, seam=seam if table.sewn else None)

    def _check_names(self, names: Iterable[str], own: str, faults: FaultList) -> None:
        taken = {*self.pieces, *self.derived, *self.taken} - {own}
        listed = list(names)
        for name in listed:
            if name in taken or listed.count(name) > 1:
                problem = f"there would be two pieces called '{name}'"
                faults.add("split", problem, "Give each part a name of its own")
                return


def _check_cut_keys(table: ChangeTable, faults: FaultList) -> None:
    """Keys that say something of a cut stand beside a cut only."""
    cuts = table.keep is not None or table.split is not None
    for name in ("edge", "allowance", "hem", "sewn"):
        wanted = table.split is not None if name == "sewn" else cuts
        if name in table.model_fields_set and not wanted:
            faults.add(name, "nothing is cut here", "Leave it out, or give keep or split")
    if table.hem is not None and table.allowance is not None:
        faults.add(
            "allowance",
            "the cut is hemmed, so its hem says how wide the allowance is",
            "Leave it out, or give depth in hem",
        )


def _new_edge(table: ChangeTable, piece: Piece, faults: FaultList) -> NewEdge:
    allowance = piece.allowance_mm if table.allowance is None else table.allowance
    hem = None if table.hem is None else hem_from(table.hem, "hem", faults)
    return NewEdge(table.edge, allowance, hem)


def _towards(
    keep: Keep | None, square: FloatArray, grain: FloatArray, left: FloatArray
) -> FloatArray:
    """A direction square to a line, turned to the side that is kept; of none, to the one named
    first."""
    if keep is None:
        wanted = grain if abs(float(square @ grain)) >= _ACROSS else left
    else:
        wanted = grain if keep in (Keep.ABOVE, Keep.BELOW) else left
    turn = float(square @ wanted)
    if abs(turn) < _STEEP:
        others = "left or right" if keep in (Keep.ABOVE, Keep.BELOW) else "above or below"
        raise Unusable(f"nothing of the piece lies {keep} this line", f"Say {others}")
    away = keep in (Keep.BELOW, Keep.RIGHT)
    return square if (turn > 0) != away else -square
