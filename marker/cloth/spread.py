"""How a cloth lies on the table: open, folded, or as a tube."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Spreading(StrEnum):
    """A way to spread a cloth. Two plies lie right sides together, their edges meeting.

    OPEN : one ply. FOLDED_LENGTHWISE : selvage on selvage. DOUBLE_FOLD : both selvages brought to
    the middle, so that there are two folds. FOLDED_CROSSWISE : end on end, so that the nap of the
    lower ply runs back. CUT_AND_TURNED : two lengths, one turned round before it is laid on the
    other, so that the nap of both runs one way. TUBE : a tubular knit as it comes, flat.
    SLIT_OPEN : a tube slit along one fold and opened, one ply.
    """

    OPEN = "open"
    FOLDED_LENGTHWISE = "folded lengthwise"
    DOUBLE_FOLD = "double fold"
    FOLDED_CROSSWISE = "folded crosswise"
    CUT_AND_TURNED = "cut and turned"
    TUBE = "tube"
    SLIT_OPEN = "slit open"

    @property
    def plies(self) -> int:
        """1 or 2."""
        return 1 if self in (Spreading.OPEN, Spreading.SLIT_OPEN) else 2

    @property
    def ends_meet(self) -> bool:
        """One end of the cloth lies on the other, so that two plies take twice their length."""
        return self in (Spreading.FOLDED_CROSSWISE, Spreading.CUT_AND_TURNED)


@dataclass(frozen=True)
class Tube:
    """A cloth knitted as a tube.

    crease_mm : width of the strip along each of its two creases that no piece may lie on, because
        they do not press out; 0 where they do.
    """

    crease_mm: float = 0.0


@dataclass(frozen=True)
class Spread:
    """How the cloth of one layout lies.

    two_ply_mm : length of the table on which two plies lie, from the start; 0 if there is one.
        Beyond it the cloth lies open, in one ply.
    """

    spreading: Spreading = Spreading.OPEN
    two_ply_mm: float = 0.0

    @property
    def one_ply_from_mm(self) -> float:
        """Where on the flat cloth the part begins that lies in one ply, mm along it."""
        if self.spreading.plies == 1:
            return 0.0
        return self.two_ply_mm * (2 if self.spreading.ends_meet else 1)


LAID_OPEN = Spread()
