"""A layout: where each piece lies on the cloth. Placement, judge and drawing share this type."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import NamedTuple

from marker.cloth.fabric import Cloth
from marker.cloth.spread import LAID_OPEN, Spread
from marker.geometry.arrays import FloatArray
from marker.pattern.piece import CutPiece
from marker.tolerances import PROVEN_WITHIN_MM
from marker.words import ONE_SIZE


class Ending(StrEnum):
    """Why the search for a layout ended. The value is what people read, and what is stored."""

    TIME_UP = "time is up"
    SHARE_UP = "its share of the time is up"
    ITERATIONS_UP = "iteration limit"
    BY_HAND = "stopped by hand"
    SHORT_ENOUGH = "short enough"
    HOPELESS = "proven not to become short enough"
    PROVEN = "proven shortest"
    PROVEN_CLOSELY = f"proven shortest to within {PROVEN_WITHIN_MM} mm"
    CUT_PROVEN = "this way to cut it is proven shortest"
    OPENED = "a folded layout, opened"
    HAND_MADE = "changed by hand"
    UNKNOWN = "nobody knows why it ended"

    @classmethod
    def stored(cls, words: str) -> Ending:
        """The member that a file's words mean; UNKNOWN for words of another program's."""
        return next((each for each in cls if each.value == words), cls.UNKNOWN)


class PieceKey(NamedTuple):
    """Which of a job's pieces it is, wherever it lies: its copy of a piece in a garment."""

    piece: str
    size: str
    garment: int
    copy: int

    def __str__(self) -> str:
        size = "" if self.size == ONE_SIZE else f" {self.size}"
        return f"{self.piece}{size}, garment {self.garment}, copy {self.copy}"


@dataclass(frozen=True)
class Placement:
    """One piece on the cloth.

    x runs along the cloth's length from its starting end, y across it from the near selvage's
    inner edge, both in mm. The cut outline is first reflected in the x axis if `mirrored`, then
    turned counter-clockwise by `rotation_deg`, then moved by (x_mm, y_mm).
    outline_mm : (n, 2) float64, the cut outline as laid.
    garment, copy : counted from 1; copies of one piece in one garment run over both hands.
    number : of its outline on the diagram, where it was numbered before it came to lie here; 0
        where it gets its number by where it lies.
    """

    piece: str
    size: str
    garment: int
    copy: int
    rotation_deg: float
    mirrored: bool
    x_mm: float
    y_mm: float
    outline_mm: FloatArray
    number: int = 0

    @property
    def key(self) -> PieceKey:
        """Which of the job's pieces it is."""
        return PieceKey(self.piece, self.size, self.garment, self.copy)


@dataclass(frozen=True)
class Layout:
    """Every piece of a job that is cut from one cloth, laid. Not yet checked.

    placements : every copy where it lies on the cloth opened flat, however it is spread. Around a
        tube, y may be any of those that lie a whole turn apart.
    length_mm : cloth used, from the starting end to the last point of any piece.
    length_lower_bound_mm : no layout of these pieces at this width, spread like this, is shorter
        (proven).
    spares : cut besides through the second ply and not wanted, each with the garment and copy of
        the piece above it; not counted, but nothing may lie over them.
    unmatched_mm : of the shortest layout found where nothing is matched, never more than
        `length_mm`; None where nothing is.
    """

    job_name: str
    cloth: Cloth
    placements: tuple[Placement, ...]
    length_mm: float
    length_lower_bound_mm: float
    stopped_because: Ending
    seed: int
    seconds: float
    spread: Spread = LAID_OPEN
    spares: tuple[Placement, ...] = ()
    unmatched_mm: float | None = None

    @property
    def matching_mm(self) -> float:
        """What matching costs: length beyond that of the unmatched layout."""
        return 0.0 if self.unmatched_mm is None else self.length_mm - self.unmatched_mm

    def numbered(self, numbers: Mapping[PieceKey, int]) -> Layout:
        """With the numbers that its pieces have from before; others go by where they lie."""
        placements = (replace(each, number=numbers.get(each.key, 0)) for each in self.placements)
        return replace(self, placements=tuple(placements))


@dataclass(frozen=True)
class CheckedLayout:
    """A layout that passed the judge; only `marker.judge.check` makes one.

    Nothing else may be measured, drawn or exported.
    garments : size of each garment, garment g at index g - 1.
    piece_area_mm2 : area of all pieces laid, cut-outs not counted.
    """

    layout: Layout
    cut_pieces: tuple[CutPiece, ...]
    garments: tuple[str, ...]
    piece_area_mm2: float

    @property
    def utilisation(self) -> float:
        """Piece area ÷ (length × usable width), a fraction."""
        return self.piece_area_mm2 / (self.layout.length_mm * self.layout.cloth.usable_width_mm)
