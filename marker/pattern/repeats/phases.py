"""Which place of the cloth's repeat each matched piece must lie on.

Each hand of a piece has one unknown on each axis: the place in the repeat of the piece's own
origin, lying ahead. Two points that are sewn together make an equation between two of these, modulo
the repeat. A place given with `at`, or a border, makes one between an unknown and the cloth. The
equations are followed from hand to hand until all that hang together are known. Those left over are
checks.

Left and right. A front cut as a pair and a back cut on the fold, all with their right sides up:

    side +---------+ centre     centre +---------+ side       side +---------+---------+ side
         |  front  |                   |  front  |                 |       back        |
         | as drawn|                   |other hand                 |       fold        |
         +---------+                   +---------+                 +---------+---------+

The front as drawn is sewn by its left edge to the back's right edge, the other hand by its right
edge to the back's left: one equation each. All lie on the same face of one cloth, so that turning a
pattern over does not turn the stripes over. They run on over every seam as if it were not there.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Axis, Bars
from marker.geometry.arrays import FloatArray
from marker.geometry.polygons import turned
from marker.pattern.piece import CutPiece
from marker.pattern.repeats.match import CannotMatch, Match, MatchPoint, meets
from marker.pattern.repeats.matching import border_turn
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length

DISAGREE_MM = 0.5
"""Matches that close a ring may miss one another by this much."""

SAME_TURN_DEG = 5.0
"""Pieces that meet are turned alike, but for border edges that are not quite square to the grain:
common practice, no source."""

_SAME_DEG = 1e-6

Hand = tuple[str, str, bool]
"""Piece, size, whether mirrored."""

_CLOTH: Hand = ("", "", False)


@dataclass(frozen=True)
class _Equation:
    """The second hand's unknown is the first's plus `more_mm`; the first may be the cloth."""

    first: Hand
    second: Hand
    more_mm: float
    why: str
    points: str
    on_border: bool = False


def ahead_deg(piece: CutPiece, mirrored: bool, cloth: Cloth) -> float:
    """The turn in which a matched copy lies ahead: below 180, unless a border says it."""
    if piece.border is not None and cloth.border:
        return border_turn(piece, mirrored, cloth.border.side)
    return min(piece.turns) % 180


def phases(pieces: Sequence[CutPiece], cloth: Cloth) -> dict[Axis, dict[Hand, float]]:
    """On each axis, the place in the repeat, mm, of each matched hand's origin as it lies ahead.

    What nothing ties to the cloth has its fold where the repeat begins, or else its first point
    there. The other hand then shows the same, mirrored if that axis is even.

    Raises CannotMatch for matches that contradict each other by more than DISAGREE_MM, and for a
    border edge that lies along the cloth in no turn that its piece may have.
    """
    for piece in pieces:
        if cloth.border and piece.border is not None:
            for mirrored in (False, True):
                _demand_turn(piece, ahead_deg(piece, mirrored, cloth))
    found = {}
    for axis in cloth.repeat.axes:
        bars = cloth.repeat.on(axis)
        assert bars is not None
        found[axis] = _Solution(pieces, cloth, axis, bars).solved()
    return found


def _demand_turn(piece: CutPiece, turn: float) -> None:
    off = min(abs((turn - each + 180) % 360 - 180) for each in piece.turns)
    if off > piece.grain_tolerance_deg + _SAME_DEG:
        raise CannotMatch(
            f"the border edge of {piece.name} lies along the cloth when the piece is turned "
            f"{turn:g}°, and its turns are {', '.join(f'{each:g}' for each in piece.turns)}",
            "Add that turn, or draw the grain for a piece that is cut so",
            piece=piece.name,
        )


def match_places(pieces: Sequence[CutPiece], cloth: Cloth) -> dict[int, dict[Axis, float]]:
    """Number of a match -> axis -> where in the repeat its first point lies as drawn, mm."""
    found: dict[int, dict[Axis, float]] = {}
    for axis, known in phases(pieces, cloth).items():
        bars = cloth.repeat.on(axis)
        assert bars is not None
        for piece in pieces:
            hand = piece.name, piece.size, False
            ahead = ahead_deg(piece, False, cloth)
            for each in piece.match_points:
                if each.place == 0 and axis in each.match.axes:
                    at = turned(each.point[np.newaxis], ahead, False)[0, list(Axis).index(axis)]
                    place = float(known[hand] + at) % bars.every_mm
                    found.setdefault(each.match.number, {}).setdefault(axis, place)
    return found


class _Solution:
    """The equations of one axis, and what is known so far."""

    def __init__(self, pieces: Sequence[CutPiece], cloth: Cloth, axis: Axis, bars: Bars) -> None:
        self.cloth, self.axis, self.bars = cloth, axis, bars
        self.pieces = {
            (piece.name, piece.size, mirrored): piece
            for piece in pieces
            for mirrored, copies in ((False, piece.copies), (True, piece.mirrored_copies))
            if copies and any(axis in each.match.axes for each in piece.match_points)
        }
        self.equations = [*self._borders(), *self._places_given(), *self._meetings()]
        self.known: dict[Hand, float] = {_CLOTH: 0.0}
        self.because: dict[Hand, tuple[Hand, str]] = {}

    def solved(self) -> dict[Hand, float]:
        self._follow(_CLOTH)
        for hand in sorted(self.pieces, key=self._rank):
            if hand not in self.known:
                self.known[hand] = self._chosen(hand)
                self._follow(hand)
        for equation in self.equations:
            self._check(equation)
        return {hand: self.known[hand] % self.bars.every_mm for hand in self.pieces}

    def at(self, hand: Hand, points: FloatArray) -> FloatArray:
        """Points (n, 2) of a piece from its origin on this axis, (n,), as the hand lies ahead."""
        turn = ahead_deg(self.pieces[hand], hand[2], self.cloth)
        return turned(points, turn, hand[2])[:, list(Axis).index(self.axis)]

    def _of(self, match: Match, place: int) -> Iterator[tuple[Hand, MatchPoint, int]]:
        for hand, piece in self.pieces.items():
            for each in piece.match_points:
                if each.match.number == match.number and each.place == place:
                    yield hand, each, each.laid_side(hand[2])

    def _matches(self) -> list[Match]:
        every = [each.match for piece in self.pieces.values() for each in piece.match_points]
        on_axis = {match.number: match for match in every if self.axis in match.axes}
        return [on_axis[number] for number in sorted(on_axis)]

    def _point(self, hand: Hand, point: MatchPoint) -> float:
        return float(self.at(hand, point.point[np.newaxis])[0])

    def _meetings(self) -> Iterator[_Equation]:
        for match in self._matches():
            named = " and ".join(map(str, match.places))
            for first, a, side in self._of(match, 0):
                for second, b, other in self._of(match, 1):
                    if first[1] == second[1] and meets(side, other):
                        self._demand_same_turn(match, first, second)
                        more = self._point(first, a) - self._point(second, b)
                        yield _Equation(first, second, more, match.name, named)

    def _demand_same_turn(self, match: Match, first: Hand, second: Hand) -> None:
        turns = [ahead_deg(self.pieces[hand], hand[2], self.cloth) for hand in (first, second)]
        if abs((turns[0] - turns[1] + 180) % 360 - 180) > SAME_TURN_DEG:
            raise CannotMatch(
                f"match {match.name!r}: {first[0]} is turned {turns[0]:g}° on the cloth and "
                f"{second[0]} is turned {turns[1]:g}°, so that the pattern runs through them in "
                f"different directions",
                "Give both the same `turns`, or leave out the match",
                match=match.name,
            )

    def _places_given(self) -> Iterator[_Equation]:
        for match in self._matches():
            if self.axis not in match.at_mm:
                continue
            for hand, point, side in self._of(match, 0):
                if not hand[2] and side >= 0:
                    at = match.at_mm[self.axis] - self._point(hand, point)
                    yield _Equation(_CLOTH, hand, at, match.name, str(match.places[0]))

    def _borders(self) -> Iterator[_Equation]:
        border, width = self.cloth.border, self.cloth.usable_width_mm
        for hand, piece in self.pieces.items():
            if border and self.axis is Axis.ACROSS and piece.border is not None:
                line = border.across_mm(width) - self.bars.begins_mm
                at = line - float(self.at(hand, piece.border)[0])
                edge = f"the border edge of {piece.name}"
                yield _Equation(_CLOTH, hand, at, "border", edge, on_border=True)

    def _rank(self, hand: Hand) -> tuple[bool, bool]:
        """Other hands after what is drawn, what has its fold on this axis first."""
        return hand[2], self._fold(hand) is None

    def _fold(self, hand: Hand) -> float | None:
        fold = self.pieces[hand].fold_line
        if fold is None:
            return None
        at = self.at(hand, fold)
        return float(at[0]) if np.ptp(at) < SAME_POINT_MM else None

    def _chosen(self, hand: Hand) -> float:
        name, size, mirrored = hand
        first = next(
            each for each in self.pieces[hand].match_points if self.axis in each.match.axes
        )
        if mirrored and (name, size, False) in self.known:
            drawn = (name, size, False)
            shown = self.known[drawn] + self._point(drawn, first)
            reflected = self.axis is Axis.ACROSS and self.bars.even
            return (-shown if reflected else shown) - self._point(hand, first)
        fold = self._fold(hand)
        return -(self._point(hand, first) if fold is None else fold)

    def _follow(self, start: Hand) -> None:
        """All that hangs together with a hand that is known."""
        waiting = deque([start])
        while waiting:
            hand = waiting.popleft()
            for equation in self.equations:
                for here, there, more in (
                    (equation.first, equation.second, equation.more_mm),
                    (equation.second, equation.first, -equation.more_mm),
                ):
                    if here == hand and there not in self.known:
                        self.known[there] = self.known[hand] + more
                        self.because[there] = hand, equation.why
                        waiting.append(there)

    def _check(self, equation: _Equation) -> None:
        wanted = self.known[equation.first] + equation.more_mm
        off = abs(self.bars.apart(self.known[equation.second], wanted))
        if off <= DISAGREE_MM:
            return
        others = sorted({*self._path(equation.first), *self._path(equation.second)})
        also = ", ".join(f"{why!r}" for why in others if why != equation.why)
        raise CannotMatch(
            f"match {equation.why!r} cannot hold {self.axis} {self.cloth.name}: it brings "
            f"{equation.points} {cut_length(off)} apart in the repeat of "
            f"{cut_length(self.bars.every_mm)}"
            f"{f', for these pieces are already tied by {also}' if also else ''}",
            f"Leave '{self.axis}' out of the `axes` of one of these matches, or change the pieces "
            f"by that much",
            match="" if equation.on_border else equation.why,
            piece=equation.second[0] if equation.on_border else "",
        )

    def _path(self, hand: Hand) -> list[str]:
        """The matches by which a hand became known."""
        found = []
        while hand in self.because:
            hand, why = self.because[hand]
            found.append(why)
        return found
