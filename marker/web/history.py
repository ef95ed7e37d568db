"""Layouts of one cloth as a person makes them: undone and redone without end, and kept."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from marker.layout import Placement
from marker.planning.laid_cloth import LaidCloth

PieceKey = tuple[str, str, int, int]
"""Piece, size, garment and copy: what stays the same wherever a piece lies."""


def key_of(placement: Placement) -> PieceKey:
    """Which of the job's pieces this is."""
    return (placement.piece, placement.size, placement.garment, placement.copy)


@dataclass(frozen=True)
class Arrangement:
    """A checked layout, and which of its pieces are pinned."""

    laid: LaidCloth
    pinned: frozenset[PieceKey] = frozenset()

    @property
    def length_mm(self) -> float:
        return self.laid.checked.layout.length_mm


@dataclass
class History:
    """What lay on the table, one after another; `at` is what lies there now, -1 for nothing.

    kept : layouts put aside by hand, and the shortest there was.
    """

    past: list[Arrangement] = field(default_factory=list)
    at: int = -1
    kept: list[Arrangement] = field(default_factory=list)

    @property
    def now(self) -> Arrangement | None:
        return self.past[self.at] if self.past else None

    @property
    def can_undo(self) -> bool:
        return self.at > 0

    @property
    def can_redo(self) -> bool:
        return self.at < len(self.past) - 1

    def put(self, arrangement: Arrangement) -> None:
        """Lay something else on the table; what had been undone is gone."""
        if self.now is not None and not any(
            each.length_mm <= self.now.length_mm for each in [*self.kept, arrangement]
        ):
            self.kept.append(self.now)  # the shortest is never lost
        self.past = [*self.past[: self.at + 1], arrangement]
        self.at = len(self.past) - 1

    def step(self, by: int) -> None:
        """Undo (-1) or redo (1), as far as there is something."""
        self.at = min(max(self.at + by, 0), len(self.past) - 1)

    def keep(self) -> None:
        """Put what lies on the table aside, to be shown again."""
        if self.now is not None and self.now not in self.kept:
            self.kept.append(self.now)

    def pin(self, keys: frozenset[PieceKey], pinned: bool) -> None:
        """Pin pieces where they lie, or let them go."""
        if self.now is not None:
            now = self.now.pinned
            self.put(replace(self.now, pinned=now | keys if pinned else now - keys))
