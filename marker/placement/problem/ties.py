"""Pieces tied to the cloth's pattern: where on it they may lie, in each turn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Axis
from marker.errors import Part
from marker.geometry.polygons import turned
from marker.pattern.piece import CutPiece
from marker.pattern.repeats.phases import Hand, ahead_deg, phases
from marker.placement.problem.statement import span
from marker.units import cut_length

_SAME_MM = 1e-6


@dataclass(frozen=True)
class Tie:
    """How one hand of a piece is tied.

    repeat : (along, across) mm from one place where it may lie to the next, 0 where it is free.
    origins : allowed turn -> (along, across) of one place where its own origin may lie, mm.
    """

    repeat: tuple[float, float] = (0.0, 0.0)
    origins: Mapping[float, tuple[float, float]] = field(default_factory=dict)

    @property
    def is_tied(self) -> bool:
        """Whether anything ties it."""
        return any(self.repeat)

    def phase(self, turn: float, shift: tuple[float, float]) -> tuple[float, float]:
        """One place of the bounding box within the repeat, turned so; see `Orientation.shift`."""
        along, across = (
            (at - off) % every if every else 0.0
            for at, off, every in zip(
                self.origins.get(turn, (0.0, 0.0)), shift, self.repeat, strict=True
            )
        )
        return along, across

    def has_place(self, phase: float, low: float, high: float) -> bool:
        """Whether a place from `low` to `high` across the cloth is one of its own."""
        places = span(low, max(low, high), self.repeat[1], phase)
        return places.low <= places.high


FREE = Tie()
"""Of a piece that nothing ties."""


def alike_on_both_plies(tied: Mapping[Hand, Tie]) -> bool:
    """Whether what is cut through two plies folded along the cloth, bar on bar, keeps to its ties.
    Nothing is tied across, and both hands of a piece to the same places along."""
    for (name, size, mirrored), tie in tied.items():
        other = tied.get((name, size, not mirrored), tie)
        along = tie.repeat[0]
        off = [at[0] - other.origins[turn][0] for turn, at in tie.origins.items()]
        if tie.repeat[1] or any(abs(mm - along * round(mm / along)) > _SAME_MM for mm in off):
            return False
    return True


def ties(pieces: Sequence[CutPiece], cloth: Cloth) -> dict[Hand, Tie]:
    """The tie of each hand that a match or a border ties; pieces of one cloth.

    Raises CannotMatch for matches that contradict each other, and for what cannot be turned as its
    tie asks.
    """
    solved = phases(pieces, cloth)
    return dict(_tied(pieces, cloth, solved))


def _tied(
    pieces: Sequence[CutPiece], cloth: Cloth, solved: Mapping[Axis, Mapping[Hand, float]]
) -> Iterator[tuple[Hand, Tie]]:
    for piece in pieces:
        for mirrored in (False, True):
            hand = piece.name, piece.size, mirrored
            places = {axis: known[hand] for axis, known in solved.items() if hand in known}
            on_border = cloth.border is not None and piece.border is not None
            if places or on_border:
                yield hand, _tie(piece, mirrored, cloth, places, on_border)


def _tie(
    piece: CutPiece, mirrored: bool, cloth: Cloth, places: Mapping[Axis, float], on_border: bool
) -> Tie:
    ahead = ahead_deg(piece, mirrored, cloth)
    repeat, forward, back = [0.0, 0.0], [0.0, 0.0], [0.0, 0.0]
    for axis, place in places.items():
        bars, k = cloth.repeat.on(axis), list(Axis).index(axis)
        assert bars is not None
        repeat[k] = bars.every_mm
        # turned end for end an even repeat reads the same from where it begins, the other way
        forward[k], back[k] = bars.begins_mm + place, bars.begins_mm - place
    if on_border:
        assert cloth.border is not None
        assert piece.border is not None
        line = cloth.border.across_mm(cloth.usable_width_mm)
        forward[1] = line - float(turned(piece.border, ahead, mirrored)[0, 1])
        repeat[1] = 2 * cloth.usable_width_mm  # so that there is one place only
        return Tie((repeat[0], repeat[1]), {ahead: (forward[0], forward[1])})
    origins = {ahead: (forward[0], forward[1])}
    if not cloth.repeat.one_way:
        origins[ahead + 180] = back[0], back[1]
    allowed = {turn: at for turn, at in origins.items() if turn in piece.turns}
    return Tie((repeat[0], repeat[1]), allowed)


def ties_of(pieces: Iterable[CutPiece]) -> Iterator[tuple[Part, str]]:
    """The matches that tie pieces, and those of them that lie on a border."""
    for piece in pieces:
        yield from ((Part.MATCH, each.match.name) for each in piece.match_points)
        if piece.border is not None:
            yield Part.PIECE, piece.name


def why_nowhere(piece: CutPiece, mirrored: bool, cloth: Cloth, tie: Tie) -> str:
    """Why a tied piece that would fit the width has no place across it, and what would help."""
    turn, (_, origin) = next(iter(tie.origins.items()))
    low, high = (
        float(each(turned(piece.outline, turn, mirrored)[:, 1])) for each in (np.min, np.max)
    )
    if cloth.border is not None and piece.border is not None:
        over = max(-(origin + low), origin + high - cloth.usable_width_mm)
        return (
            f"{piece.name} reaches {cut_length(over)} over the edge of {cloth.name} with its "
            "border "
            f"edge on the border. Its allowance there, or its length, must be that much less."
        )
    every = tie.repeat[1]
    beyond = (origin + low) % every + high - low - cloth.usable_width_mm
    return (
        f"{piece.name} finds no place across {cloth.name}: where its matches put it in the repeat, "
        f"it reaches over a selvage, {cut_length(beyond)} over the far one. Move it by that much "
        f"towards the near one with `at` in a match, or leave 'across' out of the `axes`."
    )
