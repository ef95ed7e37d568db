"""An opening measured: how long its stitching line is, how it turns, where its points lie."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from marker.geometry.arrays import BoolArray, FloatArray
from marker.geometry.outline import CORNER_TURN, interior_angle, turns_along
from marker.pattern.allowances import stitching_ring
from marker.pattern.edge import EdgeRef
from marker.pattern.fullness import Dart
from marker.pattern.piece import Piece
from marker.pattern.seams.sewing import Opening
from marker.pattern.seams.walk import Leg, Walk, opening_points, walk
from marker.pattern.sewn_edges import dart_tip, ends_of, taken_along
from marker.pattern.stitching import edge_line
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length
from marker.words import spelled_as

Turn = tuple[float, float]
"""Where a line turns, mm along it, and by how much, in radians."""


@dataclass(frozen=True)
class EdgePlace:
    """A place on a drawn edge, `drawn_mm` along its stitching line from its first corner.

    second_half : past the fold, on the half of the edge that is walked last.
    on_drawn : as of the `Leg` it is on.
    """

    edge: EdgeRef
    drawn_mm: float
    edge_mm: float
    on_fold: bool = False
    second_half: bool = False
    on_drawn: bool | None = None

    def __str__(self) -> str:
        at = cut_length(self.drawn_mm)
        if self.on_fold:
            at = "fold"
        elif self.drawn_mm < 0.5:
            at = "start"
        elif self.drawn_mm > self.edge_mm - 0.5:
            at = "end"
        return f"{self.edge.piece}.{self.edge.edge} at {at}"


@dataclass(frozen=True)
class OpeningCorner:
    """A corner of an opening, towards its inside.

    turn_rad : from `CORNER_TURN` to π.
    """

    at_mm: float
    turn_rad: float

    def mitre_mm(self, inside_mm: float) -> float:
        """How far either side of the corner a mitre begins on the edge so far inside: what the
        parallel of each side is shorter there (geometry)."""
        return inside_mm * math.tan(self.turn_rad / 2)


@dataclass(frozen=True)
class OpeningLine:
    """Distances in mm along the walk of the opening's edges.

    points : name -> its places, ascending.
    turns_at, turns_rad : where the line turns smoothly, or away from its inside, and by how much,
        positive towards its inside. corners : its corners towards the inside, ascending.
    """

    name: str
    walked: Walk
    closed: bool
    points: Mapping[str, tuple[float, ...]]
    turns_at: FloatArray
    turns_rad: FloatArray
    corners: tuple[OpeningCorner, ...]

    @property
    def length_mm(self) -> float:
        """Of the stitching line, unfolded."""
        return self.walked.length_mm

    @property
    def centre_front(self) -> str | None:
        """The name of the point there, however it is spelled; None if there is none."""
        return spelled_as("centre front", self.points)

    @property
    def turn_rad(self) -> float:
        """Total turn towards the inside, its corners too."""
        return self.smooth_turn_rad + sum(corner.turn_rad for corner in self.corners)

    @property
    def smooth_turn_rad(self) -> float:
        """Turn towards the inside without that of its corners."""
        return float(self.turns_rad.sum())

    def turn_between(self, start_mm: float, end_mm: float) -> float:
        """Smooth turn from one place to another, past the walk's end if `end_mm` says so."""
        return float(self.turns_rad[self._within(self.turns_at, start_mm, end_mm)].sum())

    def corners_between(self, start_mm: float, end_mm: float) -> tuple[OpeningCorner, ...]:
        """The corners from one place on to another, as in `turn_between`."""
        at = np.array([corner.at_mm for corner in self.corners])
        found = self._within(at, start_mm, end_mm)
        return tuple(each for each, there in zip(self.corners, found, strict=True) if there)

    def _within(self, at: FloatArray, start_mm: float, end_mm: float) -> BoolArray:
        past = at - start_mm + SAME_POINT_MM  # a hair before the start counts as at it
        past = past % self.length_mm if self.closed else past
        return np.asarray((past >= 0) & (past < end_mm - start_mm))

    def inner_mm(self, inside_mm: float) -> float:
        """Length of the line so far inside, mm; below 0 where nothing is left inside.

        L - θ·w with θ the smooth turn, less 2·w·tan(φ ÷ 2) at each corner of turning φ (geometry).
        """
        mitres = 2 * sum(corner.mitre_mm(inside_mm) for corner in self.corners)
        return self.length_mm - self.smooth_turn_rad * inside_mm - mitres

    def place(self, at_mm: float) -> EdgePlace:
        """The place on a drawn edge where the walk is after `at_mm`."""
        leg = self.walked.leg_at(at_mm)
        drawn = min(max(leg.drawn_at(at_mm), 0.0), leg.drawn_mm)
        past_fold = at_mm - leg.start_mm - leg.scale.length_mm
        on_fold = leg.fold_at_end is not None and abs(past_fold) < SAME_POINT_MM
        second = leg.fold_at_end is not None and past_fold > 0
        return EdgePlace(leg.ref, drawn, leg.drawn_mm, on_fold, second, leg.on_drawn)


