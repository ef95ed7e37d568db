"""What the judge can find, and how it says so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from marker.errors import CannotBeDone
from marker.layout import Placement
from marker.units import cut_place


class Code(StrEnum):
    """One word for each rule a layout can break."""

    NUMBER = "number not finite"
    UNKNOWN = "unknown piece"
    GARMENT = "wrong garment"
    MISSING = "missing copy"
    EXTRA = "extra copy"
    COPY_NUMBER = "wrong copy number"
    HAND = "wrong hand"
    OUTLINE = "wrong outline"
    OVERLAP = "overlap"
    GAP = "gap too small"
    OFF_CLOTH = "off the cloth"
    FLAW = "on a flaw"
    LENGTH = "wrong length"
    BOUND = "wrong lower bound"
    IMPOSSIBLE = "impossible"
    GRAIN = "off grain"
    NAP = "against the nap"
    MATCH = "repeat not matched"
    BORDER = "off the border"
    SPREAD = "wrong spread"
    PLIES = "not alike on both plies"
    FOLD = "over a fold"
    SPARE = "wrong spare"


_MOST_NAMED = 20  # pieces, in a sentence


@dataclass(frozen=True)
class Finding:
    """One rule broken.

    pieces : labels of the pieces involved, empty where the layout as a whole is at fault.
    message : a sentence with its measures, in mm and degrees.
    place_mm : (x, y) on the cloth where it shows, or None where it shows nowhere.
    """

    code: Code
    pieces: tuple[str, ...]
    message: str
    place_mm: tuple[float, float] | None = None

    def __str__(self) -> str:
        named = [*self.pieces[:_MOST_NAMED]]
        if len(self.pieces) > _MOST_NAMED:
            named.append(f"{len(self.pieces) - _MOST_NAMED} more")
        who = f"{' and '.join(named)}: " if named else ""
        where = f" (at {', '.join(map(cut_place, self.place_mm))})" if self.place_mm else ""
        return f"{self.code}: {who}{self.message}{where}"


class JudgeRefused(CannotBeDone):
    """The layout breaks a rule, so it must not be cut. Carries every finding."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__(
            "the layout does not pass the judge:\n" + "\n".join(map(str, self.findings))
        )


def label(placement: Placement) -> str:
    """Name of one laid piece, garment before copy: 'bodice front 38 #1/2'."""
    return f"{placement.piece} {placement.size} #{placement.garment}/{placement.copy}"
