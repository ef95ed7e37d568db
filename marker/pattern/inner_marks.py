"""Marks inside a piece: what is drawn on the cloth and not cut."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

from marker.geometry.arrays import FloatArray


class MarkKind(StrEnum):
    """What a mark is for.

    A drill hole, a button and a text are points; all others are lines. DART, PLEAT, TUCK and GATHER
    follow from what is taken in along an edge: see `fullness`.
    """

    DRILL_HOLE = "drill hole"
    BUTTON = "button"
    BUTTONHOLE = "buttonhole"
    PLACEMENT = "placement"
    FOLD_LINE = "fold line"
    ROLL_LINE = "roll line"
    LINE = "line"
    TEXT = "text"
    DART = "dart"
    PLEAT = "pleat"
    TUCK = "tuck"
    GATHER = "gather"

    @property
    def follows(self) -> bool:
        """Whether it follows from what is taken in along an edge."""
        return self in (MarkKind.DART, MarkKind.PLEAT, MarkKind.TUCK, MarkKind.GATHER)

    @property
    def is_point(self) -> bool:
        """Whether it stands at a point; else it is a line."""
        return self in (MarkKind.DRILL_HOLE, MarkKind.BUTTON, MarkKind.TEXT)


class Hand(StrEnum):
    """On which hands of a pair, or halves of a piece on the fold, a mark is made."""

    BOTH = "both"
    DRAWN = "as drawn"
    MIRRORED = "mirrored"


@dataclass(frozen=True, eq=False)
class InnerMark:
    """One mark.

    points : (n, 2) mm; one row for a point, else a line, which repeats its first point if closed.
    name : what a person reads beside it, such as 'patch pocket'; '' for nothing.
    hand : on a piece as drawn, its hands or halves; on a cut piece, the copies that have it: those
        as they lie, those mirrored, or both.
    """

    kind: MarkKind
    points: FloatArray
    name: str = ""
    hand: Hand = Hand.BOTH

    def mapped(self, move: Callable[[FloatArray], FloatArray]) -> InnerMark:
        """The mark with its points, (n, 2), where `move` puts them."""
        return replace(self, points=move(self.points))
