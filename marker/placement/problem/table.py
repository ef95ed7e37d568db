"""The cloth as it lies on the table before it is cut: what a placement problem is made for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from marker.cloth.fabric import Cloth, Nap
from marker.cloth.folding import Lane, lanes, lanes_in_one_ply, seen_through
from marker.cloth.spread import Spreading
from marker.geometry.arrays import FloatArray
from marker.pattern.repeats.phases import Hand
from marker.placement.problem.cuts import Label
from marker.placement.problem.statement import ANY_LANE
from marker.placement.problem.ties import FREE, Tie


@dataclass(frozen=True)
class Table:
    """The part of a cloth that lies in one ply, or that in two.

    lanes : where pieces may lie across it, see `folding.lanes`.
    image_turn : degrees that a rotation and that of its image on the ply below add up to; None
        where there is no ply below. tied : what the cloth's pattern ties of the pieces.
    """

    cloth: Cloth
    lanes: tuple[Lane, ...]
    image_turn: float | None = None
    tied: Mapping[Hand, Tie] = field(default_factory=dict)

    @property
    def start_mm(self) -> float:
        """Where the table begins across the flat cloth."""
        return self.lanes[0].low

    @property
    def width_mm(self) -> float:
        """How wide the cloth lies on the table, from its first lane to its last."""
        return self.lanes[-1].high - self.start_mm

    @property
    def strip_mm(self) -> float:
        """Width of the problem's strip: a shape may reach half a gap over either edge."""
        return self.width_mm + self.cloth.gap_mm

    @property
    def half_gap_mm(self) -> float:
        """Half of the gap between two pieces, by which shapes are grown."""
        return self.cloth.gap_mm / 2

    @property
    def flaws(self) -> tuple[FloatArray, ...]:
        """Outlines of the flaws of either ply on the table, and of what a remnant lacks of its box,
        (n, 2) counter-clockwise each."""
        outlines = [("", flaw.outline) for flaw in self.cloth.flaws]
        if self.cloth.remnant:
            outlines += [("", outline) for outline in self.cloth.remnant.lacking]
        found = seen_through(outlines, self.lanes)
        return tuple(outline - [0.0, self.start_mm] for _, outline in found)

    def room_mm(self, lane: Lane) -> float:
        """How far a piece may reach across in a lane, half a gap off its folds."""
        return lane.high - lane.low - self.half_gap_mm * len(lane.folds)

    def strip_lane(self, lane: Lane) -> tuple[float, float]:
        """A lane in the frame of the problem's strip. At an edge of the cloth a shape's gap may
        reach over it, at a fold it may not."""
        if lane == Lane(self.start_mm, self.start_mm + self.width_mm):
            return ANY_LANE
        gap = self.half_gap_mm
        low = lane.low - self.start_mm + (gap if lane.fold_low else 0.0)
        high = lane.high - self.start_mm + (gap if lane.fold_high else 2 * gap)
        return low, high

    def tie(self, label: Label) -> Tie:
        """How the cloth's pattern ties a copy."""
        return self.tied.get(label.hand, FREE)

    def turns(self, label: Label) -> tuple[float, ...]:
        """The turns allowed by its piece, its tie and the nap: one way, those that do not point
        back, [0, 180)."""
        tie, one_way = self.tie(label), self.cloth.nap is Nap.ONE_WAY
        allowed = tuple(tie.origins) if tie.is_tied else label.piece.turns
        return tuple(turn for turn in allowed if not one_way or turn < 180)

    def direction(self, turn: float) -> int:
        """0 if a piece turned like this points along the cloth, 1 if back; 0 where it is all one
        to its garment."""
        return int(self.cloth.nap is Nap.ONE_WAY_PER_GARMENT and turn % 360 >= 180)


def one_ply_table(
    spreading: Spreading, cloth: Cloth, tied: Mapping[Hand, Tie] = MappingProxyType({})
) -> Table:
    """All of a cloth that is laid in one ply."""
    return Table(cloth, lanes(spreading, cloth), tied=tied)


def two_ply_table(spreading: Spreading, cloth: Cloth, tied: Mapping[Hand, Tie]) -> Table:
    """The part of a cloth that lies in two plies."""
    image_turn = 180.0 if spreading is Spreading.FOLDED_CROSSWISE else 0.0
    return Table(cloth, lanes(spreading, cloth), image_turn, tied)


def table_beyond(spreading: Spreading, cloth: Cloth) -> Table:
    """What is laid open beyond the two plies, for single pieces."""
    return Table(cloth, lanes_in_one_ply(spreading, cloth))