def measured(pieces: Iterable[Piece], opening: Opening) -> OpeningLine:
    """The opening as it will be sewn; raises CannotBeDone for a name that is not there."""
    by_name = {piece.name: piece for piece in pieces}
    walked = walk(by_name.values(), opening.edges)
    turns = [turn for leg in walked.legs for turn in _leg_turns(by_name[leg.ref.piece], leg)]
    turns += _joint_turns(by_name, walked, opening.closed)
    corners, smooth = _sorted_out(turns, walked.length_mm if opening.closed else math.inf)
    table = np.array(smooth, dtype=np.float64).reshape(-1, 2)
    return OpeningLine(
        name=opening.name,
        walked=walked,
        closed=opening.closed,
        points=opening_points(by_name.values(), opening),
        turns_at=table[:, 0],
        turns_rad=table[:, 1],
        corners=corners,
    )


def _sorted_out(
    turns: Iterable[Turn], around_mm: float
) -> tuple[tuple[OpeningCorner, ...], list[Turn]]:
    """The corners of an opening, and all other turns; those of one place are one turn.

    around_mm : after which it comes to its start again, endless if it does not.
    """
    places: list[Turn] = []
    for at, turn in sorted((at % around_mm, turn) for at, turn in turns):
        if places and at - places[-1][0] < SAME_POINT_MM:
            places[-1] = places[-1][0], places[-1][1] + turn
        else:
            places.append((at, turn))
    if len(places) > 1 and places[0][0] + around_mm - places[-1][0] < SAME_POINT_MM:
        places[0] = places[0][0], places[0][1] + places.pop()[1]
    corners = tuple(OpeningCorner(at, turn) for at, turn in places if turn >= CORNER_TURN)
    return corners, [(at, turn) for at, turn in places if turn < CORNER_TURN]


def _leg_turns(piece: Piece, leg: Leg) -> list[Turn]:
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


def _dart_turns(piece: Piece, leg: Leg) -> list[Turn]:
    """A dart sewn together turns what follows it about its tip, by the angle between its legs
    (geometry). A dart whose other half lies beyond the fold has one place and two angles."""
    found = []
    for dart, start, _ in taken_along(piece, leg.ref.edge):
        if isinstance(dart, Dart):
            first, second = (end - dart_tip(piece, dart) for end in ends_of(piece, dart))
            cross = first[0] * second[1] - first[1] * second[0]
            angle = abs(math.atan2(cross, float(first @ second)))
            places = leg.places(start)
            found += [(at, angle * leg.halves / len(places)) for at in places]
    return found


def _joint_turns(by_name: Mapping[str, Piece], walked: Walk, closed: bool) -> list[Turn]:
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
