"""The plan of one cloth as it is laid: its lays with their markers, and their rolls."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from marker.cloth.fabric import Cloth
from marker.layout import CheckedLayout
from marker.orders.lengths import Lengths, mix
from marker.orders.order import CutOrder, Lay
from marker.orders.planning import CutPlan
from marker.orders.rolls import RollPlan
from marker.planning.laid_markers import LaidMarkers
from marker.planning.rounds import Rounds, Settled
from marker.planning.width_groups import Grouping


@dataclass(frozen=True)
class LaidLay:
    """A lay with its marker laid and judged, numbered from 1. ply_mm : whole mm, ends included."""

    number: int
    lay: Lay
    marker: CheckedLayout
    ply_mm: int

    @property
    def cloth_mm(self) -> int:
        """Cloth of all its plies."""
        return self.lay.height * self.ply_mm


@dataclass(frozen=True)
class Compared:
    """A way to group garments by the width of rolls, as it stood when the ways were compared.

    colours : width of the markers, mm -> colours that are cut from them. cost_mm : all that counts,
    in mm of cloth. missing_mm : cloth that the rolls lack.
    """

    colours: Mapping[float, tuple[str, ...]]
    lays: int
    cost_mm: int
    missing_mm: int


@dataclass(frozen=True)
class LaidPlan:
    """Lays of one cloth.

    rounds : how often it was planned. stable : planning again would change nothing. costs : what
    counts beside the markers' lengths. lost : why the workers were lost on the way, or nothing;
    some markers have their first layout only. rolls : colour -> which plies are cut from which
    roll; empty where the cloth comes on none. by_area : what is proven of its cost follows from the
    area of the garments alone. compared : ways to group by width, the chosen one first; empty where
    there was nothing to choose.
    """

    cloth: Cloth
    plan: CutPlan
    lays: tuple[LaidLay, ...]
    rounds: int
    stable: bool
    costs: Lengths
    lost: str = ""
    rolls: Mapping[str, RollPlan] = field(default_factory=dict)
    by_area: bool = False
    compared: tuple[Compared, ...] = ()

    @property
    def order(self) -> CutOrder:
        """What is to be cut."""
        return self.plan.order

    @property
    def rolls_suffice(self) -> bool:
        """Whether every ply finds cloth on a roll, or the cloth comes on none."""
        return not any(any(shared.missing) for shared in self.rolls.values())

    @property
    def cloth_mm(self) -> int:
        """Cloth of all lays, end loss of every ply included."""
        return sum(lay.cloth_mm for lay in self.lays)


def numbered(plans: Iterable[tuple[CutPlan, LaidMarkers]]) -> tuple[LaidLay, ...]:
    """The lays of plans with their markers, the highest first."""
    every = [(lay, markers) for plan, markers in plans for lay in plan.lays]
    every.sort(key=lambda each: -each[0].height)
    return tuple(
        LaidLay(number, lay, marker, markers.ply_mm(marker))
        for number, (lay, markers) in enumerate(every, 1)
        for marker in [markers.laid[mix(lay.garments)]]
    )


def shorter(laid: LaidLay, wide: LaidMarkers) -> LaidLay:
    """A lay with its marker for wider cloth: the one laid there, or else the narrower one."""
    marker = wide.laid[mix(laid.lay.garments)]
    ply = wide.ply_mm(marker)
    return replace(laid, marker=marker, ply_mm=ply) if ply < laid.ply_mm else laid


def markers_made(lays: Iterable[LaidLay]) -> int:
    """Different markers: of other garments, or for cloth of another width."""
    return len({id(each.marker) for each in lays})


def ply_costs_mm(lays: Sequence[LaidLay], costs: Lengths) -> int:
    """Cloth, plies spread and markers made; what each lay costs besides comes on top."""
    plies = sum(each.cloth_mm + each.lay.height * costs.ply_cost_mm for each in lays)
    return plies + costs.marker_cost_mm * markers_made(lays)


@dataclass(frozen=True)
class Trial:
    """A way to group by width, planned and laid. rounds, settled : of each group. missing_mm :
    cloth that the rolls lack."""

    grouping: Grouping
    rounds: tuple[Rounds, ...]
    settled: tuple[Settled, ...]
    missing_mm: int

    @property
    def is_whole(self) -> bool:
        """Whether all that is ordered is planned together."""
        return len(self.grouping) == 1

    @property
    def lays(self) -> tuple[LaidLay, ...]:
        """Of all groups."""
        pairs = zip(self.settled, self.rounds, strict=True)
        return numbered((settled.plan, rounds.markers) for settled, rounds in pairs)

    @property
    def values(self) -> list[int]:
        """What is wanting, then what the aim counts: less is better."""
        tiers = zip(*(each.plan.tiers for each in self.settled), strict=True)
        return [self.missing_mm, *(sum(tier.value for tier in each) for each in tiers)]

    def compared(self, costs: Lengths) -> Compared:
        """What is told of it."""
        lays = self.lays
        cost = ply_costs_mm(lays, costs) + costs.lay_cost_mm * len(lays)
        colours = {group.width_mm: group.order.colours for group in self.grouping}
        return Compared(colours, len(lays), cost, self.missing_mm)
