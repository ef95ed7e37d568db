"""An opening measured: how long its stitching line is, how it turns, where its points lie."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.geometry.outline import interior_angle, turns_along
from marker.pattern.allowances import stitching_ring
from marker.pattern.edge import EdgeRef
from marker.pattern.fullness import Dart
from marker.pattern.piece import Piece
from marker.pattern.seams.sewing import Opening
from marker.pattern.seams.walk import Leg, Walk, opening_points, walk
from marker.pattern.sewn_edges import dart_tip, ends_of, taken_along
from marker.pattern.stitching import edge_line
from marker.tolerances import SAME_POINT_MM


@dataclass(frozen=True)
class EdgePlace:
    """A place on a drawn edge, `drawn_mm` along its stitching line from its first corner.

    second_half : past the fold, on the half of the edge that is walked last.
    """

    edge: EdgeRef
    drawn_mm: float
    edge_mm: float
    on_fold: bool = False
    second_half: bool = False

    def __str__(self) -> str:
        at = f"{self.drawn_mm:.0f} mm"
        if self.on_fold:
            at = "fold"
        elif self.drawn_mm < 0.5:
            at = "start"
        elif self.drawn_mm > self.edge_mm - 0.5:
            at = "end"
        return f"{self.edge.piece}.{self.edge.edge} at {at}"


@dataclass(frozen=True)
class OpeningLine:
    """Distances in mm along the walk of the opening's edges.

    points : name -> its places, ascending.
    turns_at, turns_rad : where the line turns, and by how much, positive towards its inside.
    """

    name: str
    walked: Walk
    closed: bool
    points: Mapping[str, tuple[float, ...]]
    turns_at: FloatArray
    turns_rad: FloatArray

    @property
    def length_mm(self) -> float:
        """Of the stitching line, unfolded."""
        return self.walked.length_mm

    @property
    def turn_rad(self) -> float:
        """Total turn towards the inside."""
        return float(self.turns_rad.sum())

    def turn_between(self, start_mm: float, end_mm: float) -> float:
        """Turn from one place on to another, past the end of the walk if `end_mm` says so."""
        past = self.turns_at - start_mm + SAME_POINT_MM  # a hair before the start counts as at it
        past = past % self.length_mm if self.closed else past
        return float(self.turns_rad[(past >= 0) & (past < end_mm - start_mm)].sum())

    def place(self, at_mm: float) -> EdgePlace:
        """The place on a drawn edge where the walk is after `at_mm`."""
        leg = self.walked.leg_at(at_mm)
        drawn = min(max(leg.drawn_at(at_mm), 0.0), leg.drawn_mm)
        past_fold = at_mm - leg.start_mm - leg.scale.length_mm
        on_fold = leg.fold_at_end is not None and abs(past_fold) < SAME_POINT_MM
        second = leg.fold_at_end is not None and past_fold > 0
        return EdgePlace(leg.ref, drawn, leg.drawn_mm, on_fold, second)


def measured(pieces: Iterable[Piece], opening: Opening) -> OpeningLine:
    """The opening as it will be sewn; raises CannotBeDone for a name that is not there."""
    by_name = {piece.name: piece for piece in pieces}
    walked = walk(by_name.values(), opening.edges)
    turns = [turn for leg in walked.legs for turn in _leg_turns(by_name[leg.ref.piece], leg)]
    turns += _joint_turns(by_name, walked, opening.closed)
    table = np.array(turns, dtype=np.float64).reshape(-1, 2)
    return OpeningLine(
        name=opening.name,
        walked=walked,
        closed=opening.closed,
        points=opening_points(by_name.values(), opening),
        turns_at=table[:, 0],
        turns_rad=table[:, 1],
    )


def _leg_turns(piece: Piece, leg: Leg) -> list[tuple[float, float]]:
    """(place along the walk, turn) within one edge, both halves of it, and where they meet.

    The piece lies left of its outline and the opening right of it, so that a turn to the right
    is one towards the inside of the opening.
    """
    at, turns = turns_along(edge_line(piece, leg.ref.edge))
    inward = turns if piece.drawn_clockwise else -turns
    found = [
        (place, float(turn))
        for drawn, turn in zip(at, inward, strict=True)
        for place in leg.places(float(drawn))
    ]
    if leg.fold_at_end is not None:
        on_fold = _corner(piece, leg, at_walk_end=None)
        found.append((leg.start_mm + leg.scale.length_mm, 2 * on_fold - math.pi))
    return [*found, *_dart_turns(piece, leg)]


def _dart_turns(piece: Piece, leg: Leg) -> list[tuple[float, float]]:
    """A dart sewn together turns what follows it about its tip, by the angle between its legs
    (geometry); a dart whose other half lies beyond the fold has one place and two angles."""
    found = []
    for dart, start, _ in taken_along(piece, leg.ref.edge):
        if isinstance(dart, Dart):
            first, second = (end - dart_tip(piece, dart) for end in ends_of(piece, dart))
            cross = first[0] * second[1] - first[1] * second[0]
            angle = abs(math.atan2(cross, float(first @ second)))
            places = leg.places(start)
            found += [(at, angle * leg.halves / len(places)) for at in places]
    return found


def _joint_turns(
    by_name: Mapping[str, Piece], walked: Walk, closed: bool
) -> list[tuple[float, float]]:
    """Where one edge ends and the next begins, their neighbours sewn together there."""
    legs = walked.legs
    following = [*legs[1:], *(legs[:1] if closed else ())]
    return [
        (
            after.start_mm,
            _corner(by_name[before.ref.piece], before, at_walk_end=True)
            + _corner(by_name[after.ref.piece], after, at_walk_end=False)
            - math.pi,
        )
        for before, after in zip(legs, following, strict=False)
    ]


def _corner(piece: Piece, leg: Leg, at_walk_end: bool | None) -> float:
    """Angle inside the piece at one end of an edge: the walk's last or first, or (None) the fold's.

    Both ends of the walk over an edge that ends on the fold are at its one free corner.
    """
    ring = stitching_ring(piece)
    stretch = ring.ends(piece.edges[leg.ref.edge])
    if leg.fold_at_end is not None:
        last_as_written = leg.fold_at_end == (at_walk_end is None)
    else:
        last_as_written = bool(at_walk_end) != leg.ref.reversed
    vertex = stretch.end if last_as_written != piece.drawn_clockwise else stretch.start
    return interior_angle(ring.points, vertex)
