"""How long a marker is likely to be, and what cloth a lay takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from marker.orders.order import Lay

Mix = frozenset[tuple[str, int]]
"""The garments of a marker, (size, count) with counts above 0, whatever their order."""


def mix(garments: Mapping[str, int]) -> Mix:
    """The mix of a marker."""
    return frozenset((size, count) for size, count in garments.items() if count)


@dataclass(frozen=True)
class Lengths:
    """An estimate that real layouts correct, whole mm.

    base_mm : of any marker. garment_mm : size -> what one garment more adds. known : lengths of
    mixes that have been laid; they replace the estimate. end_loss_mm : both ends of a ply together.
    ply_cost_mm, lay_cost_mm, marker_cost_mm : the cloth that would pay for spreading one ply, for
    one lay more, and for making one marker; lays of the same garments share theirs.
    layers : a ply lies in so many lengths on the table, 2 where its ends meet. laid_on_table :
    what mixes that have been laid take of the table, where that is not all of their length.
    table_end_mm : what the ends of a ply take of it; None for end_loss_mm.
    """

    base_mm: int
    garment_mm: Mapping[str, int]
    known: Mapping[Mix, int] = field(default_factory=dict)
    end_loss_mm: int = 0
    ply_cost_mm: int = 0
    lay_cost_mm: int = 0
    marker_cost_mm: int = 0
    layers: int = 1
    laid_on_table: Mapping[Mix, int] = field(default_factory=dict)
    table_end_mm: int | None = None

    def of(self, garments: Mapping[str, int]) -> int:
        """Length of the marker of these garments, mm, without end loss."""
        laid = self.known.get(mix(garments))
        return self.estimate(garments) if laid is None else laid

    def estimate(self, garments: Mapping[str, int]) -> int:
        """The same, whatever has been laid."""
        return self.base_mm + sum(n * self.garment_mm[size] for size, n in garments.items())

    @property
    def ends_on_table_mm(self) -> int:
        """What the ends of a ply take of the table."""
        return self.end_loss_mm if self.table_end_mm is None else self.table_end_mm

    def on_table_mm(self, garments: Mapping[str, int]) -> int:
        """What a marker takes of the table, ends included."""
        laid = self.laid_on_table.get(mix(garments))
        length = -(-self.of(garments) // self.layers) if laid is None else laid
        return length + self.ends_on_table_mm

    @property
    def only_cloth(self) -> bool:
        """Whether nothing but cloth costs anything."""
        return not (self.ply_cost_mm or self.lay_cost_mm or self.marker_cost_mm)

    def cloth_mm(self, lay: Lay) -> int:
        """Cloth that a lay takes, end loss of each ply included."""
        return lay.height * (self.of(lay.garments) + self.end_loss_mm)

    def cost_mm(self, lays: Sequence[Lay]) -> int:
        """Cloth, plies spread and markers made; what each lay costs besides comes on top."""
        markers = len({mix(lay.garments) for lay in lays})
        plies = sum(self.cloth_mm(lay) + lay.height * self.ply_cost_mm for lay in lays)
        return plies + markers * self.marker_cost_mm
